"""The stack-up of a figure as it is printed in JSON."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from catalog.model import Model
from geometry.stackup.stack_ups import COVERAGE, Contributor, Figure, StackUp
from geometry.stackup.words import dimension_words


class ContributorEntry(Model):
    """One dimension with a share in a figure; `share` is of the whole range, 0 to 1."""

    owner: str
    name: str
    path: Annotated[str, Field(description="field of the part, enclosure or layout, or screw_play")]
    what: str
    nominal_mm: float
    plus_mm: float | None
    minus_mm: float | None
    origin: Literal["measured", "drawing", "assumed", "unknown"]
    general: Annotated[bool, Field(description="whether ISO 2768-1 class m stands in")]
    at_plus_mm: Annotated[float, Field(description="change of the figure at the upper limit")]
    at_minus_mm: Annotated[float, Field(description="change of the figure at the lower limit")]
    mean_mm: Annotated[float, Field(description="mean change of the figure")]
    spread_mm: Annotated[float, Field(description="three standard deviations of that change")]
    share: float
    uniform: Annotated[bool, Field(description="as likely anywhere between its limits, not normal")]


class BesideEntry(Model):
    """The gap across the way to what stands beside it as drawn, which may be lost."""

    nominal_mm: float
    worst_mm: float
    contributors: tuple[ContributorEntry, ...]


class ToleranceEntry(Model):
    """Stack-up of a figure: worst case, and root sum square at three standard deviations.

    `worst_at` names what limits in the worst case, `worst_of` what of the part it limits where that
    is not what is told as drawn. The contributors, the largest first, take `worst_nominal_mm`, what
    is left there as drawn, down to `worst_mm`.
    Where that stands beside the way as drawn, `beside` tells how far, and how it may come in.
    """

    nominal_mm: float
    worst_mm: float
    most_mm: float
    likely_least_mm: float
    likely_most_mm: float
    coverage: str
    worst_at: str
    worst_of: Annotated[str | None, Field(description="null where it is what is told as drawn")]
    worst_nominal_mm: float
    beside_mm: Annotated[
        float | None,
        Field(
            description="how far that stands beside the way as drawn, mm, or how far openings "
            "overlap between which it comes; null where in it"
        ),
    ]
    beside: Annotated[BesideEntry | None, Field(description="the same with what contributes to it")]
    contributors: tuple[ContributorEntry, ...]


Tolerance = Annotated[
    ToleranceEntry | None, Field(description="null where the figure has no stack-up")
]


def tolerance_entry(figure: Figure | None) -> ToleranceEntry | None:
    """Return the stack-up of a figure as it is printed; None without one."""
    if figure is None:
        return None
    worst, drawn, beside = figure.worst, figure.nominal, figure.beside
    return ToleranceEntry(
        nominal_mm=drawn.nominal_mm + 0.0,
        worst_mm=worst.worst_mm,
        most_mm=figure.most_mm,
        likely_least_mm=figure.likely_least_mm,
        likely_most_mm=figure.likely_most_mm,
        coverage=COVERAGE,
        worst_at=figure.worst_name,
        worst_of=figure.worst_of or None,
        worst_nominal_mm=worst.nominal_mm + 0.0,
        beside_mm=None if beside is None else beside.nominal_mm,
        beside=None if beside is None else _beside(beside),
        contributors=_contributors(worst),
    )


def _beside(gap: StackUp) -> BesideEntry:
    return BesideEntry(
        nominal_mm=gap.nominal_mm, worst_mm=gap.worst_mm, contributors=_contributors(gap)
    )


def _contributors(gap: StackUp) -> tuple[ContributorEntry, ...]:
    return tuple(_contributor(one, gap.share(one)) for one in gap.contributors)


def _contributor(one: Contributor, share: float) -> ContributorEntry:
    return ContributorEntry(
        owner=one.owner,
        name=one.name,
        path=one.path,
        what=dimension_words(one.path),
        nominal_mm=one.dimension.nominal_mm,
        plus_mm=one.dimension.plus_mm,
        minus_mm=one.dimension.minus_mm,
        origin=one.dimension.origin,
        general=one.dimension.general,
        at_plus_mm=one.at_plus_mm,
        at_minus_mm=one.at_minus_mm,
        mean_mm=one.mean_mm,
        spread_mm=one.spread_mm,
        share=share,
        uniform=one.uniform,
    )
