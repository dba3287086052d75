"""A figure with its tolerance in plain words; each reader writes numbers in a way of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.stack_ups import Figure, StackUp
from geometry.stackup.words import contributor_words, elsewhere_words

Number = Callable[[float], str]
"""Writes a length in mm as a number without its unit."""


def statistical_words(figure: Figure, number: Number) -> str:
    """Return the statistical limits: "statistical 10.9 to 13.1"."""
    return f"statistical {number(figure.likely_least_mm)} to {number(figure.likely_most_mm)}"


def limits_words(figure: Figure, number: Number, unit: str) -> str:
    """Return both: "worst case 10.0 mm at the bar, statistical 10.9 to 13.1 mm"."""
    at = elsewhere_words(figure, lambda mm: f"{number(mm)} {unit}")
    worst = f"worst case {number(figure.worst.worst_mm)} {unit}{at}"
    return f"{worst}, {statistical_words(figure, number)} {unit}"


def limits_sentence(figure: Figure, number: Number, unit: str) -> str:
    """Return worst case and statistical limits as a sentence."""
    words = limits_words(figure, number, unit)
    return f"{words[0].upper()}{words[1:]}."


def share_text(share: float) -> str:
    """Return a share in whole per cent; what is less than half of one is not called none.

    >>> share_text(0.264), share_text(0.004)
    ('26%', '<1%')
    """
    return "<1%" if 0.0 < share < 0.005 else f"{share:.0%}"


def taken_from_words(figure: Figure, number: Number, unit: str) -> str:
    """Return from what those that contribute take, " of the 75.0 mm there as drawn".

    Empty where that is the length that is told.
    """
    if not figure.leaves_other:
        return ""
    return f" of the {number(figure.worst.nominal_mm)} {unit} there as drawn"


def share_words(
    figure: Figure, most: int | None = None, names: Mapping[str, str] | None = None
) -> list[str]:
    """Return what contributes to the worst case by share: "26% post, place along x 202 ± 0.5".

    All of them, or those with the largest shares. `names` gives other names by owner, as the
    references of a sheet.
    """
    return _share_words(figure.worst, most, names or {})


def beside_words(figure: Figure, number: Number, unit: str, most: int | None = None) -> list[str]:
    """Return how what stands beside the way comes in, and by what share; empty where nothing does.

    "the 1.5 mm beside the way as drawn can be lost, 0.2 mm more than that", then a line each. For
    a bar of wall it is the overlap of the openings between which it comes.
    """
    beside = figure.beside
    if beside is None:
        return []
    more = f"{number(-beside.worst_mm)} {unit} more than that"
    where = "by which openings overlap" if beside.of_openings else "beside the way"
    told = f"the {number(beside.nominal_mm)} {unit} {where} as drawn can be lost, {more}"
    if beside.of_openings and beside.nominal_mm <= LENGTH_EPS_MM:
        told = f"openings that meet there can lose {number(-beside.worst_mm)} {unit} together"
    return [told, *_share_words(beside, most, {})]


def _share_words(gap: StackUp, most: int | None, names: Mapping[str, str]) -> list[str]:
    return [
        f"{share_text(gap.share(one))} "
        f"{contributor_words(replace(one, name=names.get(one.owner, one.name)))}"
        for one in gap.contributors[:most]
    ]
