"""Near misses of a search: what would be more than any row, and what single change would let it in.

A near miss is a row with another stack on one of its zones: one that the search may use, that
would make more of some wanted measure than all rows do, and that the full check refuses for the
sake of few things. For each the single relaxations are looked for
(geometry.search.mending.relax).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from catalog.parts import Part
from geometry.checks.runner import Checked, check_layout
from geometry.edits import set_judge, with_placed, without_leftovers
from geometry.finding import Finding, Verdict
from geometry.layout import Layout
from geometry.measures.broadphase import Floats, bounds_array
from geometry.remedies import faults
from geometry.scene import Scene, placed_solids
from geometry.search.answers import Answer, Measure
from geometry.search.judging.alone import slide_steps
from geometry.search.listing.options import Option, ZoneLister, new_prefix, with_parts
from geometry.search.mending.relax import Relaxation, blocking, relaxations
from geometry.search.problem import Problem
from geometry.search.wishes import Judging

MOST_IN_THE_WAY = 3
"""What is refused for the sake of more things than these is no near miss."""

MOST_LOOKED_AT = 300
"""So many refused layouts are checked as drawn, those with the least in the way first."""

MOST_TOLD = 12
"""So many near misses are told."""

TRIES_OF_A_KIND = 3
"""Of near misses that would give the same figures on one zone so many are tried, each with other
things in the way."""

MOST_UNMENDED = 4
"""So many of them are told that no single relaxation lets in."""

LEAST_GAIN = 1e-9
"""What is more by less than this is rounding."""

HOPELESS = ("hole_pattern", "zone_size", "held", "port_thread")
"""Faults that no relaxation mends: the part does not belong on the zone at all."""

GAIN_OF: Mapping[str, str] = {"area": "area_cm2", "volume": "volume_cm3", "fans": "fans"}
"""Measures of which one wants more, and that are summed over all zones."""


@dataclass(frozen=True, eq=False)
class NearMiss:
    """A layout that would be better than every row, if it were not refused.

    `row` numbers the row whose other zones it keeps (from 1), 0 where nothing fits at all. `gains`
    says how much more of each measure it has than the best row. `checked` is the refused layout
    with its full check as the search judges, `judge` how the layout itself has it, `refused_for`
    the faults that stand against it, and `relaxations` the single changes that let it in, those
    that cut nothing first.
    """

    row: int
    zone: str
    zone_name: str
    holds: str
    gains: Mapping[str, float]
    checked: Checked
    judge: Judging
    refused_for: tuple[Finding, ...]
    relaxations: tuple[Relaxation, ...]

    @property
    def layout(self) -> Layout:
        """The refused layout."""
        return without_leftovers(set_judge(self.checked.scene.layout, self.judge))

    @property
    def short_mm(self) -> float:
        """By how much the worst fault falls short of its margin (mm), in the worst case if told."""
        return max((_short_mm(fault) for fault in self.refused_for), default=0.0)


def _short_mm(fault: Finding) -> float:
    if fault.required_mm is None or fault.measured_mm is None:
        return 0.0
    has_mm = fault.measured_mm
    if fault.tolerance is not None:
        has_mm = min(has_mm, fault.tolerance.worst.worst_mm)
    return max(0.0, fault.required_mm - has_mm)


@dataclass(frozen=True, eq=False)
class NearMisses:
    """The near misses found so far, and how many layouts were looked at of how many there are."""

    found: tuple[NearMiss, ...]
    looked_at: int
    of: int
    done: bool


@dataclass(frozen=True, eq=False)
class _Start:
    """A row, or the empty enclosure: what a near miss keeps but for one zone."""

    row: int
    checked: Checked
    options: Mapping[str, Option]

    def figure(self, key: str) -> float:
        return sum(float(getattr(o, GAIN_OF[key])) for o in self.options.values())

    def with_instead(self, option: Option, key: str) -> float:
        old = self.options.get(option.zone)
        lost = 0.0 if old is None else float(getattr(old, GAIN_OF[key]))
        return self.figure(key) - lost + float(getattr(option, GAIN_OF[key]))

    def takes(self, option: Option, *, pump_required: bool) -> bool:
        """Whether there are as many pumps with it as the search asks for."""
        others = sum(o.pump for zone, o in self.options.items() if zone != option.zone)
        return others + option.pump <= 1 and (others + option.pump == 1 or not pump_required)


@dataclass(frozen=True, eq=False)
class _Try:
    """One stack to put on one zone of a start; `meets` names what its bounds meet there.

    `deep_mm` sums how deep they lie in it.
    """

    start: _Start
    option: Option
    gains: Mapping[str, float]
    meets: frozenset[str]
    deep_mm: float

    @property
    def rank(self) -> tuple[object, ...]:
        """What puts the nearest first, and of these what gains most."""
        return len(self.meets), self.deep_mm, [-gain for gain in self.gains.values()]


@dataclass(frozen=True, eq=False)
class _Near:
    """A refused layout, as drawn; `things` are in its way, and it is short by so much in all."""

    tried: _Try
    checked: Checked
    things: frozenset[str]
    short_mm: float

    @property
    def rank(self) -> tuple[int, float]:
        """What puts the nearest first."""
        return len(self.things), self.short_mm

    @property
    def kind(self) -> _Kind:
        """What makes two near misses the same to a reader: the zone, and what they would give."""
        return self.tried.option.zone, tuple(round(g, 3) for g in self.tried.gains.values())


_Kind = tuple[str, tuple[float, ...]]


def near_misses(
    problem: Problem,
    answer: Answer,
    wanted: Sequence[Measure],
    parts: Sequence[Part] = (),
    *,
    cutting: bool = False,
) -> Iterator[NearMisses]:
    """Look for near misses of a search and their relaxations; the last one yielded is the end.

    `parts` are those from which smaller pumps may be taken. Without `cutting` nothing that would
    cut the enclosure is looked at. Whoever drives it may stop at any yield.
    """
    starts = _starts(problem, answer)
    keys = [m.key for m in wanted if m.key in GAIN_OF] or ["area", "volume"]
    best = {key: max(start.figure(key) for start in starts) for key in keys}
    tries: list[_Try] = []
    for number, zone in enumerate(problem.base.scene.layout.enclosure.zones):
        if all(zone.id != one.zone for one in problem.zones):
            continue
        for tried in _tries(problem, starts, number, best):
            if tried is not None:
                tries.append(tried)
            yield NearMisses((), 0, len(tries), done=False)
    tries.sort(key=lambda t: t.rank)
    near: list[_Near] = []
    for count, one in enumerate(tries[:MOST_LOOKED_AT], start=1):
        checked = check_layout(
            _layout(problem, one), one.start.checked, remedies=False, worst_cases=False
        )
        missed = _near(problem, one, checked)
        if missed is not None:
            near.append(missed)
        yield NearMisses((), count, len(tries), done=False)
    near.sort(key=lambda n: n.rank)
    looked_at = min(len(tries), MOST_LOOKED_AT)
    found: list[NearMiss] = []
    for state in _with_relaxations(problem, near, parts, cutting=cutting):
        if state is not None:
            found.append(state)
        yield NearMisses(_ranked(found), looked_at, len(tries), done=False)
    yield NearMisses(_ranked(found), looked_at, len(tries), done=True)


def _ranked(found: Sequence[NearMiss]) -> tuple[NearMiss, ...]:
    """Return near misses, those with a relaxation first, then by gain and by what is short."""
    return tuple(
        sorted(
            found,
            key=lambda m: (
                not m.relaxations,
                [-round(g, 6) for g in m.gains.values()],
                m.short_mm,
            ),
        )
    )


def _starts(problem: Problem, answer: Answer) -> list[_Start]:
    rows = [
        _Start(number, row.checked, {option.zone: option for option in row.options})
        for number, row in enumerate(answer.rows, start=1)
    ]
    return rows or [_Start(0, problem.base, {})]


def _tries(
    problem: Problem, starts: Sequence[_Start], number: int, best: Mapping[str, float]
) -> Iterator[_Try | None]:
    """Yield what could be put on one zone instead and would gain; None for what would not.

    Stacks of the same parts gain the same; of those that meet the same things the one that lies
    least deep in them is kept.
    """
    base = problem.base.scene
    zone = base.layout.enclosure.zones[number]
    wishes = problem.wishes
    prefix = new_prefix(starts[0].checked.scene.layout, number + 1)
    lister = ZoneLister(base.layout, zone, wishes, prefix)
    held = {zone.owner} | {s.owner for s in base.solids if zone.owner in s.holds}
    standing = [s for s in base.solids if s.hard and s.owner not in held]
    around = bounds_array(standing)
    owners = [s.owner for s in standing]
    kept: dict[object, _Try] = {}
    for option in lister.options():
        gaining = [
            (start, gains)
            for start in starts
            if start.takes(option, pump_required=wishes.pump == "required")
            for gains in [{k: start.with_instead(option, k) - best[k] for k in best}]
            if any(gain > LEAST_GAIN for gain in gains.values())
        ]
        if gaining and option.base is not None:
            for slid, meets, deep_mm in _slid(lister, option, around, owners):
                if len(meets) > MOST_IN_THE_WAY:
                    continue
                for start, gains in gaining:
                    key = (start.row, _made_of(option), meets)
                    tried = _Try(start, slid, gains, meets, deep_mm)
                    if key not in kept or tried.rank < kept[key].rank:
                        kept[key] = tried
        yield None
    yield from kept.values()


def _made_of(option: Option) -> object:
    """Return the parts of a stack, layer by layer."""
    assert option.base is not None
    return tuple(
        tuple(tuple(item.part for item in layer.items) for layer in side)
        for side in (option.base.inner, option.base.outer)
    )


def _slid(
    lister: ZoneLister, option: Option, around: Floats, owners: Sequence[str]
) -> Iterator[tuple[Option, frozenset[str], float]]:
    """Yield an option at each listed slide with the things its bounds meet, and how deep (mm)."""
    assert option.base is not None
    placed = lister.placed(option.base)
    solids = [s for one in placed for s in placed_solids(one, lister.layout) if s.hard]
    own = bounds_array(solids)
    frame = placed[0].frame
    assert frame is not None
    ways = np.array([frame.pose.x.vector, frame.pose.y.vector])
    names = np.array(owners)
    for to in slide_steps(placed, lister.wishes.slide_steps):
        by = np.tile(np.array(to) @ ways, 2)
        moved = own + by
        shared = np.minimum(moved[:, None, 3:], around[None, :, 3:])
        shared -= np.maximum(moved[:, None, :3], around[None, :, :3])
        depth = shared.min(axis=2)
        met = (depth > 0.01).any(axis=0)
        deep_mm = float(depth.max(axis=0)[met].sum())
        yield replace(option, slide_mm=to), frozenset(names[met].tolist()), deep_mm


def _layout(problem: Problem, one: _Try) -> Layout:
    """Return a start with a stack put on one zone in place of what stands there."""
    stack = one.option.stack
    assert stack is not None
    wishes = problem.wishes
    used = {item.part for layer in (*stack.inner, *stack.outer) for item in layer.items}
    every = (*wishes.exchangers, *wishes.fans, *wishes.pumps)
    layout = with_parts(one.start.checked.scene.layout, [p for p in every if p.id in used])
    rest = tuple(s for s in layout.stacks if s.zone != stack.zone)
    return with_placed(layout.but(stacks=rest), [stack])


def _near(problem: Problem, one: _Try, checked: Checked) -> _Near | None:
    """Return how near a layout misses as drawn; None when it is far."""
    standing = set(faults(one.start.checked.report))
    against = blocking(checked.report, standing, tight_allowed=problem.wishes.tight_allowed)
    if any(fault.kind in HOPELESS and fault.verdict is Verdict.BLOCKED for fault in against):
        return None
    things = _in_the_way(checked.scene, against, one)
    if len(things) > MOST_IN_THE_WAY:
        return None
    short_mm = sum(_short_mm(fault) for fault in against)
    return _Near(one, checked, things, short_mm)


def _in_the_way(scene: Scene, against: Sequence[Finding], one: _Try) -> frozenset[str]:
    """Return what is in the way of a new stack: obstacles and walls, and other stacks as one."""
    zone = one.option.zone
    own = {zone, *(stack.id for stack in scene.layout.stacks if stack.zone == zone)}
    things = set()
    for fault in against:
        for concerned in fault.ids:
            placed = scene.placed.get(concerned)
            thing = placed.stack.id if placed is not None and placed.stack else concerned
            if thing not in own:
                things.add(thing)
    return frozenset(things)


def _with_relaxations(
    problem: Problem, near: Sequence[_Near], parts: Sequence[Part], *, cutting: bool
) -> Iterator[NearMiss | None]:
    """Yield near misses with their relaxations; None between them, as it goes.

    Of those that would give the same figures on a zone, each that some relaxation lets in is told;
    where there is none, the one that falls short least.
    """
    told = 0
    mended: set[_Kind] = set()
    tried: dict[_Kind, set[frozenset[str]]] = {}
    first: dict[_Kind, NearMiss] = {}
    tight_allowed, judge = problem.wishes.tight_allowed, problem.own.judge
    for one in near:
        others = tried.setdefault(one.kind, set())
        if one.things in others or len(others) >= TRIES_OF_A_KIND or told >= MOST_TOLD:
            continue
        start = one.tried.start.checked
        standing = set(faults(start.report))
        checked = check_layout(one.checked.scene.layout, start, remedies=False)
        against = blocking(checked.report, standing, tight_allowed=tight_allowed)
        if not against:
            continue  # it fits: the rows were cut short
        others.add(one.things)
        found: list[Relaxation] = []
        for relaxation in relaxations(
            checked, standing, parts, judge=judge, tight_allowed=tight_allowed, cutting=cutting
        ):
            if relaxation is not None:
                found.append(relaxation)
            yield None
        found.sort(key=lambda r: r.cuts)
        miss = _miss(one.tried, checked, judge, against, found)
        first.setdefault(one.kind, miss)
        if found:
            told += 1
            mended.add(one.kind)
            yield miss
    unmended = [miss for kind, miss in first.items() if kind not in mended]
    yield from unmended[: min(MOST_UNMENDED, MOST_TOLD - told)]


def _miss(
    one: _Try,
    checked: Checked,
    judge: Judging,
    against: tuple[Finding, ...],
    mended: Sequence[Relaxation],
) -> NearMiss:
    layout = checked.scene.layout
    stack = one.option.stack
    assert stack is not None
    layers = [
        f"{len(layer.items)} x {name}" if len(layer.items) > 1 else name
        for layer in (*reversed(stack.outer), *stack.inner)
        for name in [layout.part(layer.items[0].part).name]
    ]
    return NearMiss(
        one.start.row,
        one.option.zone,
        checked.scene.name_of(one.option.zone),
        " + ".join(layers),
        one.gains,
        checked,
        judge,
        against,
        tuple(mended),
    )
