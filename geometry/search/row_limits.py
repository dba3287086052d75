"""What tolerances leave of a row: its least depth in place, and the gaps that are tight at worst.

The same figures by the same code as in the check of the row once it is applied. They are worked
out for rows that are told, not for all that fits.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

from geometry.checks.rules.worst_case import KIND as WORST_CASE
from geometry.checks.tolerated import stack_figure
from geometry.finding import Finding, StackDepth
from geometry.search.answers import Row
from geometry.stackup.sums import Figure, StackUp
from geometry.stackup.words import contributor_words
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
    where in it. `taking` names the dimensions that take the most there, `bringing` those that bring
    it into the way, the largest share first.
    """

    drawn_mm: float = inf
    worst_mm: float = inf
    likely_mm: float = inf
    zone: str = ""
    limit: str = ""
    beside_mm: float | None = None
    taking: tuple[str, ...] = ()
    bringing: tuple[str, ...] = ()


@dataclass(frozen=True)
class TightAtWorst:
    """A gap that keeps its margin as drawn, but not at worst: in words, and what takes the most."""

    title: str
    short_mm: float
    taking: tuple[str, ...]


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
    """Return the gaps that are tight at worst only; None where tolerances were not looked at."""
    if row.checked.scene.layout.settings.judge == "nominal":
        return None
    report = row.checked.report
    return tuple(
        _tight(one)
        for one in report.findings
        if one.kind == WORST_CASE and (one.kind, one.ids) not in row.standing
    )


def _tight(one: Finding) -> TightAtWorst:
    assert one.tolerance is not None, "it was found by its stack-up"
    assert one.required_mm is not None
    short_mm = one.required_mm - one.tolerance.worst.worst_mm
    return TightAtWorst(one.title, short_mm, taking(one.tolerance.worst))


def taking(gap: StackUp) -> tuple[str, ...]:
    """Return the dimensions that take the most of a gap: "duct, place along x 202 ± 0.5 (26%)"."""
    return tuple(
        f"{contributor_words(one)} ({gap.share(one):.0%})" for one in gap.contributors[:MOST_TAKING]
    )
