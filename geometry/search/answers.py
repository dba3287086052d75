"""The answer of a search: the best trade-offs, checked in full and counted by pattern."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from math import inf, isfinite
from time import perf_counter

import numpy as np

from geometry.checks.bolting import slide_room
from geometry.checks.runner import Checked, check_layout
from geometry.edits import without_leftovers
from geometry.finding import Finding, Verdict
from geometry.layout import Layout, Settings, Stack
from geometry.margins import judged
from geometry.measures.broadphase import Floats
from geometry.measures.solid import Role
from geometry.measures.travel import travel
from geometry.scene import Scene
from geometry.search.judging.zone_options import ZoneOptions
from geometry.search.listing.option import Option
from geometry.search.long_work import Steps, told_as
from geometry.search.problem import Problem
from geometry.search.solving.best import Kind
from geometry.search.solving.by_domains import counting_each
from geometry.search.solving.count import Counting
from geometry.search.solving.front import Front, FrontPoint, front
from geometry.search.solving.zone_tables import Domain
from geometry.zone_names import zone_names

FOR_THE_FRONT = 0.75
"""The share of the time in which the trade-offs are searched for; the rest is for their rows."""


@dataclass(frozen=True)
class Measure:
    """Something to get much or little of; `sign` is -1 where less is better."""

    key: str
    name: str
    unit: str
    kind: Kind
    sign: int = 1


MEASURES: Mapping[str, Measure] = {
    m.key: m
    for m in (
        Measure("area", "exchanger face area", "cm2", "sum"),
        Measure("volume", "core volume", "cm3", "sum"),
        Measure("fans", "number of fans", "", "sum"),
        Measure("leftover", "least depth left to what stood before", "mm", "least"),
        Measure("parts", "number of parts", "", "sum", -1),
        Measure("cables", "least room kept for cables at the better end of a stack", "mm", "least"),
    )
}


@dataclass(frozen=True, eq=False)
class Row:
    """One trade-off: its options, its figures by measure, its layout with the full check.

    `alike` counts the combinations of the same pattern that fit: so many, or at least so many where
    it is not `alike_exact`, as time was out.
    """

    combination: tuple[int, ...]
    options: tuple[Option, ...]
    figures: Mapping[str, float]
    checked: Checked
    alike: int

    settings: Settings
    alike_exact: bool = True
    standing: frozenset[tuple[str, tuple[str, ...]]] = frozenset()

    @property
    def pattern(self) -> str:
        """What it is in words: what every filled zone holds."""
        return pattern_text(self.checked.scene.layout, self.options)

    @cached_property
    def stacks(self) -> Mapping[str, Stack]:
        """The stacks that it puts in, by zone."""
        filled = {option.zone for option in self.options if option.stack is not None}
        return {s.zone: s for s in self.checked.scene.layout.stacks if s.zone in filled}

    @property
    def _new(self) -> list[Finding]:
        found = self.checked.report.findings
        at_fault = (f for f in found if f.verdict is not Verdict.CLEAR)
        return [f for f in at_fault if (f.kind, f.ids) not in self.standing]

    def passes(self, *, tight_allowed: bool) -> bool:
        """Whether the full check lets it pass, but for what was at fault already."""
        return all(tight_allowed and f.verdict is Verdict.TIGHT for f in self._new)

    @cached_property
    def layout(self) -> Layout:
        """The layout that it makes."""
        made = without_leftovers(self.checked.scene.layout)
        return made if made.settings == self.settings else made.but(settings=self.settings)


@dataclass(frozen=True, eq=False)
class Answer:
    """The rows found; `refused` counts those that the full check did not let pass (none should).

    `at_most` bounds the first measure while the search goes on.
    """

    rows: tuple[Row, ...]
    done: bool
    refused: int = 0
    at_most: tuple[Measure, float] | None = None


def pattern_text(layout: Layout, options: Sequence[Option]) -> str:
    """Name a pattern: "front bracket: exchanger 2 fans long + floor: 1 fan alone"."""
    names = zone_names(layout.enclosure)
    told = [f"{names[o.zone]}: {o.pattern}" for o in options if o.stack is not None]
    told += [o.pattern for o in options if o.free is not None]
    told += [o.pattern for o in options if o.states and o.stack is None and o.free is None]
    return "; ".join(told) if told else "all zones empty"


def measured(zone: ZoneOptions, measure: Measure) -> Floats:
    """Return one measure of all options of a zone, more is better."""
    if measure.key == "leftover":
        return zone.left_mm
    if measure.key == "cables":
        return zone.ends_mm
    return measure.sign * zone.options.figures(partial(_figure, measure.key))


def _figure(key: str, option: Option) -> float:
    if key == "area":
        return option.area_cm2
    if key == "volume":
        return option.volume_cm3
    return float(option.fans if key == "fans" else option.parts)


def answers(
    problem: Problem, wanted: Sequence[Measure], seconds: float | None = None
) -> Iterator[Answer]:
    """Search for the best trade-offs in some measures; the last one yielded is the end.

    `seconds` bounds all of it, but that one row is always checked; each zone that could carry a
    pump has a share, as has what holds none. The last quarter of the time is kept for checking rows
    and counting what is like them: rows that are not checked by then are left out.
    """
    start = perf_counter()
    for_the_front = None if seconds is None else FOR_THE_FRONT * seconds
    values = [np.stack([measured(zone, m) for m in wanted], axis=1) for zone in problem.zones]
    searching = _trade_offs(problem, wanted, values, for_the_front)
    points, whole = yield from told_as(searching, partial(_only_bound, wanted))
    rows: list[Row] = []
    refused = 0
    counts: dict[tuple[str, ...], Counting] = {}
    for point in points:
        left = None if seconds is None else seconds - (perf_counter() - start)
        if left is not None and left <= 0.0 and rows:
            whole = False
            break
        combination = as_it_is(problem, point.combination, wanted, values)
        pattern = _pattern(problem, combination)
        if pattern not in counts:
            # What is like a row is counted in half of the time that is left.
            for count in pattern_counting(problem, pattern, None if left is None else left / 2):
                counts[pattern] = count
                yield Answer(tuple(rows), done=False, refused=refused)
        row = _row(problem, combination, wanted, values, counts[pattern])
        if not row.passes(tight_allowed=problem.wishes.tight_allowed):
            refused += 1
            continue
        rows.append(row)
        yield Answer(tuple(rows), done=False, refused=refused)
    yield Answer(tuple(rows), whole, refused)


def _only_bound(wanted: Sequence[Measure], at_most: float) -> Answer:
    """Return an answer without rows, with what at most the first measure can be."""
    bound = (wanted[0], wanted[0].sign * at_most) if isfinite(at_most) else None
    return Answer((), done=False, at_most=bound)


def _trade_offs(
    problem: Problem,
    wanted: Sequence[Measure],
    values: Sequence[Floats],
    seconds: float | None,
) -> Steps[tuple[list[FrontPoint], bool]]:
    """Search for the best trade-offs of all domains; return them, and whether they are all.

    Yields what at most the first measure can be, of those that may still come and those found.
    """
    start = perf_counter()
    every = domains(problem)
    kinds = [m.kind for m in wanted]
    at_most = [_most_of(values, one, kinds[0]) for one in every]
    points: list[FrontPoint] = []
    whole = True
    for number, domain in enumerate(every):
        left = None if seconds is None else seconds - (perf_counter() - start)
        if left is not None and left <= 0.0 and points:
            return _unbeaten(points), False
        share = None if left is None else left / (len(every) - number)
        own = [v[k] for v, k in zip(values, domain.options, strict=True)]
        last = Front((), done=False)
        for last in front(problem.tables.merged(domain), own, kinds, share):
            if last.at_most is not None:
                here = [last.at_most, *(p.values[0] for p in last.points)]
                at_most[number] = max(here)
            yield max(at_most)
        found = [FrontPoint(domain.original(p.combination), p.values) for p in last.points]
        points += found
        whole &= last.done
        if last.done:
            at_most[number] = max((p.values[0] for p in found), default=-inf)
    return _unbeaten(points), whole


def _most_of(values: Sequence[Floats], domain: Domain, kind: Kind) -> float:
    """Return what the first measure of a domain does not pass, whatever conflicts."""
    if not domain.combinations:
        return -inf
    best = [float(v[k, 0].max()) for v, k in zip(values, domain.options, strict=True)]
    return sum(best) if kind == "sum" else min(best, default=inf)


def _unbeaten(points: Sequence[FrontPoint]) -> list[FrontPoint]:
    """Return the points of several fronts that none of the others beats or equals."""
    return [
        p
        for n, p in enumerate(points)
        if not any(
            all(a >= b for a, b in zip(q.values, p.values, strict=True))
            and (q.values != p.values or m < n)
            for m, q in enumerate(points)
            if m != n
        )
    ]


def domains(problem: Problem) -> list[Domain]:
    """Return the options to search, split by the zone that carries the pump, if any."""
    required = problem.wishes.pump == "required"
    return [one for one in problem.tables.domains() if one.marked or not required]


def _pattern(problem: Problem, combination: tuple[int, ...]) -> tuple[str, ...]:
    return tuple(option.pattern for option in problem.options(combination))


def _row(
    problem: Problem,
    combination: tuple[int, ...],
    wanted: Sequence[Measure],
    values: Sequence[Floats],
    alike: Counting,
) -> Row:
    """Return a row, of which so many are like it."""
    together = _together(combination, wanted, values)
    figures = {m.key: m.sign * v for m, v in zip(wanted, together, strict=True)}
    checked = check_layout(problem.judged_layout(combination), problem.base, remedies=False)
    return Row(
        combination,
        problem.options(combination),
        figures,
        checked,
        max(1, alike.found),
        problem.own,
        alike.done,
        problem.standing,
    )


def as_it_is(
    problem: Problem,
    combination: tuple[int, ...],
    wanted: Sequence[Measure],
    values: Sequence[Floats],
) -> tuple[int, ...]:
    """Return a combination with every obstacle in the state that it has now.

    Where that fits, and takes nothing off any measure; `values` has these of all options.
    """
    for z, zone in enumerate(problem.zones):
        option = zone.options[combination[z]]
        if option.states and option.stack is None and not zone.options[0].states:
            kept = as_listed(problem, (*combination[:z], 0, *combination[z + 1 :]))
            if kept is not None and all(
                new >= old
                for new, old in zip(
                    _together(kept, wanted, values),
                    _together(combination, wanted, values),
                    strict=True,
                )
            ):
                combination = kept
    return combination


def as_listed(problem: Problem, combination: tuple[int, ...]) -> tuple[int, ...] | None:
    """Return a combination under those numbers of its options under which they stand together.

    None where they do under none.
    """
    different = [zone.options.different for zone in problem.zones]
    return problem.tables.standing(
        [
            np.flatnonzero(every == every[number])
            for every, number in zip(different, combination, strict=True)
        ]
    )


def _together(
    combination: tuple[int, ...], wanted: Sequence[Measure], values: Sequence[Floats]
) -> tuple[float, ...]:
    """Return what a combination makes of each measure, more is better."""
    own = [of_zone[k] for of_zone, k in zip(values, combination, strict=True)]
    return tuple(
        float(
            sum(v[m] for v in own)
            if measure.kind == "sum"
            else min((v[m] for v in own), default=inf)
        )
        for m, measure in enumerate(wanted)
    )


def pattern_counting(
    problem: Problem, pattern: Sequence[str], seconds: float | None = None
) -> Iterator[Counting]:
    """Count the combinations with one pattern a zone that fit; the last one yielded is the end."""
    keep = [
        np.flatnonzero(zone.options.which(partial(_is_of, wanted)))
        for zone, wanted in zip(problem.zones, pattern, strict=True)
    ]
    for parts in counting_each(problem.tables, problem.tables.domains(keep), seconds):
        yield Counting.total(parts)


def _is_of(pattern: str, option: Option) -> bool:
    return option.pattern == pattern


def free_slide_mm(scene: Scene, stack_id: str) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return how far a stack may be slid on from where it is, (back, ahead) along u and along v.

    By the travel measure against all that the check judges it with, rooms kept free included, and
    within its slots; margins are not kept.
    """
    stack = scene.layout.stack(stack_id)
    items = scene.items_of(stack)
    own = [s for one in items for s in scene.solids_of[one.id]]
    met = []
    for hard in (True, False):
        some = [s for s in own if s.hard is hard and s.role is not Role.AIR]
        others = [
            (o.id, o.prisms)
            for o in scene.solids
            if o.stack != stack_id and any(judged(s, o) for s in some)
        ]
        met.append(([p for s in some for p in s.prisms], others))
    rooms = [slide_room(items, along) for along in (0, 1)]
    frame = scene.frames[stack.zone]
    out = []
    for along, (axis, at) in enumerate(
        ((frame.pose.x, stack.slide_u_mm), (frame.pose.y, stack.slide_v_mm))
    ):
        ends = []
        for way, slot in (
            (-axis, at - rooms[along].least_mm),
            (axis, rooms[along].most_mm - at),
        ):
            free = min(travel(moved, way, others).mm for moved, others in met)
            ends.append(max(0.0, min(slot, free)))
        out.append((ends[0], ends[1]))
    return out[0], out[1]
