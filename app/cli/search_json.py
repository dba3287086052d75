"""What `gapwright search --json` prints."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from geometry.edits import CUT_CAUTION
from geometry.layout import Layout
from geometry.search.answers import Measure, Row, free_slide_mm
from geometry.search.excludes import Exclusion, Largest
from geometry.search.judging.zone_options import ZoneOptions
from geometry.search.listing.option import Option
from geometry.search.near.largest import larger_than, slid_in
from geometry.search.near.misses import NearMiss, NearMisses
from geometry.search.near.words import fault_text
from geometry.search.problem import Listed
from geometry.search.row_limits import left_in_place, short_before, tight_at_worst
from geometry.search.run import Searched
from geometry.search.taken_out import parts_taken_out, taken_out
from geometry.search.told_figures import told_figure


class _Said(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


Told = Annotated[float, AfterValidator(told_figure)]
"""A figure to a thousandth."""


class ZoneSaid(_Said):
    """A zone: how many options were listed, and how many of them stand alone."""

    zone: str
    listed: int
    fit_alone: int


class CountSaid(_Said):
    """How many combinations fit: exact, or an estimate with its 95 % interval, and sure bounds.

    `combinations` and `at_most` are null while not all options are listed.
    """

    kind: Literal["exact", "estimate", "cut short"]
    combinations: int | None
    exact: int | None = None
    at_least: int
    at_most: int | None
    estimate: float | None = None
    low_95: float | None = None
    high_95: float | None = None


class FreeSlideSaid(_Said):
    """How far the stack of a zone may still be slid back and ahead in its slots, to touching."""

    zone: str
    u_mm: tuple[Told, Told]
    v_mm: tuple[Told, Told]


class TightSaid(_Said):
    """A gap that is `short_mm` short of its margin in the worst case, or `as_drawn` already.

    `taking` names the dimensions that take the most of it, none where it has no stack-up.
    """

    title: str
    short_mm: Told
    taking: tuple[str, ...]
    as_drawn: bool


class RowSaid(_Said):
    """One trade-off; a figure is null where nothing limits it. `layout` is a whole layout file.

    `figures` are against what stood before the search; `left_in_place_mm` is the least leftover
    depth with all of the row in place as drawn, then in the worst case and at the lower statistical
    limit, as `gapwright check` has them. It is least in the worst case at `left_in_place_worst_at`
    (zone, and what limits), where `left_in_place_taken_by` are the dimensions that take the most,
    and `left_in_place_brought_in_by` those that bring it in where it stands beside the way as
    drawn. `takes_out` names what stood before the search and does not with it.
    """

    pattern: str
    figures: dict[str, Told | None]
    left_in_place_mm: Told | None
    left_in_place_worst_mm: Told | None
    left_in_place_statistical_mm: Told | None
    left_in_place_worst_at: tuple[str, str] | None
    left_in_place_taken_by: tuple[str, ...]
    left_in_place_brought_in_by: tuple[str, ...]
    free_slides: tuple[FreeSlideSaid, ...]
    tight_at_worst: Annotated[
        int | None, Field(description="null where gaps are judged as drawn: not looked at")
    ]
    tight: Annotated[tuple[TightSaid, ...], Field(description="those that are counted there")]
    short_before: Annotated[
        int | None,
        Field(
            description="gaps that fell short before the search, not counted there; null likewise"
        ),
    ]
    like_it: int
    takes_out: tuple[str, ...]
    layout: Layout


class ExclusionSaid(_Said):
    """Two groups of options, by zone and pattern, of which all or some pairs cannot stand together.

    `first` and `second` meet in the pair that comes nearest to it, which is `short_mm` short.
    """

    zones: tuple[str, str]
    patterns: tuple[str, str]
    always: bool
    excluded: int
    pairs: int
    first: str
    second: str
    verdict: Literal["blocked", "tight", "clear"]
    short_mm: Told
    sure: Annotated[bool, Field(description="false: a pair that was not measured may come nearer")]


class LargestSaid(_Said):
    """The most of one measure that still goes into a zone, the other zones as in the first row.

    The thickest and the longest core, without its end tanks; the deepest stack on one side. What a
    slide between the listed ones lets in follows where it is more, as its near miss tells.
    """

    zone: str
    what: Literal["thickest", "longest", "deepest"]
    mm: Told
    pattern: str
    exchangers: tuple[str, ...]
    slide: Annotated[str | None, Field(description="where not at a listed slide, how it goes in")]


class RelaxationSaid(_Said):
    """One change that lets a near miss in, and the layout that it gives.

    `cuts` marks a change to the enclosure by cutting, which is irreversible. `amount_mm` is by how
    much, null for what has no amount. `takes_out` names the parts that stood before the search and
    do not with it.
    """

    name: str
    kind: str
    cuts: bool
    amount_mm: Told | None
    takes_out: tuple[str, ...]
    layout: Layout


class NearMissSaid(_Said):
    """A row with another stack on one zone: more than any row, and refused for few things.

    Those with `relaxations` come first; where there are none, no single change that was tried lets
    it in. `short_mm` is missing to the margin, `short_at_worst` only once every dimension is off.
    """

    row: Annotated[int, Field(description="whose other zones it keeps; 0 where nothing fits")]
    zone: str
    holds: str
    gains: Annotated[dict[str, Told], Field(description="over the best row, by measure")]
    refused_for: tuple[str, ...]
    short_mm: Told
    short_at_worst: bool
    takes_out: tuple[str, ...]
    relaxations: tuple[RelaxationSaid, ...]


class SearchFile(_Said):
    """The answer of a search."""

    format: Literal["gapwright-search"] = "gapwright-search"
    version: Literal[1] = 1
    enclosure: str
    judged: Literal["clear", "clear or tight"]
    zones: tuple[ZoneSaid, ...]
    count: CountSaid
    measures: tuple[str, ...]
    rows: tuple[RowSaid, ...]
    rows_proven: bool
    exclusions: tuple[ExclusionSaid, ...]
    exclusions_done: Annotated[bool, Field(description="false: there may be more than are listed")]
    exclusions_looked_at: Annotated[
        float, Field(ge=0, le=1, description="the share of the groups of options looked at")
    ]
    largest: tuple[LargestSaid, ...]
    near_misses: tuple[NearMissSaid, ...]
    near_misses_done: Annotated[bool, Field(description="false: stopped, more time finds more")]
    near_misses_looked_at: Annotated[
        int, Field(description="so many layouts were looked at, those that meet least first")
    ]
    near_misses_of: Annotated[int, Field(description="so many would be more than any row")]
    near_misses_close: Annotated[
        int, Field(description="so many of those looked at are refused for few things")
    ]
    near_misses_close_looked_at: Annotated[
        int, Field(description="for so many of these it was looked what would let them in")
    ]
    cutting_allowed: bool
    caution: Annotated[str, Field(description="where cutting is allowed, else empty")]
    stopped: bool
    done: Annotated[
        bool, Field(description="false: stopped or cut short; there may be more of something")
    ]


def unbegun_file(
    layout: Layout,
    wanted: Sequence[Measure],
    listed: Sequence[Listed],
    *,
    tight: bool,
    cutting: bool,
) -> SearchFile:
    """Return the answer of a search that was stopped before it had one: the zones listed so far."""
    return SearchFile(
        enclosure=layout.enclosure.id,
        judged=_judged(tight_allowed=tight),
        zones=_zones(listed),
        count=CountSaid(kind="cut short", combinations=None, at_least=0, at_most=None),
        measures=tuple(m.key for m in wanted),
        rows=(),
        rows_proven=False,
        exclusions=(),
        exclusions_done=False,
        exclusions_looked_at=0.0,
        largest=(),
        near_misses=(),
        near_misses_done=False,
        near_misses_looked_at=0,
        near_misses_of=0,
        near_misses_close=0,
        near_misses_close_looked_at=0,
        cutting_allowed=cutting,
        caution=CUT_CAUTION if cutting else "",
        stopped=True,
        done=False,
    )


def search_file(found: Searched, near: NearMisses, *, cutting: bool, stopped: bool) -> SearchFile:
    """Return the answer as it is printed."""
    problem = found.problem
    return SearchFile(
        enclosure=problem.base.scene.layout.enclosure.id,
        judged=_judged(tight_allowed=problem.wishes.tight_allowed),
        zones=_zones(problem.zones),
        count=_count(found),
        measures=tuple(m.key for m in found.wanted),
        rows=tuple(_row(row, problem.before) for row in found.answer.rows),
        rows_proven=found.answer.done,
        exclusions=tuple(_exclusion(one) for one in found.exclusions),
        exclusions_done=found.excluded_share == 1.0,
        exclusions_looked_at=found.excluded_share,
        largest=_largest(found, near),
        near_misses=tuple(_near_miss(one) for one in near.found),
        near_misses_done=near.done,
        near_misses_looked_at=near.looked_at,
        near_misses_of=near.of,
        near_misses_close=near.close,
        near_misses_close_looked_at=near.close_looked_at,
        cutting_allowed=cutting,
        caution=CUT_CAUTION if cutting else "",
        stopped=stopped,
        done=found.done and found.count.done and found.answer.done and near.done,
    )


def _judged(*, tight_allowed: bool) -> Literal["clear", "clear or tight"]:
    return "clear or tight" if tight_allowed else "clear"


def _zones(zones: Sequence[ZoneOptions] | Sequence[Listed]) -> tuple[ZoneSaid, ...]:
    return tuple(ZoneSaid(zone=z.zone, listed=z.listed, fit_alone=z.fit_alone) for z in zones)


def _row(row: Row, before: Layout) -> RowSaid:
    ends = {zone: free_slide_mm(row.checked.scene, stack.id) for zone, stack in row.stacks.items()}
    left, tight = left_in_place(row), tight_at_worst(row)
    return RowSaid(
        pattern=row.pattern,
        figures={key: _bounded(value) for key, value in row.figures.items()},
        left_in_place_mm=_bounded(left.drawn_mm),
        left_in_place_worst_mm=_bounded(left.worst_mm),
        left_in_place_statistical_mm=_bounded(left.likely_mm),
        left_in_place_worst_at=(left.zone, left.limit) if left.limit else None,
        left_in_place_taken_by=left.taking,
        left_in_place_brought_in_by=left.bringing,
        free_slides=tuple(
            FreeSlideSaid(zone=zone, u_mm=along_u, v_mm=along_v)
            for zone, (along_u, along_v) in ends.items()
        ),
        tight_at_worst=None if tight is None else len(tight),
        tight=tuple(
            TightSaid(
                title=one.title, short_mm=one.short_mm, taking=one.taking, as_drawn=one.as_drawn
            )
            for one in tight or ()
        ),
        short_before=None if tight is None else short_before(row),
        like_it=row.alike,
        takes_out=taken_out(before, row.layout),
        layout=row.layout,
    )


def _bounded(value: float) -> float | None:
    return value + 0.0 if math.isfinite(value) else None


def _exclusion(one: Exclusion) -> ExclusionSaid:
    return ExclusionSaid(
        zones=one.zones,
        patterns=one.patterns,
        always=one.always,
        excluded=one.excluded,
        pairs=one.pairs,
        first=one.first,
        second=one.second,
        verdict=one.verdict.value,
        short_mm=one.short_mm,
        sure=one.sure,
    )


def _largest(found: Searched, near: NearMisses) -> tuple[LargestSaid, ...]:
    said = [said for one in found.largest for said in _largest_listed(one)]
    sizes = ((one.zone, one.what, one.mm) for one in said)
    slid = slid_in(found.problem, near.found)
    more = [
        LargestSaid(
            zone=one.zone,
            what=what,
            mm=mm,
            pattern=one.pattern,
            exchangers=tuple(part for part, _ in one.exchangers),
            slide=one.slide,
        )
        for what, mm, one in larger_than(sizes, slid)
    ]
    return (*said, *more)


def _largest_listed(one: Largest) -> list[LargestSaid]:
    most: dict[Literal["thickest", "longest", "deepest"], tuple[Option, float] | None] = {
        "thickest": one.thickest,
        "longest": one.longest,
        "deepest": one.deepest,
    }
    return [
        LargestSaid(
            zone=one.zone,
            what=what,
            mm=found[1],
            pattern=found[0].pattern,
            exchangers=tuple(core.id for core in found[0].cores),
            slide=None,
        )
        for what, found in most.items()
        if found is not None
    ]


def _near_miss(one: NearMiss) -> NearMissSaid:
    return NearMissSaid(
        row=one.row,
        zone=one.zone,
        holds=one.holds,
        gains=dict(one.gains),
        refused_for=tuple(fault_text(fault) for fault in one.refused_for),
        short_mm=one.short_mm,
        short_at_worst=one.at_worst,
        takes_out=one.takes_out,
        relaxations=tuple(
            RelaxationSaid(
                name=relaxation.name,
                kind=relaxation.kind,
                cuts=relaxation.cuts,
                amount_mm=relaxation.amount_mm,
                takes_out=parts_taken_out(one.before, relaxation.layout),
                layout=relaxation.layout,
            )
            for relaxation in one.relaxations
        ),
    )


def _count(found: Searched) -> CountSaid:
    count, guess = found.count, found.estimate
    raw = found.problem.combinations
    if count.done:
        return CountSaid(
            kind="exact",
            combinations=raw,
            exact=count.found,
            at_least=count.found,
            at_most=count.found,
        )
    said = CountSaid(
        kind="cut short", combinations=raw, at_least=count.found, at_most=count.at_most
    )
    if guess is None:
        return said
    return said.model_copy(
        update={
            "kind": "estimate",
            "estimate": guess.mean,
            "low_95": max(guess.mean - guess.half_width, 0.0),
            "high_95": guess.mean + guess.half_width,
        }
    )
