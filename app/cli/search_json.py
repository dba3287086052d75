"""What `gapwright search --json` prints."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from app.cli.search_json_fields import (
    ChoiceSaid,
    CountSaid,
    ExclusionSaid,
    FinerExclusionsSaid,
    FreeSlideSaid,
    LargestSaid,
    NearMissSaid,
    RelaxationSaid,
    RowSaid,
    SearchFile,
    TightSaid,
    ZoneSaid,
)
from geometry.edits import CUT_CAUTION
from geometry.layout import Layout
from geometry.search.answers import Measure, Row, free_slide_mm
from geometry.search.excludes import Exclusion, Largest
from geometry.search.finer_exclusions import FinerExclusions
from geometry.search.judging.zone_options import ZoneOptions
from geometry.search.listing.option import Option
from geometry.search.near.largest import larger_than, slid_in
from geometry.search.near.misses import NearMiss, NearMisses
from geometry.search.near.words import fault_text
from geometry.search.problem import Listed
from geometry.search.row_limits import left_in_place, short_before, tight_at_worst
from geometry.search.run import Searched
from geometry.search.taken_out import parts_taken_out, taken_out


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
        count=CountSaid(kind="cut short", combinations=None, empty=None, at_least=0, at_most=None),
        measures=tuple(m.key for m in wanted),
        rows=(),
        rows_proven=False,
        exclusions=(),
        exclusions_done=False,
        exclusions_looked_at=0.0,
        exclusions_finer=(),
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


def search_file(
    found: Searched,
    near: NearMisses,
    *,
    finer: Sequence[FinerExclusions] = (),
    cutting: bool,
    stopped: bool,
) -> SearchFile:
    """Return the answer as it is printed; `finer` is told of what excludes what."""
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
        exclusions_finer=tuple(_finer(one) for one in finer),
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
        like_it_exact=row.alike_exact,
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
        short_by=one.judged,
        sure=one.sure,
    )


def _finer(one: FinerExclusions) -> FinerExclusionsSaid:
    first, second = (
        tuple(
            ChoiceSaid(
                pattern=c.pattern,
                thickness_mm=c.thickness_mm,
                fans=c.fans,
                pump=c.pump,
                options=int(count),
            )
            for c, count in zip(choices, sizes, strict=True)
        )
        for choices, sizes in zip(one.choices, one.sizes, strict=True)
    )
    excluded = tuple(tuple(row) for row in one.excluded.tolist())
    return FinerExclusionsSaid(zones=one.zones, first=first, second=second, excluded=excluded)


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
        also=one.also,
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
            empty=found.empty,
            exact=count.found,
            at_least=count.found,
            at_most=count.found,
        )
    said = CountSaid(
        kind="cut short",
        combinations=raw,
        empty=found.empty,
        at_least=count.found,
        at_most=count.at_most,
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
