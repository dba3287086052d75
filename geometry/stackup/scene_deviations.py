"""What may be off in a scene: the dimensions of all that stands in it, and how far they reach."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import KW_ONLY, dataclass, field
from functools import cached_property, partial

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.measures.prism import Bounds, bounds_meet
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import obstacle_state
from geometry.scene import Scene
from geometry.stackup.deviation import Deviation
from geometry.stackup.enclosure_deviations import of_obstacle, of_outside, of_state, of_walls
from geometry.stackup.faces import Solids, greatest_mm
from geometry.stackup.part_deviations import of_free
from geometry.stackup.restacked import Restacked
from geometry.stackup.rims import Rims, rims_of
from geometry.stackup.stack_deviations import of_stack
from geometry.walls import OUTSIDE, SIDES, WALL_NAMES

SIDED = frozenset(name for _, low, high in SIDES for name in (low, high))
"""The walls that lie at the ends of the cavity's bounds."""

SURROUNDINGS = 2 * len(SIDES)
"""So many blocks round the outer shape's bounds come first of what lies beyond."""


@dataclass(frozen=True, eq=False)
class SceneDeviations:
    """All that may be off in one scene, found when asked for and kept.

    `known_anew` is what stacks of other scenes with the same parts, enclosure and states share.
    Threads may ask at once, also while another takes over what was found: two may look for the
    same, and either's find will do. So what is kept is gone through in a copy, which is made in one
    go; nothing is ever dropped from it.
    """

    scene: Scene
    _: KW_ONLY
    known_anew: Restacked | None = None
    _deviations: dict[str, tuple[Deviation, ...]] = field(default_factory=dict)
    _shared: dict[str, tuple[Deviation, ...]] = field(default_factory=dict)
    _far: dict[Solid, Bounds] = field(default_factory=dict)

    def take_over(self, before: SceneDeviations) -> set[str] | None:
        """Take over what is off in an earlier scene where nothing changed; return what did.

        None where all may have.
        """
        scene, old, stood = self.scene, before.scene.placed, before.scene.solids_of
        changed = _changed_states(scene, before.scene)
        if changed is None:
            return None
        # A fitting that is another under its id gives other solids to a part that stays.
        gone = changed | {
            o
            for o in old
            if scene.placed.get(o) is not old[o] or scene.solids_of[o] is not stood[o]
        }
        # A stack is off as one: another part below one that stands as before moves that too.
        stacks = {one.stack.id for o in gone - changed if (one := old[o]).stack is not None}
        gone |= {k for k, one in old.items() if one.stack is not None and one.stack.id in stacks}
        found, far = before._deviations.copy(), before._far.copy()
        self._deviations.update({k: v for k, v in found.items() if k not in gone})
        self._far.update({k: v for k, v in far.items() if k.owner not in gone})
        stale = {f"stack {one}" for one in stacks} | {f"state {one}" for one in changed}
        shared = before._shared.copy()
        self._shared.update({k: v for k, v in shared.items() if k not in stale})
        return gone

    @cached_property
    def _anew(self) -> Restacked:
        return self.known_anew or Restacked(self.scene.layout)

    def far_out(self, solid: Solid) -> Bounds:
        """Return bounds that a solid does not pass however much its dimensions are off."""
        if solid not in self._far:
            low, high = list(solid.bounds[:3]), list(solid.bounds[3:])
            cavity, sided = self.scene.walls.cavity, solid.owner in SIDED
            for one in self.of(solid.owner):
                if not one.touches(solid):
                    continue
                off_mm, outer = greatest_mm(one), sided and one.owner == OUTSIDE
                for axis in one.axes:
                    if not outer or solid.bounds[axis] < cavity[axis]:
                        low[axis] -= off_mm
                    if not outer or solid.bounds[axis + 3] > cavity[axis + 3]:
                        high[axis] += off_mm
            ends = self.rims.ends_mm(solid)
            low, high = (
                [mm - off for mm, off in zip(low, ends[:3], strict=True)],
                [mm + off for mm, off in zip(high, ends[3:], strict=True)],
            )
            self._far[solid] = (low[0], low[1], low[2], high[0], high[1], high[2])
        return self._far[solid]

    @cached_property
    def rims(self) -> Rims:
        """The parts of the walls at the edges of openings."""
        return rims_of(self.scene.layout.enclosure)

    def parted(self, solid: Solid) -> tuple[Solid, tuple[Deviation, ...]]:
        """Return a solid with all that may be off in it; walls as their parts at openings."""
        own = self.of(solid.owner)
        return self.rims.parted(solid, own) if solid.owner in WALL_NAMES else (solid, own)

    @cached_property
    def far_bounds(self) -> Floats:
        """The bounds that no solid of the scene passes, shape (n, 6), in the scene's order."""
        return np.array([self.far_out(s) for s in self.scene.solids]).reshape(-1, 6)

    def name_of(self, owner: str) -> str:
        """Return what the owner of a dimension is called."""
        if owner == "enclosure":
            return self.scene.layout.enclosure.name
        return self.scene.name_of(owner)

    def moving(self, solids: Solids) -> Iterator[Deviation]:
        """Yield, each once, all that may be off in some solids."""
        seen: set[tuple[str, str]] = set()
        owners = dict.fromkeys(s.owner for s in solids)
        outer = not owners.keys() & WALL_NAMES.keys() or self._reach_outside(solids)
        for owner in owners:
            for one in self.of(owner):
                if one.key not in seen and (outer or one.owner != OUTSIDE):
                    seen.add(one.key)
                    yield one

    def _reach_outside(self, solids: Solids) -> bool:
        """Whether the outer faces of walls matter to some solids: one of them is not all inside.

        A part that stands in a recess of the outer shape is beyond what closes the cavity there.
        """
        low, high = self.scene.walls.cavity[:3], self.scene.walls.cavity[3:]
        recesses = self.scene.walls.beyond.prisms[SURROUNDINGS:]
        for one in solids:
            if one.owner == OUTSIDE:
                return True
            if one.owner in WALL_NAMES:
                continue
            least, most = one.bounds[:3], one.bounds[3:]
            if any(
                a < b - LENGTH_EPS_MM for a, b in zip((*least, *high), (*low, *most), strict=True)
            ):
                return True
            if any(bounds_meet(one.bounds, recess.bounds) for recess in recesses):
                return True
        return False

    def of(self, owner: str) -> tuple[Deviation, ...]:
        """Return all that may be off in an owner of solids and in what carries it."""
        if owner not in self._deviations:
            self._deviations[owner] = tuple(self._find(owner))
        return self._deviations[owner]

    def take_in(self, owner: str, deviations: Iterable[Deviation], carrier: str | None) -> None:
        """Take in what may be off in something that is not of the scene, and in what carries it."""
        self._deviations[owner] = (*deviations, *self._carriers(carrier))

    def _find(self, owner: str) -> Iterator[Deviation]:
        layout = self.scene.layout
        one = self.scene.placed.get(owner)
        if one is not None and one.stack is not None and one.frame is not None:
            stack = one.stack
            yield from self._once(
                f"stack {stack.id}", lambda: of_stack(self.scene, stack, self._anew)
            )
            yield from self._carriers(one.frame.zone.owner)
        elif one is not None:
            yield from of_free(layout, one)
        elif owner in WALL_NAMES or owner == OUTSIDE:
            yield from self._once("walls", lambda: of_walls(layout.enclosure))
        else:
            yield from of_outside(layout.enclosure, owner)
            yield from of_obstacle(self.scene, owner)
            yield from self._carriers(owner)

    def _carriers(self, owner: str | None) -> Iterator[Deviation]:
        obstacles = {one.id: one for one in self.scene.layout.enclosure.obstacles}
        while owner is not None and owner in obstacles:
            one = obstacles[owner]
            yield from self._once(f"state {owner}", partial(of_state, self.scene, one))
            owner = one.owner

    def _once(self, key: str, find: Callable[[], Iterator[Deviation]]) -> tuple[Deviation, ...]:
        if key not in self._shared:
            self._shared[key] = tuple(find())
        return self._shared[key]


def _changed_states(scene: Scene, before: Scene) -> set[str] | None:
    """Return the obstacles that are in another state than before.

    None where that changes what may be off in more than these: where they carry something, and
    where the enclosure is another.
    """
    if scene.fixed is before.fixed:
        return set()
    enclosure, states = scene.layout.enclosure, (scene.layout.states, before.layout.states)
    if enclosure is not before.layout.enclosure:
        return None
    changed = {
        one.id
        for one in enclosure.obstacles
        if obstacle_state(one, states[0]) is not obstacle_state(one, states[1])
    }
    carriers = {one.owner for one in enclosure.obstacles} | {one.owner for one in enclosure.zones}
    return None if changed & carriers else changed
