"""The stack-ups of the figures that checks report: gaps between solids and leftover depths.

Each dimension that moves one of the two faces is put to its limits, one after the other, and the
gap is measured again: exact for faces that face each other, each dimension alone exact and their
sum the usual first order at corners. A figure is the least of the gaps between many faces, and the
least in the worst case is sought among all of them, for it need not be the same one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from math import isfinite, isinf

from catalog.iso2768 import dimension_of
from geometry.depths import Depths, column_of, in_column, limits, out_way
from geometry.finding import Leftover
from geometry.measures.clearance import signed_gap_mm
from geometry.measures.overlap import parting_shift
from geometry.measures.pose import Way
from geometry.measures.prism import Bounds, Prism
from geometry.measures.solid import Solid
from geometry.measures.tolerance import meets
from geometry.measures.travel import travel
from geometry.scene import Scene
from geometry.stackup.deviation import Deviation, Prisms
from geometry.stackup.of_enclosure import of_obstacle, of_outside, of_state, of_walls
from geometry.stackup.of_parts import of_free
from geometry.stackup.of_stacks import of_stack
from geometry.stackup.pair_gaps import (
    ALL_AXES,
    GAP,
    Axes,
    PairMeasure,
    axes_of,
    least_mm,
    travel_along,
)
from geometry.stackup.sums import Contributor, StackUp, stack_up
from geometry.walls import OUTSIDE, WALL_NAMES

NOISE_MM = 1e-7
"""Changes below it are those of the arithmetic, not of the dimension."""

Solids = tuple[Solid, ...]
Measure = Callable[[Sequence[Prism], Sequence[Prism]], float]


@dataclass(frozen=True)
class Figure:
    """The stack-up of a figure: at its nominal place, and where it is least in the worst case.

    Both are one where the same two faces decide; else `worst_name` tells which solid comes nearer
    once all dimensions are off.
    """

    nominal: StackUp
    worst: StackUp
    worst_name: str

    @property
    def elsewhere(self) -> bool:
        """Whether other faces decide in the worst case."""
        return self.worst is not self.nominal


@dataclass(frozen=True)
class _Face:
    """One prism of a solid by its place, or a wall as a whole: its pieces come and go."""

    solid: Solid
    place: int | None

    @property
    def prisms(self) -> Prisms:
        return self.of(self.solid.prisms)

    def of(self, prisms: Prisms) -> Prisms:
        """Return the face's own share of the prisms that its solid has when something is off."""
        return prisms if self.place is None else (prisms[self.place],)


