"""What was measured of one scene, sorted by the check to which each shortfall belongs.

A shortfall is a pair of solids that keep less than is asked for. It belongs to the most specific
check that knows it, so one fault is told once; the first that holds:

1. a port end, a fitting or the hand room round one, with anything but the outside: `port_end`;
2. a keep-out (a plug and the bend of its cable): `plug_room`;
3. an item of a stack with what stands before it, where closing or freeing that gap is a move along
   the stack: `leftover_depth`. Two stacks across a corner exclude each other and go on;
4. room shared with a wall, or lying beyond the walls: `outside_cavity`;
5. shared room: `overlap`;
6. a gap under its margin: `clearance`.

Shortfalls of the same two parts under the same check make one group, which becomes one finding. A
gap is not told as tight where the same two parts share room elsewhere, and a port end is not told
where the rest of the part stands as deep in the same thing, or as near to it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from math import inf
from typing import TYPE_CHECKING

from geometry.checks.answers import Answered, Thing, things_of
from geometry.checks.shared_room import Shared, Sides, Volumes, shared_room
from geometry.depths import Depths, measure_depths
from geometry.finding import Finding, Verdict
from geometry.layout import Settings
from geometry.margins import required_mm
from geometry.measures.solid import Role, Solid
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.measures.travel import travel
from geometry.pairs import PairGap, Pairs, measure_pairs
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.stack_sides import on_wall, out_way, seat_face_mm
from geometry.walls import OUTSIDE, WALL_NAMES

if TYPE_CHECKING:
    from geometry.checks.worst_pairs import WorstPair
    from geometry.stackup.figures import Tolerances

PORT_ROLES = (Role.PORT_END, Role.FITTING)


@dataclass(frozen=True, eq=False)
class Group:
    """The shortfalls of two parts under one check; `owner` is the part at fault."""

    kind: str
    owner: str
    other: str
    gaps: tuple[PairGap, ...]
    required_mm: float

    @cached_property
    def both(self) -> frozenset[str]:
        """The two parts, in no order."""
        return frozenset((self.owner, self.other))

    @cached_property
    def worst(self) -> PairGap:
        """The pair that falls short most."""
        return min(self.gaps, key=lambda gap: gap.gap_mm)

    @cached_property
    def shared(self) -> bool:
        """Whether room is shared."""
        return any(gap.shared for gap in self.gaps)

    @property
    def verdict(self) -> Verdict:
        """Blocked when room is shared, tight otherwise."""
        return Verdict.BLOCKED if self.shared else Verdict.TIGHT

    @property
    def solids(self) -> tuple[tuple[Solid, ...], tuple[Solid, ...]]:
        """The solids of both parts that have a share in it, each once."""
        return (
            tuple(dict.fromkeys(gap.a for gap in self.gaps)),
            tuple(dict.fromkeys(gap.b for gap in self.gaps)),
        )


@dataclass(frozen=True, eq=False)
class WorstGroup:
    """Two things that keep their margin as drawn but not in the worst case, by their worst pair.

    A stack counts as one thing; `ids` name its items concerned.
    """

    ids: tuple[str, ...]
    pair: WorstPair


@dataclass(frozen=True, eq=False)
class Survey(Answered):
    """One scene with all its measures, and what checks said of single things.

    `memo` carries measures that only findings need.
    """

    pairs: Pairs
    depths: Depths
    kinds: Mapping[tuple[Solid, Solid], str]
    memo: dict[Sides, Shared] = field(default_factory=dict)
    tolerances_before: Tolerances | None = field(default=None, kw_only=True)
    worst_before: tuple[WorstGroup, ...] | None = field(default=None, kw_only=True)
    """Set where the worst case is not looked at anew, as while dragging: what was told before."""
    volumes: Volumes = field(default="all", kw_only=True)

    @cached_property
    def tolerances(self) -> Tolerances:
        """All stack-ups of the scene, taking over from `tolerances_before` what did not change.

        They are loaded when they are first asked for: a layout is drawn and dragged without them.
        """
        from geometry.stackup.figures import Tolerances

        return Tolerances.of_scene(self.scene, self.depths, self.tolerances_before)

    @property
    def last_tolerances(self) -> Tolerances | None:
        """The stack-ups of the scene where they were asked for, else those before; None without."""
        return self.__dict__.get("tolerances", self.tolerances_before)

    @cached_property
    def worst(self) -> tuple[WorstGroup, ...]:
        """What keeps its margin as drawn but not in the worst case, unless told already."""
        if self.scene.layout.settings.judge == "nominal":
            return ()
        if self.worst_before is not None and not self.worst_before:
            return ()
        told = {group.both for groups in self.groups.values() for group in groups}
        if self.worst_before is not None:
            return tuple(g for g in self.worst_before if self._still_worst(g, told))
        from geometry.checks.worst_pairs import worst_pairs

        # In no order: of two port ends before each other either may be the first of a pair.
        gathered: dict[frozenset[str], list[WorstPair]] = {}
        for pair in worst_pairs(self.scene, self.pairs, self.tolerances):
            gap = pair.gap
            kind = kind_of(self.scene, gap)
            if kind and frozenset((gap.a.owner, gap.b.owner)) not in told:
                ordered = fault_first(kind, gap)
                both = frozenset((_thing(ordered.a), _thing(ordered.b)))
                gathered.setdefault(both, []).append(replace(pair, gap=ordered))
        return tuple(_worst_group(pairs) for pairs in gathered.values())

    def _still_worst(self, group: WorstGroup, told: set[frozenset[str]]) -> bool:
        a, b = group.pair.gap.a, group.pair.gap.b
        there = self.pairs.has(a) and self.pairs.has(b)
        return there and frozenset((a.owner, b.owner)) not in told

    @cached_property
    def groups(self) -> Mapping[str, tuple[Group, ...]]:
        """All groups of shortfalls by check, in the order of the scene."""
        depends = (self.pairs.short, self.scene.layout.settings)
        answers = self.each("groups", depends, self._gathered).values()
        every: list[Group] = [group for answer in answers for group in answer.found]
        sharing = {group.both for group in every if group.shared}
        bodies: dict[frozenset[str], float] = {}
        for group in every:
            if group.kind != "port_end":
                least = bodies.get(group.both, inf)
                bodies[group.both] = min(least, group.worst.gap_mm)
        told: dict[str, list[Group]] = {}
        for group in every:
            if not group.shared and group.both in sharing:
                continue
            if group.kind == "port_end" and meets(group.worst.gap_mm, bodies.get(group.both, inf)):
                continue
            told.setdefault(group.kind, []).append(group)
        return {kind: tuple(groups) for kind, groups in told.items()}

    def _gathered(self) -> Iterator[Thing]:
        """Yield the shortfalls of two parts under one check, with what makes a group of them."""
        settings = self.scene.layout.settings
        gathered: dict[tuple[str, frozenset[str]], list[PairGap]] = {}
        for gap in self.pairs.short:
            kind = self.kinds[gap.a, gap.b]
            if kind:
                both = frozenset((gap.a.owner, gap.b.owner))
                gathered.setdefault((kind, both), []).append(gap)
        for key, gaps in gathered.items():
            yield key, (settings, *gaps), partial(_grouped, settings, key[0], gaps)

    def group(self, kind: str) -> tuple[Group, ...]:
        """Return the groups that belong to a check."""
        return self.groups.get(kind, ())

    def shared(self, sides: Sides) -> Shared:
        """Return what two groups of solids share, measured as one union on each side."""
        known = self.memo.get(sides)
        found = shared_room(self.scene, sides, known, self.volumes)
        if found is not known:
            self.memo[sides] = found
        return found

    def each_group(self, kind: str, look: Callable[[Survey, Group], Finding]) -> Iterator[Finding]:
        """Yield what a check finds of each of its groups of shortfalls.

        It looks again only where either part, its stack or the depth of that, or one of the gaps
        between both is not what it was.
        """
        placed, items = self.scene.placed, self.depths.items
        settings = self.scene.layout.settings

        def things() -> Iterator[Thing]:
            for group in self.group(kind):
                one, other = group.owner, group.other
                sides = (placed.get(one), placed.get(other), items.get(one), items.get(other))
                depends = (settings, self.volumes, *sides, group)
                yield (one, other), depends, partial(_alone, look, self, group)

        # Whatever moves may change which groups there are.
        for answer in self.each(f"{kind} groups", (object(),), things).values():
            yield from answer.found

    def outside(self) -> Mapping[str, tuple[PairGap, ...]]:
        """Return the gaps of what is not inside the cavity, by the part at fault."""
        found: dict[str, list[PairGap]] = {}
        for group in self.group("outside_cavity"):
            for gap in group.gaps:
                # What runs through a wall ends beyond it; the check that owns the wall tells it.
                if gap.b.owner != OUTSIDE or not self.crosses_wall(gap.a):
                    found.setdefault(group.owner, []).append(gap)
        return {owner: tuple(gaps) for owner, gaps in found.items()}

    def crosses_wall(self, solid: Solid) -> bool:
        """Whether a solid shares room with a wall."""
        return solid in self._in_walls

    @cached_property
    def _in_walls(self) -> frozenset[Solid]:
        return frozenset(
            gap.a for gap in self.pairs.short if gap.shared and gap.b.owner in WALL_NAMES
        )


def _alone(
    look: Callable[[Survey, Group], Finding], survey: Survey, group: Group
) -> tuple[Finding]:
    return (look(survey, group),)


def _grouped(settings: Settings, kind: str, gaps: Sequence[PairGap]) -> tuple[Group]:
    """Return the shortfalls of two parts as one group, each with the part at fault first."""
    first = fault_first(kind, gaps[0]).a.owner
    ordered = tuple(gap if gap.a.owner == first else gap.swapped() for gap in gaps)
    worst = min(ordered, key=lambda gap: gap.gap_mm)
    required = required_mm(settings, worst.a, worst.b)
    return (Group(kind, worst.a.owner, worst.b.owner, ordered, required),)


def _thing(solid: Solid) -> str:
    """Return the stack to which a solid belongs, else its owner."""
    return solid.owner if solid.stack is None else f"stack {solid.stack}"


def _worst_group(pairs: Sequence[WorstPair]) -> WorstGroup:
    worst = min(pairs, key=lambda pair: pair.figure.worst.worst_mm - pair.required_mm)
    first = (worst.gap.a.owner, worst.gap.b.owner)
    others = (owner for pair in pairs for owner in (pair.gap.a.owner, pair.gap.b.owner))
    return WorstGroup(tuple(dict.fromkeys((*first, *others))), worst)


def make_survey(
    scene: Scene, before: Survey | None = None, *, worst_case: bool = True, volumes: Volumes = "all"
) -> Survey:
    """Measure a scene, taking over from `before` whatever did not change.

    Without `worst_case` what `before` says of it stands for all that did not change.
    """
    since = scene.since_then(before.scene if before is not None else None)
    pairs = measure_pairs(scene, before.pairs if before is not None else None, since)
    depths = measure_depths(scene, before.depths if before is not None else None, since)
    # What is outside, and which way leads back inside, hangs on more of the enclosure than a pair.
    enclosure = scene.layout.enclosure
    within = before if before is not None and before.scene.layout.enclosure is enclosure else None
    old = within.kinds if within is not None else {}
    kinds = {}
    for gap in pairs.short:
        key = (gap.a, gap.b)
        known = old.get(key)
        kinds[key] = kind_of(scene, gap) if known is None else known
    memo = {}
    if within is not None:
        memo = {k: v for k, v in within.memo.items() if all(map(pairs.has, (*k[0], *k[1])))}
    same_room = before is not None and before.scene.fixed is scene.fixed
    said_before = before.said if before is not None and same_room else {}
    worst_before = None if worst_case else before.worst if before is not None else ()
    return Survey(
        scene,
        pairs,
        depths,
        kinds,
        memo,
        things=things_of(scene, before, since),
        since=since if same_room else None,
        said_before=said_before,
        tolerances_before=before.last_tolerances if before is not None else None,
        worst_before=worst_before,
        volumes=volumes,
    )


def fault_first(kind: str, gap: PairGap) -> PairGap:
    """Return the pair with the solid at fault first: what moves, the port end, the plug."""
    if gap.a.fixed or gap.b.fixed:
        return gap.swapped() if gap.a.fixed else gap
    if kind == "port_end" and not is_port_side(gap.a):
        return gap.swapped()
    if kind == "plug_room" and gap.a.role is not Role.KEEP_OUT:
        return gap.swapped()
    return gap


def is_port_side(solid: Solid) -> bool:
    """Whether a solid is a port end, a fitting or the hand room round one."""
    return solid.role in PORT_ROLES or (solid.role is Role.KEEP_OUT and "/hand:" in solid.id)


def kind_of(scene: Scene, gap: PairGap) -> str:
    """Return the check to which a shortfall belongs; empty when it is none after all."""
    a, b = gap.a, gap.b
    if b.owner == OUTSIDE:
        one = scene.placed[a.owner]
        outer = one.side == "outer" and on_wall(scene.layout, one)
        return "" if outer else "outside_cavity"
    if not gap.shared and plate_between(scene, a, b):
        return ""
    if is_port_side(a) or is_port_side(b):
        return "port_end"
    if Role.KEEP_OUT in (a.role, b.role):
        return "plug_room"
    if along_stack(scene, gap) is not None:
        return "leftover_depth"
    if not gap.shared:
        return "clearance"
    return "outside_cavity" if b.owner in WALL_NAMES else "overlap"


def along_stack(scene: Scene, gap: PairGap) -> Placed | None:
    """Return the stacked item whose leftover depth a gap is; None when it is nobody's."""
    one, other = scene.placed.get(gap.a.owner), scene.placed.get(gap.b.owner)
    for item, its, beyond in ((one, gap.a, gap.b), (other, gap.b, gap.a)):
        if item is None or item.stack is None:
            continue
        facing = other if item is one else one
        if facing is not None and not _face_to_face(item, facing):
            continue
        found = travel(its.prisms, out_way(item), [(0, beyond.prisms)])
        if found.hit is not None and abs(found.mm - gap.gap_mm) <= LENGTH_EPS_MM:
            return item
    return None


def _face_to_face(item: Placed, other: Placed) -> bool:
    """Whether an item and another part meet along the stack: free parts do, crossing stacks not."""
    if item.stack is None or other.stack is None:
        return True
    return other.stack.id != item.stack.id and out_way(other) == -out_way(item)


def plate_between(scene: Scene, a: Solid, b: Solid) -> bool:
    """Whether a plate or wall lies between an item and something of the enclosure.

    So it does with what stands wholly behind the face on which the item's stack is seated, and
    with feet and handles for all that is inside the cavity.
    """
    if not b.fixed:
        return False
    if any(thing.id == b.owner for thing in scene.layout.enclosure.outside):
        cavity = scene.walls.cavity
        inside = zip(a.bounds[:3], cavity[:3], a.bounds[3:], cavity[3:], strict=True)
        if all(meets(low, least) and meets(most, high) for low, least, high, most in inside):
            return True
    one = scene.placed[a.owner]
    if one.frame is None:
        return False
    way, face = out_way(one), seat_face_mm(one)
    if way.sign > 0:
        return meets(face, b.bounds[way.axis + 3])
    return meets(b.bounds[way.axis], face)
