"""What could be put on one zone instead of what a row has there, and would be more than any row.

Judged by bounds alone: what is not near by them is not near.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from catalog.enclosure import Zone
from catalog.parts import Exchanger
from geometry.checks.runner import Checked
from geometry.edits import with_placed
from geometry.layout import Layout, Side
from geometry.measures.broadphase import Bools, Floats, Indices, bounds_array
from geometry.measures.solid import Role
from geometry.placement import SIDES
from geometry.scene import Scene, placed_solids
from geometry.search.answers import Answer
from geometry.search.judging.alone import slide_steps
from geometry.search.judging.room import Room
from geometry.search.listing.option import Option
from geometry.search.listing.zone_lister import ZoneLister, new_prefix, with_parts
from geometry.search.problem import Problem

MOST_IN_THE_WAY = 3
"""What is refused for the sake of more things than these is no near miss."""

MOST_ROOMIEST = 3
"""At so many of the listed slides a smaller margin is tried, those first that leave most."""

MOST_ALIKE = 7
"""So many other ways to put up the same parts are kept beside the one that lies least deep."""

LEAST_GAIN = 1e-9
"""What is more by less than this is rounding."""

GAIN_OF: Mapping[str, str] = {"area": "area_cm2", "volume": "volume_cm3", "fans": "fans"}
"""Measures of which one wants more, and that are summed over all zones."""


def figure_of(layout: Layout, zones: Collection[str], key: str) -> float:
    """Return how much of a measure the stacks on some zones of a layout make together."""
    items = (
        layout.part(item.part)
        for stack in layout.stacks
        if stack.zone in zones
        for layer in (*stack.inner, *stack.outer)
        for item in layer.items
    )
    if key == "fans":
        return float(sum(part.kind == "fan" for part in items))
    cores = (Option("", "", core=part) for part in items if isinstance(part, Exchanger))
    return sum(float(getattr(core, GAIN_OF[key])) for core in cores)


def is_more(layout: Layout, zones: Collection[str], best: Mapping[str, float]) -> bool:
    """Whether the stacks on some zones of a layout make more of some measure than the best."""
    return any(figure_of(layout, zones, key) > best[key] + LEAST_GAIN for key in best)


@dataclass(frozen=True, eq=False)
class Start:
    """A row, or the empty enclosure: what a near miss keeps but for one zone.

    It may have something else on another zone than the row, `also`.
    """

    row: int
    checked: Checked
    options: Mapping[str, Option]
    also: Option | None = None

    def figure(self, key: str) -> float:
        """Return how much of a measure it makes."""
        return sum(float(getattr(o, GAIN_OF[key])) for o in self.options.values())

    def beside(self, zone: str) -> Beside:
        """Return what it makes without what it has on a zone."""
        old = self.options.get(zone)
        others = [o for there, o in self.options.items() if there != zone]
        lost = {key: 0.0 if old is None else float(getattr(old, GAIN_OF[key])) for key in GAIN_OF}
        figures = {key: self.figure(key) - lost[key] for key in GAIN_OF}
        return Beside(self, figures, sum(o.pump for o in others))


@dataclass(frozen=True, eq=False)
class Beside:
    """A start without what it has on one zone: how much of each measure is left, how many pumps."""

    start: Start
    figures: Mapping[str, float]
    pumps: int

    def takes(self, option: Option, *, pump_required: bool) -> bool:
        """Whether there are as many pumps with an option as the search asks for."""
        pumps = self.pumps + option.pump
        return pumps <= 1 and (pumps == 1 or not pump_required)

    def gains(
        self, own: Mapping[str, float], best: Mapping[str, float]
    ) -> Mapping[str, float] | None:
        """Return by how much it makes more of each measure than the best with so much on the zone.

        None where it makes more of none.
        """
        gains = {key: self.figures[key] + own[key] - best[key] for key in best}
        return gains if any(gain > LEAST_GAIN for gain in gains.values()) else None


@dataclass(frozen=True, eq=False)
class Try:
    """One stack to put on one zone of a start; `meets` names what its bounds meet there.

    `deep_mm` sums how deep they lie in it. `alike` are other ways to put up the same parts there
    that meet the same, at a listed slide each: turned, turned over, on other cells. `roomy` are
    those that meet nothing, at the listed slide each that leaves most to what is nearest.
    """

    start: Start
    option: Option
    gains: Mapping[str, float]
    meets: frozenset[str]
    deep_mm: float
    alike: tuple[Option, ...] = ()
    roomy: tuple[Option, ...] = ()

    @property
    def rank(self) -> tuple[object, ...]:
        """What puts the nearest first, and of these what gains most."""
        return len(self.meets), self.deep_mm, [-gain for gain in self.gains.values()]

    @property
    def ways(self) -> Iterator[Try]:
        """Yield it and the same parts put up in the other ways."""
        yield self
        yield from (replace(self, option=option, alike=()) for option in self.alike)

    @property
    def roomiest(self) -> Iterator[Try]:
        """Yield the same parts put up so that most is left to what is nearest, the most first."""
        yield from (replace(self, option=option, alike=()) for option in self.roomy)


def starts_of(problem: Problem, answer: Answer) -> list[Start]:
    """Return the rows of an answer; what stands already where there are none."""
    rows = [
        Start(number, row.checked, {option.zone: option for option in row.options})
        for number, row in enumerate(answer.rows, start=1)
    ]
    return rows or [Start(0, problem.base, {})]


def tries_on(
    problem: Problem, starts: Sequence[Start], number: int, best: Mapping[str, float]
) -> Iterator[Try | None]:
    """Yield what could be put on one zone instead and would gain; None for what would not.

    Stacks of the same parts gain the same; those that meet the same things are one, the way that
    lies least deep in them first.
    """
    base = problem.base.scene
    zone = base.layout.enclosure.zones[number]
    wishes = problem.wishes
    prefix = new_prefix(starts[0].checked.scene.layout, number + 1)
    present = [(s.slide_u_mm, s.slide_v_mm) for s in problem.before.stacks if s.zone == zone.id]
    lister = ZoneLister(base.layout, zone, wishes, prefix, present)
    around = Around.of(base, zone)
    kept: dict[object, list[Try]] = {}
    roomy: dict[object, list[tuple[Short, Option]]] = {}
    required = wishes.pump == "required"
    others = [start.beside(zone.id) for start in starts]
    need_mm = 0.0 if wishes.tight_allowed else base.layout.settings.margin_mm
    neighbours = Neighbours.of(starts, zone.id, need_mm)
    for option in lister.options():
        own = {key: float(getattr(option, GAIN_OF[key])) for key in best}
        gaining = [
            (one.start, gains)
            for one in others
            if one.takes(option, pump_required=required)
            and (gains := one.gains(own, best)) is not None
        ]
        if gaining and option.layers is not None:
            slid = list(_slid(lister, option, around, neighbours))
            near = np.any([one.beside_mm > 0.0 for one in slid], axis=0)
            known: dict[tuple[int, ...], Mapping[frozenset[str], tuple[float, Option]]] = {}
            most_left: dict[tuple[int, ...], tuple[Short, Option]] = {}
            for start, gains in gaining:
                beside = tuple(k for k in neighbours.of_row[start.row] if near[k])
                if beside not in known:
                    known[beside] = _nearest(slid, beside, neighbours)
                    if need_mm > 0.0 and frozenset() in known[beside]:
                        most_left[beside] = _roomiest(slid, beside, neighbours)
                for meets, (deep_mm, to) in known[beside].items():
                    key = start.row, made_of(option), meets
                    kept.setdefault(key, []).append(Try(start, to, gains, meets, deep_mm))
                    if not meets and beside in most_left:
                        roomy.setdefault(key, []).append(most_left[beside])
        yield None
    for what, ways in kept.items():
        first, *alike = sorted(ways, key=lambda t: t.rank)[: MOST_ALIKE + 1]
        most = sorted(roomy.get(what, ()), key=lambda one: one[0])[:MOST_ROOMIEST]
        yield replace(
            first,
            alike=tuple(other.option for other in alike),
            roomy=tuple(option for _, option in most),
        )


def made_of(option: Option) -> object:
    """Return the parts of a stack, layer by layer."""
    assert option.layers is not None
    return tuple(
        tuple(tuple(item.part for item in layer.items) for layer in side)
        for side in (option.layers.inner, option.layers.outer)
    )


@dataclass(frozen=True, eq=False)
class Neighbours:
    """The stacks of some rows beside a zone, each once, by the bounds of their solids.

    `of_row` numbers those of each row; stack `k` is on `zones[k]` and has the bounds from
    `starts[k]` on. `need_mm` is to be left to them.
    """

    of_row: Mapping[int, tuple[int, ...]]
    zones: tuple[str, ...]
    bounds: Floats
    starts: Indices
    need_mm: float

    @classmethod
    def of(cls, starts: Sequence[Start], zone: str, need_mm: float) -> Neighbours:
        """Gather the stacks of rows that are not on a zone."""
        known: dict[object, int] = {}
        zones: list[str] = []
        gathered: list[Floats] = []
        of_row: dict[int, tuple[int, ...]] = {}
        for start in starts:
            scene = start.checked.scene
            stack_on = {stack.zone: stack.id for stack in scene.layout.stacks}
            numbers = []
            for there, option in start.options.items():
                if there == zone or there not in stack_on or option.layers is None:
                    continue
                key = there, id(option.layers), option.slide_mm, tuple(option.states.items())
                if key not in known:
                    known[key] = len(known)
                    zones.append(there)
                    own = [s for s in scene.movable if s.stack == stack_on[there] and s.hard]
                    gathered.append(bounds_array(own))
                numbers.append(known[key])
            of_row[start.row] = tuple(numbers)
        sizes = [len(one) for one in gathered]
        bounds = np.concatenate(gathered) if gathered else np.zeros((0, 6))
        first = (np.cumsum(sizes) - sizes).astype(np.intp)
        return cls(of_row, tuple(zones), bounds, first, need_mm)

    def short_mm(self, own: Floats) -> Floats:
        """Return how much the bounds of some solids leave too little to each stack (mm)."""
        if not len(self.starts):
            return np.zeros(0)
        found: Floats = np.maximum.reduceat(_depth(own, self.bounds).max(axis=0), self.starts)
        return found + self.need_mm


@dataclass(frozen=True, eq=False)
class Around:
    """What stands around a zone, by bounds, and rooms kept free.

    Whose each is, whether it is solid, and whether it is not behind the seat on a side.
    """

    bounds: Floats
    owners: tuple[str, ...]
    hard: Bools
    ahead: Mapping[Side, Bools]

    @classmethod
    def of(cls, scene: Scene, zone: Zone) -> Around:
        """Gather the solids of a scene, but for what carries the zone."""
        held = {zone.owner} | {s.owner for s in scene.solids if zone.owner in s.holds}
        some = [s for s in scene.solids if s.role is not Role.AIR and s.owner not in held]
        room, frame = Room.holding(scene, some), scene.frames[zone.id]
        ahead = {side: ~room.behind(frame, side) for side in SIDES}
        hard = np.array([s.hard for s in some], dtype=bool)
        return cls(bounds_array(some), tuple(s.owner for s in some), hard, ahead)


Short = tuple[float, float, float]
"""By bounds (mm): how deep rooms kept free are met, how much at most and in all margins lack."""


@dataclass(frozen=True, eq=False)
class _Slid:
    """An option at a slide: what its bounds meet of what stands, and how deep they lie there.

    `short_mm` is how much they leave too little to what stands, `beside_mm` to each stack beside.
    """

    option: Option
    meets: frozenset[str]
    deep_mm: float
    short_mm: Short
    beside_mm: Floats


def _nearest(
    slid: Sequence[_Slid], beside: Sequence[int], neighbours: Neighbours
) -> Mapping[frozenset[str], tuple[float, Option]]:
    """Return the slide of an option that lies least deep, for each choice of things that it meets.

    Some stacks stand beside it.
    """
    found: dict[frozenset[str], tuple[float, Option]] = {}
    for one in slid:
        short = {k: float(one.beside_mm[k]) for k in beside if one.beside_mm[k] > 0.0}
        met = (neighbours.zones[k] for k, mm in short.items() if mm > neighbours.need_mm + MEETS_MM)
        meets = one.meets.union(f"on {zone}" for zone in met)
        deep_mm = one.deep_mm + sum(short.values())
        near = len(meets) <= MOST_IN_THE_WAY
        if near and (meets not in found or deep_mm < found[meets][0]):
            found[meets] = deep_mm, one.option
    return found


def _roomiest(
    slid: Sequence[_Slid], beside: Sequence[int], neighbours: Neighbours
) -> tuple[Short, Option]:
    """Return the slide of an option that meets nothing and misses its margin least, and how much.

    Rooms kept free ask for no margin: slides out of them go first. Some stacks stand beside it; at
    some slide it meets nothing.
    """

    def short(one: _Slid) -> Short:
        of_stacks = [max(0.0, float(one.beside_mm[k])) for k in beside]
        in_rooms_mm, most_mm, all_mm = one.short_mm
        return in_rooms_mm, max((most_mm, *of_stacks)), all_mm + sum(of_stacks)

    most_mm = neighbours.need_mm + MEETS_MM
    found = ((short(one), one.option) for one in slid if not one.meets)
    return min((one for one in found if one[0][1] <= most_mm), key=lambda one: one[0])


MEETS_MM = 0.01
"""What lies less deep in something does not meet it."""


def _slid(
    lister: ZoneLister, option: Option, around: Around, neighbours: Neighbours
) -> Iterator[_Slid]:
    """Yield an option at each listed slide with the things its bounds meet."""
    stack = option.base
    assert stack is not None
    placed = lister.placed(stack)
    hard = [(one.side, s) for one in placed for s in placed_solids(one, lister.layout) if s.hard]
    own = bounds_array([s for _, s in hard])
    ahead = np.array([around.ahead[side] for side, _ in hard if side is not None])
    frame = placed[0].frame
    assert frame is not None
    ways = np.array([frame.pose.x.vector, frame.pose.y.vector])
    names = np.array(around.owners)
    for to in slide_steps(placed, lister.wishes.slide_steps, lister.slides_mm):
        moved = own + np.tile(np.array(to) @ ways, 2)
        depth = _depth(moved, around.bounds)
        met = (depth > MEETS_MM).any(axis=0) & around.hard
        deep_mm = float(depth.max(axis=0)[met].sum())
        meets = frozenset(names[met].tolist())
        nearest = np.where(ahead, depth, -np.inf).max(axis=0)
        in_rooms_mm = float(nearest[~around.hard & (nearest > MEETS_MM)].sum())
        short = np.maximum(nearest[around.hard] + neighbours.need_mm, 0.0)
        short_mm = in_rooms_mm, float(short.max(initial=0.0)), float(short.sum())
        beside_mm = neighbours.short_mm(moved)
        yield _Slid(replace(option, slide_mm=to), meets, deep_mm, short_mm, beside_mm)


def _depth(some: Floats, others: Floats) -> Floats:
    """Return how deep some bounds lie in others, shape (some, others); negative where apart."""
    shared = np.minimum(some[:, None, 3:], others[None, :, 3:])
    shared -= np.maximum(some[:, None, :3], others[None, :, :3])
    found: Floats = shared.min(axis=2)
    return found


def layout_of(problem: Problem, one: Try) -> Layout:
    """Return its start with a stack put on one zone in place of what stands there."""
    stack = one.option.stack
    assert stack is not None
    wishes = problem.wishes
    used = {item.part for layer in (*stack.inner, *stack.outer) for item in layer.items}
    every = (*wishes.exchangers, *wishes.fans, *wishes.pumps)
    layout = with_parts(one.start.checked.scene.layout, [p for p in every if p.id in used])
    rest = tuple(s for s in layout.stacks if s.zone != stack.zone)
    return with_placed(layout.but(stacks=rest), [stack])