@dataclass(frozen=True, eq=False)
class Tolerances:
    """All stack-ups of one scene, worked out when asked for and kept."""

    scene: Scene
    depths: Depths
    _deviations: dict[str, tuple[Deviation, ...]] = field(default_factory=dict)
    _shared: dict[str, tuple[Deviation, ...]] = field(default_factory=dict)
    _figures: dict[tuple[object, ...], Figure] = field(default_factory=dict)
    _far: dict[Solid, Bounds] = field(default_factory=dict)

    @classmethod
    def of_scene(cls, scene: Scene, depths: Depths, before: Tolerances | None) -> Tolerances:
        """Return the stack-ups of a scene; those of what did not change are taken over."""
        own = cls(scene, depths)
        if before is None or scene.fixed is not before.scene.fixed:
            return own
        old = before.scene.placed
        gone = {o for o in old if scene.placed.get(o) is not old[o]}
        stacks = {f"stack {one.stack.id}" for o in gone if (one := old[o]).stack is not None}
        own._deviations.update({k: v for k, v in before._deviations.items() if k not in gone})
        own._far.update({k: v for k, v in before._far.items() if k.owner not in gone})
        own._shared.update({k: v for k, v in before._shared.items() if k not in stacks})
        for key, figure in before._figures.items():
            if isinstance(key[0], tuple):
                solids = [s for group in key for s in group]  # type: ignore[attr-defined]
                if all(s.owner not in gone and s in depths.solids for s in solids):
                    own._figures[key] = figure
        return own

    def far_out(self, solid: Solid) -> Bounds:
        """Return bounds that a solid does not pass however much its dimensions are off."""
        if solid not in self._far:
            low, high = list(solid.bounds[:3]), list(solid.bounds[3:])
            for one in self.of(solid.owner):
                if one.touches(solid):
                    for axis in one.axes:
                        low[axis] -= _greatest_mm(one)
                        high[axis] += _greatest_mm(one)
            self._far[solid] = (low[0], low[1], low[2], high[0], high[1], high[2])
        return self._far[solid]

    def between(self, a: Solids, b: Solids) -> Figure:
        """Return the stack-up of the signed gap between two groups of solids."""
        key = (a, b)
        if key not in self._figures:
            shift = parting_shift(_prisms(a), _prisms(b))
            if shift is not None:
                whole = self._whole(a, b, signed_gap_mm, self._axes_across(a + b, shift.way))
                self._figures[key] = Figure(whole, whole, b[0].name)
            else:
                self._figures[key] = self._least(a, b, GAP)
        return self._figures[key]

    def depth(self, left: Leftover) -> Figure | None:
        """Return the stack-up of a leftover depth; None where nothing limits it."""
        if isinf(left.mm):
            return None
        item = self.depths.items[left.item]
        key = ("depth", left.item, left.side, left.cell if item.hit is None else "")
        if key not in self._figures:
            self._figures[key] = self._depth(left, item.hit)
        return self._figures[key]

    def _depth(self, left: Leftover, hit: Solid | None) -> Figure:
        if hit is None:
            found = self._nominal_depth(left)
            return Figure(found, found, left.limited_name)
        item = self.depths.items[left.item]
        hard = tuple(s for s in item.solids if s.hard)
        if left.mm < 0 or hit.owner == OUTSIDE:
            axes = self._axes_across((*hard, hit), left.way)
            whole = self._whole(hard, (hit,), lambda a, b: travel(a, left.way, [(0, b)]).mm, axes)
            return Figure(whole, whole, left.limited_name)
        placed = self.scene.placed[left.item]
        column = column_of(hard, left.way)
        ahead = tuple(s for _, s in in_column(self.scene, column, left.way) if limits(s, placed))
        return self._least(hard, ahead, travel_along(left.way), from_mm=left.mm)

    def _nominal_depth(self, left: Leftover) -> StackUp:
        """Return the stack-up of what is left of a zone's given depth."""
        one = self.scene.placed[left.item]
        assert one.frame is not None
        zone, enclosure = one.frame.zone, self.scene.layout.enclosure
        path = f"zones[{enclosure.zones.index(zone)}].{left.side}.depth_mm"
        known = dimension_of(enclosure, path)
        plus, minus = known.plus_mm or 0.0, known.minus_mm or 0.0
        given = Contributor(zone.id, zone.name, path, known, plus, -minus)
        hard = tuple(s for s in self.scene.solids_of[left.item] if s.hard)
        way = out_way(one)
        reach = self._whole(hard, (), _reach(way), frozenset((way.axis,)))
        # The given depth starts at the zone's plate and goes where it goes.
        own = (c for c in reach.contributors if c.owner != zone.id)
        return stack_up(left.mm, [given, *own])

    # ---- the least of the gaps between faces ----

    def _least(self, a: Solids, b: Solids, measure: PairMeasure, from_mm: float = 0.0) -> Figure:
        """Return the figure of the faces of two groups of solids that keep `from_mm` or more.

        What keeps less stands beside, not before.
        """
        pairs = [
            (gap, k, p, q)
            for k, (p, q) in enumerate((p, q) for p in _faces(a) for q in _faces(b))
            if isfinite(gap := least_mm(p.prisms[0], q.prisms, measure)) and meets(gap, from_mm)
        ]
        pairs.sort(key=lambda pair: pair[:2])
        nominal = worst = None
        name = b[0].name
        for gap, _, p, q in pairs:
            moving = self._moving_faces(p, q, measure)
            if worst is not None and gap - sum(map(_greatest_mm, moving)) >= worst.worst_mm:
                continue
            found = self._of_faces(gap, p, q, moving, measure)
            if nominal is None:
                nominal = found
            if worst is None or found.worst_mm < worst.worst_mm - NOISE_MM:
                if gap <= nominal.nominal_mm + NOISE_MM:
                    nominal = found
                worst, name = found, q.solid.name
        assert nominal is not None
        assert worst is not None
        return Figure(nominal, worst, name)

    def _moving_faces(self, p: _Face, q: _Face, measure: PairMeasure) -> tuple[Deviation, ...]:
        """Return all that may be off along the axes that matter to the gap of two faces."""
        axes = axes_of(p.prisms[0], q.prisms, measure)
        return tuple(
            d
            for d in self._moving((p.solid, q.solid))
            if d.axes & axes and (d.touches(p.solid) or d.touches(q.solid))
        )

    def _of_faces(
        self,
        nominal: float,
        p: _Face,
        q: _Face,
        moving: tuple[Deviation, ...],
        measure: PairMeasure,
    ) -> StackUp:
        def gap_when(one: Deviation, off_mm: float) -> float:
            here, there = one.moved(p.solid, off_mm), one.moved(q.solid, off_mm)
            if here is None and there is None:
                return nominal
            mine = p.prisms if here is None else p.of(here)
            others = q.prisms if there is None else q.of(there)
            if mine == p.prisms and others == q.prisms:
                return nominal
            return least_mm(mine[0], others, measure)

        # Flat faces square to one axis move in proportion, so one limit tells of the other.
        flat = all(prism.is_box for prism in (*p.prisms, *q.prisms))
        straight = flat and len(axes_of(p.prisms[0], q.prisms, measure)) == 1
        return self._added_up(nominal, moving, gap_when, straight=straight)

    # ---- whole solids, for what shares room ----

    @staticmethod
    def _axes_across(solids: Solids, way: Way) -> Axes:
        """Return the axes that matter to a move along `way`: more where outlines lie across it."""
        bent = {p.axis for s in solids for p in s.prisms if not p.is_box} - {way.axis}
        return ALL_AXES if bent else frozenset((way.axis,))

    def _whole(self, a: Solids, b: Solids, measure: Measure, axes: Axes) -> StackUp:
        def gap_when(one: Deviation, off_mm: float) -> float:
            moved = {s: new for s in a + b if (new := one.moved(s, off_mm)) is not None}
            return measure(_prisms(a, moved), _prisms(b, moved)) if moved else nominal

        nominal = measure(_prisms(a), _prisms(b))
        moving = tuple(d for d in self._moving(a + b) if d.axes & axes)
        return self._added_up(nominal, moving, gap_when)

    def _added_up(
        self,
        nominal: float,
        deviations: Sequence[Deviation],
        gap_when: Callable[[Deviation, float], float],
        *,
        straight: bool = False,
    ) -> StackUp:
        found: list[Contributor] = []
        for one in deviations:
            known = one.dimension
            plus = gap_when(one, known.plus_mm) - nominal if known.plus_mm else 0.0
            if straight and known.plus_mm and known.minus_mm and isfinite(plus):
                minus = -plus * known.minus_mm / known.plus_mm
            else:
                minus = gap_when(one, -known.minus_mm) - nominal if known.minus_mm else 0.0
            # What slips past its limit altogether leaves the figure to others.
            plus, minus = (
                mm if isfinite(mm) and abs(mm) > NOISE_MM else 0.0 for mm in (plus, minus)
            )
            if plus or minus:
                name = self.name_of(one.owner)
                found.append(
                    Contributor(one.owner, name, one.path, known, plus, minus, one.uniform)
                )
        return stack_up(nominal, found)

    def name_of(self, owner: str) -> str:
        """Return what the owner of a dimension is called."""
        if owner == "enclosure":
            return self.scene.layout.enclosure.name
        return self.scene.name_of(owner)

    # ---- what may be off ----

    def _moving(self, solids: Solids) -> Iterator[Deviation]:
        seen: set[tuple[str, str]] = set()
        for owner in dict.fromkeys(s.owner for s in solids):
            for one in self.of(owner):
                if one.key not in seen:
                    seen.add(one.key)
                    yield one

    def of(self, owner: str) -> tuple[Deviation, ...]:
        """Return all that may be off in an owner of solids and in what carries it."""
        if owner not in self._deviations:
            self._deviations[owner] = tuple(self._find(owner))
        return self._deviations[owner]

    def _find(self, owner: str) -> Iterator[Deviation]:
        layout = self.scene.layout
        one = self.scene.placed.get(owner)
        if one is not None and one.stack is not None and one.frame is not None:
            stack = one.stack
            yield from self._once(f"stack {stack.id}", lambda: of_stack(self.scene, stack))
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
            yield from self._once(f"state {owner}", lambda o=one: of_state(self.scene, o))  # type: ignore[misc]
            owner = one.owner

    def _once(self, key: str, find: Callable[[], Iterator[Deviation]]) -> tuple[Deviation, ...]:
        if key not in self._shared:
            self._shared[key] = tuple(find())
        return self._shared[key]


def _greatest_mm(one: Deviation) -> float:
    return max(one.dimension.plus_mm or 0.0, one.dimension.minus_mm or 0.0)


def _faces(solids: Solids) -> Iterator[_Face]:
    for solid in solids:
        if solid.owner in WALL_NAMES or solid.owner == OUTSIDE:
            yield _Face(solid, None)
        else:
            yield from (_Face(solid, place) for place in range(len(solid.prisms)))


def _prisms(solids: Solids, moved: dict[Solid, Prisms] | None = None) -> Prisms:
    moved = moved or {}
    return tuple(p for s in solids for p in moved.get(s, s.prisms))


def _reach(way: Way) -> Measure:
    """Return the measure of how far a solid reaches back along a direction, mm."""

    def measure(a: Sequence[Prism], _: Sequence[Prism]) -> float:
        if way.sign > 0:
            return -max(p.bounds[way.axis + 3] for p in a)
        return min(p.bounds[way.axis] for p in a)

    return measure
