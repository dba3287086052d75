"""What tolerances leave of a row: its least depth in place, and the gaps that are tight at worst.

The same figures by the same code as in the check of the row once it is applied. They are worked
out for rows that are told, not for all that fits.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

from geometry.checks.finding_figures import MEASURED, finding_figure, stack_figure
from geometry.checks.rules.worst_case import KIND as WORST_CASE
from geometry.finding import Finding, StackDepth, Verdict
from geometry.search.answers import Row
from geometry.stackup.stack_ups import Figure, StackUp
from geometry.stackup.words import contributor_words, told_apart
from geometry.zone_names import zone_names

MOST_TAKING = 3
"""So many dimensions are named that take the most."""


@dataclass(frozen=True)
class LeftInPlace:
    """The least leftover depth of a row with all of it in place (mm), infinite where it is open.

    As drawn and in the worst case it is the least of what the check says of its stacks; `likely_mm`
    is the lower statistical limit of the least of all of them, which is lower than that of each
    where several leave about as little. `zone` and `limit` name where it is least in the worst
    case, and what limits it there; `beside_mm` how far that stands beside the way as drawn, None
    where in it, or with `of_openings` how far openings overlap between which it comes. `taking`
    names the dimensions that take the most there, `bringing` those that bring it into the way, the
    largest share first.
    """

    drawn_mm: float = inf
    worst_mm: float = inf
    likely_mm: float = inf
    zone: str = ""
    limit: str = ""
    beside_mm: float | None = None
    taking: tuple[str, ...] = ()
    bringing: tuple[str, ...] = ()
    of_openings: bool = False


@dataclass(frozen=True)
class TightAtWorst:
    """A gap that is short of its margin at worst: in words, by how much, what takes the most.

    `as_drawn` tells that it is short of it as drawn already.
    """

    title: str
    short_mm: float
    taking: tuple[str, ...]
    as_drawn: bool = False


def left_in_place(row: Row) -> LeftInPlace:
    """Return the least leftover depth of a row with all of it in place."""
    every = list(_limited(row))
    if not every:
        return LeftInPlace()
    depth, figure = min(every, key=lambda one: one[1].worst.worst_mm)
    layout = row.checked.scene.layout
    return LeftInPlace(
        drawn_mm=min(one.least.mm for one, _ in every),
        worst_mm=figure.worst.worst_mm,
        likely_mm=Figure.least_of([one for _, one in every]).likely_least_mm,
        zone=zone_names(layout.enclosure)[layout.stack(depth.stack).zone],
        limit=figure.worst_name if figure.elsewhere else depth.least.limited_name,
        beside_mm=None if figure.beside is None else figure.beside.nominal_mm,
        of_openings=figure.beside is not None and figure.beside.of_openings,
        taking=taking(figure.worst),
        bringing=() if figure.beside is None else taking(figure.beside),
    )


def _limited(row: Row) -> Iterator[tuple[StackDepth, Figure]]:
    """Yield the sides of the stacks of a row whose depth something limits, with their figures."""
    searched = {stack.id for stack in row.stacks.values()}
    report = row.checked.report
    for depth in report.depths:
        figure = stack_figure(report, depth) if depth.stack in searched else None
        if figure is not None:
            yield depth, figure


def tight_at_worst(row: Row) -> tuple[TightAtWorst, ...] | None:
    """Return the gaps that are tight at worst, those tight as drawn first.

    None where tolerances were not looked at. What fell short before the search is left out.
    """
    if row.checked.scene.layout.settings.judge == "nominal":
        return None
    short = [_tight(row, one) for one in _short(row) if not _stood(row, one)]
    return tuple(sorted(short, key=lambda one: not one.as_drawn))


def short_before(row: Row) -> int:
    """Return how many gaps of a row are short of their margin that were so before the search."""
    return sum(_stood(row, one) for one in _short(row))


def _short(row: Row) -> Iterator[Finding]:
    """Yield what tells of a gap that is short of its margin, as drawn or at worst."""
    for one in row.checked.report.findings:
        if one.kind in (WORST_CASE, *MEASURED) and one.verdict is not Verdict.CLEAR:
            yield one


def _stood(row: Row, one: Finding) -> bool:
    return (one.kind, one.ids) in row.standing


def _tight(row: Row, one: Finding) -> TightAtWorst:
    figure = finding_figure(row.checked.report, one)
    assert one.measured_mm is not None
    assert one.required_mm is not None
    as_drawn = one.kind != WORST_CASE
    if figure is None:
        return TightAtWorst(one.title, one.required_mm - one.measured_mm, (), as_drawn)
    short_mm = one.required_mm - figure.worst.worst_mm
    return TightAtWorst(one.title, short_mm, taking(figure.worst), as_drawn)


def taking(gap: StackUp) -> tuple[str, ...]:
    """Return the dimensions that take the most of a gap: "duct, place along x 202 ± 0.5 (26%)"."""
    most = list(zip(gap.contributors, told_apart(gap.contributors), strict=True))[:MOST_TAKING]
    return tuple(f"{contributor_words(told)} ({gap.share(one):.0%})" for one, told in most)
