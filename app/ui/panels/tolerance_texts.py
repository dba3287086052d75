"""What the panels say of tolerances: worst case, statistical limits, contributors."""

from __future__ import annotations

from app.ui.units import Unit, figure_text
from geometry.stackup.figure_words import limits_words, share_words
from geometry.stackup.sums import COVERAGE, Figure


def tolerance_line(figure: Figure, unit: Unit) -> str:
    """Return worst case and statistical limits in one line."""
    return limits_words(figure, lambda mm: figure_text(mm, unit), unit.value)


def contributors_tip(figure: Figure) -> str:
    """Return all contributors in order of share, one a line, and what statistical means."""
    head, foot = "Contributors by share, in mm:", f"Statistical: {COVERAGE}."
    return "\n".join([head, *share_words(figure), "", foot])
