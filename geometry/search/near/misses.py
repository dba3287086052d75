"""Near misses of a search: what would be more than any row, and what single change would let it in.

A near miss is a row with another stack on one of its zones, or on two that just exclude each other:
one that the search may use, that would make more of some wanted measure than all rows do, and that
the full check refuses for the sake of few things. For each the single relaxations are looked for
(geometry.search.mending.relax).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import inf

from catalog.parts import Part
from geometry.checks.rules.worst_case import KIND as WORST_CASE
from geometry.checks.runner import Checked, check_layout
from geometry.checks.words import slide_text
from geometry.edits import set_judge, without_leftovers
from geometry.finding import Finding
from geometry.layout import Layout
from geometry.placement import zone_frame
from geometry.remedies import faults
from geometry.search.answers import Answer, Measure
from geometry.search.excludes import Exclusion
from geometry.search.listing.option import Option
from geometry.search.long_work import Steps, told_as
from geometry.search.mending.bench import Keys
from geometry.search.mending.relax import Relaxation, Tried, blocking, relaxations
from geometry.search.near.pairs import pair_tries
from geometry.search.near.refused import Refused, missing_mm, refused
from geometry.search.near.telling import Telling
from geometry.search.near.tries import (
    GAIN_OF,
    Try,
    is_more,
    starts_of,
    tries_on,
)
from geometry.search.problem import Problem
from geometry.search.slide_words import AS_IT_LIES
from geometry.search.taken_out import taken_out
from geometry.zone_names import zone_names

MOST_LOOKED_AT = 300
"""So many refused layouts are checked as drawn, those with the least in the way first."""

MOST_CHANGED = 3
"""Of the ways to put up the same parts so many are changed until a change lets one in."""


@dataclass(frozen=True, eq=False)
class NearMiss:
    """A layout that would be better than every row, if it were not refused.

    `row` numbers the row whose other zones it keeps (from 1), 0 where nothing fits at all; `option`
    is what stands on the zone instead, of which `holds` names the parts. `also` names another zone
    on which it has something else than the row, and the parts there. `gains` says how much more of
    each measure it has than the best row. `checked` is the refused layout with its full check as
    the search judges, `before` the layout that the search began with, `refused_for` the faults that
    stand against it, the one that is missing most first, and `relaxations` the single changes that
    let it in, those that cut nothing first.
    """

    row: int
    option: Option
    zone_name: str
    holds: str
    gains: Mapping[str, float]
    checked: Checked
    before: Layout
    refused_for: tuple[Finding, ...]
    relaxations: tuple[Relaxation, ...]
    also: tuple[str, str] | None = None

    @property
    def zone(self) -> str:
        """The zone on which it has another stack."""
        return self.option.zone

    @property
    def layout(self) -> Layout:
        """The refused layout."""
        return without_leftovers(set_judge(self.checked.scene.layout, self.before.settings.judge))

    @property
    def takes_out(self) -> tuple[str, ...]:
        """What stood before the search and does not in it."""
        return taken_out(self.before, self.layout)

    @property
    def short_mm(self) -> float:
        """By how much the worst fault falls short of its margin (mm), in the worst case if told."""
        return max((missing_mm(fault) for fault in self.refused_for), default=0.0)

    @property
    def slides(self) -> tuple[Relaxation, ...]:
        """The slides that let it in by themselves, the cheapest first."""
        return tuple(one for one in self.relaxations if one.kind == "slide")

    @property
    def slide_mm(self) -> float:
        """The least slide that lets it in by itself (mm); infinite where none does."""
        return min((one.amount_mm for one in self.slides if one.amount_mm is not None), default=inf)

    @property
    def at_worst(self) -> bool:
        """Whether the worst fault is one only once every dimension is off."""
        return bool(self.refused_for) and self.refused_for[0].kind == WORST_CASE


@dataclass(frozen=True, eq=False)
class NearMisses:
    """The near misses found so far, and how much was looked at for them.

    Of `of` layouts that would be more, `looked_at` were checked, those that meet least first.
    `close` of them are refused for few things; for `close_looked_at` of these it was looked what
    would let them in. `done` where it came to its end: counts set that, no clock, so that the same
    rows have the same near misses; `rows_whole` where no time cut these short.
    """

    found: tuple[NearMiss, ...] = ()
    looked_at: int = 0
    of: int = 0
    close: int = 0
    close_looked_at: int = 0
    done: bool = False
    rows_whole: bool = True


def near_misses(
    problem: Problem,
    answer: Answer,
    wanted: Sequence[Measure],
    parts: Sequence[Part] = (),
    *,
    exclusions: Sequence[Exclusion] = (),
    cutting: bool = False,
) -> Iterator[NearMisses]:
    """Look for near misses of a search and their relaxations; the last one yielded is the end.

    `exclusions` are what excludes what: pairs that nearly stand together are near misses too.
    `parts` are those from which smaller pumps may be taken. Without `cutting` nothing that would
    cut the enclosure is looked at. Whoever drives it may stop at any yield.
    """
    starts = starts_of(problem, answer)
    keys = [m.key for m in wanted if m.key in GAIN_OF] or ["area", "volume"]
    best = {key: max(start.figure(key) for start in starts) for key in keys}
    tries: list[Try] = []
    for number, zone in enumerate(problem.base.scene.layout.enclosure.zones):
        if all(zone.id != one.zone for one in problem.zones):
            continue
        for tried in tries_on(problem, starts, number, best):
            if tried is not None:
                tries.append(tried)
            yield NearMisses(of=len(tries), rows_whole=answer.done)
    for tried in pair_tries(problem, answer, exclusions, best):
        if tried is not None:
            tries.append(tried)
        yield NearMisses(of=len(tries), rows_whole=answer.done)
    tries.sort(key=lambda t: t.rank)
    near: list[Refused] = []
    state = NearMisses(of=len(tries), rows_whole=answer.done)
    for count, one in enumerate(tries[:MOST_LOOKED_AT], start=1):
        missed = refused(problem, one)
        if missed is not None:
            near.append(missed)
        state = replace(state, looked_at=count, close=len(near))
        yield state
    near.sort(key=lambda n: n.rank)
    for found, count in _with_relaxations(problem, near, parts, best, cutting=cutting):
        state = replace(state, found=_ranked(found), close_looked_at=count)
        yield state
    yield replace(state, close_looked_at=len(near), done=True)


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


def _with_relaxations(
    problem: Problem,
    near: Sequence[Refused],
    parts: Sequence[Part],
    best: Mapping[str, float],
    *,
    cutting: bool,
) -> Iterator[tuple[list[NearMiss], int]]:
    """Yield the near misses so far with their relaxations, and how many were looked at for that.

    A relaxation that takes off what would have been more than the best of the rows is none.
    Of those that would give the same figures on a zone, each that some relaxation lets in is told;
    where there is none, the one that falls short least. The same parts on a zone that meet the same
    things are told for one row alone.
    """
    telling = Telling()
    for at, one in enumerate(near):
        if not telling.wants(one):
            continue
        ways = _ways_in(problem, one, parts, best, cutting=cutting)
        let_in = yield from told_as(ways, partial(_so_far, telling, at))
        if let_in is None:
            continue  # it fits: the rows were cut short
        told, found = let_in
        found.sort(key=lambda r: r.cuts)
        telling.add(one, _miss(told.way, told.checked, problem.before, told.against, found))
        yield telling.found, at + 1
    yield telling.found, len(near)


def _so_far(telling: Telling, at: int, _: float) -> tuple[list[NearMiss], int]:
    return telling.found, at


def _ways_in(
    problem: Problem,
    one: Refused,
    parts: Sequence[Part],
    best: Mapping[str, float],
    *,
    cutting: bool,
) -> Steps[tuple[_Judged, list[Relaxation]] | None]:
    """Look in steps for what lets one in, and the way to put it up for which that does.

    None where it fits. A way that a slide lets in is told with the other changes to it, else the
    first that one of these lets in, of those that fall short least. A smaller margin is tried at
    those listed slides too at which most is left.
    """
    searched = {zone.zone for zone in problem.zones}
    found: list[Relaxation] = []
    ways: list[_Judged] = []
    for way in one.tried.ways:
        judged = _Judged.of(problem, way)
        if judged is None:
            continue
        ways.append(judged)
        for slide in judged.relaxations(parts, "slides"):
            found += [] if slide is None else [slide]
            yield 0.0
        if found:
            ways = [judged]
            break
    if not ways:
        return None
    ways.sort(key=lambda w: w.rank)
    for judged in ways[:MOST_CHANGED]:
        for relaxation in judged.relaxations(parts, "all but slides", cutting=cutting):
            if relaxation is not None and is_more(relaxation.layout, searched, best):
                found.append(relaxation)
            yield 0.5
        if found:
            break
    else:
        judged = ways[0]
    roomiest = yield from _by_margin(problem, one)
    return _with_margin(judged, found, roomiest)


def _by_margin(problem: Problem, one: Refused) -> Steps[tuple[_Judged, Relaxation] | None]:
    """Look in steps for the largest smaller margin that lets one in, at any listed slide."""
    for way in one.tried.roomiest:
        judged = _Judged.of(problem, way)
        if judged is None:
            continue
        for relaxation in judged.relaxations((), "margin"):
            if relaxation is not None:
                return judged, relaxation
            yield 0.75
    return None


def _with_margin(
    judged: _Judged, found: list[Relaxation], roomiest: tuple[_Judged, Relaxation] | None
) -> tuple[_Judged, list[Relaxation]]:
    """Return what lets one in with the larger of two margins, and the way for which it does.

    Of a margin at another slide than the rest is for it is said where the stack is slid.
    """
    if roomiest is None:
        return judged, found
    at, margin = roomiest
    known = [one.amount_mm for one in found if one.kind == "margin"]
    if any(less_mm <= margin.amount_mm for less_mm in known if less_mm and margin.amount_mm):
        return judged, found
    others = [one for one in found if one.kind != "margin"]
    if not others:
        return at, [margin]
    return judged, [*others, replace(margin, name=f"{margin.name}, {at.slid}")]


@dataclass(frozen=True, eq=False)
class _Judged:
    """One way to put up what would be more, checked in full, with the faults that refuse it."""

    problem: Problem
    way: Try
    checked: Checked
    standing: Keys
    against: tuple[Finding, ...]

    @classmethod
    def of(cls, problem: Problem, way: Try) -> _Judged | None:
        """Return a way with its full check; None where it fits, or is no near miss as drawn."""
        drawn = refused(problem, way)
        if drawn is None:
            return None
        start = way.start.checked
        standing = set(faults(start.report))
        checked = check_layout(drawn.checked.scene.layout, start, remedies=False, volumes="none")
        tight_allowed = problem.wishes.tight_allowed
        against = blocking(checked.report, standing, tight_allowed=tight_allowed)
        return cls(problem, way, checked, standing, against) if against else None

    @property
    def rank(self) -> tuple[float, int]:
        """What puts the way first that falls short least."""
        return max(missing_mm(fault) for fault in self.against), len(self.against)

    @property
    def slid(self) -> str:
        """Where the stack is slid, in words."""
        layout = self.checked.scene.layout
        (stack,) = (s for s in layout.stacks if s.zone == self.way.option.zone)
        slide_mm = (stack.slide_u_mm, stack.slide_v_mm)
        if not any(slide_mm):
            return AS_IT_LIES
        return f"slid {slide_text(zone_frame(layout, stack.zone), slide_mm)}"

    def relaxations(
        self, parts: Sequence[Part], tried: Tried, *, cutting: bool = False
    ) -> Iterator[Relaxation | None]:
        """Yield the single changes that let it in; None for what does not."""
        return relaxations(
            self.checked,
            self.standing,
            parts,
            judge=self.problem.own.judge,
            tight_allowed=self.problem.wishes.tight_allowed,
            cutting=cutting,
            tried=tried,
        )


def _miss(
    one: Try,
    checked: Checked,
    before: Layout,
    against: tuple[Finding, ...],
    mended: Sequence[Relaxation],
) -> NearMiss:
    layout = checked.scene.layout
    names = zone_names(layout.enclosure)
    also = one.start.also
    return NearMiss(
        one.start.row,
        one.option,
        names[one.option.zone],
        _holds(layout, one.option),
        one.gains,
        checked,
        before,
        tuple(sorted(against, key=missing_mm, reverse=True)),
        tuple(mended),
        None if also is None else (also.zone, f"{_holds(layout, also)} on {names[also.zone]}"),
    )


def _holds(layout: Layout, option: Option) -> str:
    """Name the parts of an option, from the outside in; one side by side after the other."""
    return ", beside it ".join(_column_holds(layout, column) for column in option.columns)


def _column_holds(layout: Layout, column: Option) -> str:
    own = column.layers
    assert own is not None
    layers = [
        f"{len(layer.items)} x {name}" if len(layer.items) > 1 else name
        for layer in (*reversed(own.outer), *own.inner)
        for name in [layout.part(layer.items[0].part).name]
    ]
    return " + ".join(layers)
