"""What the panels say of tolerances: worst case, statistical limits, contributors."""

from __future__ import annotations

from app.ui.units import Unit, figure_text
from geometry.stackup.figure_words import beside_words, limits_words, share_words, taken_from_words
from geometry.stackup.stack_ups import COVERAGE, Figure


def tolerance_line(figure: Figure, unit: Unit) -> str:
    """Return worst case and statistical limits in one line."""
    return limits_words(figure, lambda mm: figure_text(mm, unit), unit.value)


def contributors_tip(figure: Figure) -> str:
    """Return all contributors in order of share, one a line, and what statistical means.

    Where what limits in the worst case stands beside the way as drawn, those that bring it in too.
    """
    of = taken_from_words(figure, lambda mm: f"{mm:.2f}", "mm")
    head, foot = f"Contributors by share{of}, in mm:", f"Statistical: {COVERAGE}."
    lines = [head, *share_words(figure)]
    if figure.beside is not None:
        told, *named = beside_words(figure, lambda mm: f"{mm:.2f}", "mm")
        lines += ["", f"{told[0].upper()}{told[1:]}, by share, in mm:", *named]
    return "\n".join([*lines, "", foot])
