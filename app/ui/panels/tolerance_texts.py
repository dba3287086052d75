"""What the panels say of tolerances: worst case, statistical limits, contributors."""

from __future__ import annotations

from app.ui.units import Unit, figure_text, length_text
from geometry.stackup.sums import COVERAGE, Figure
from geometry.stackup.words import contributor_words, elsewhere_words


def tolerance_line(figure: Figure, unit: Unit) -> str:
    """Return worst case and statistical limits in one line."""
    worst = length_text(figure.worst.worst_mm, unit)
    at = elsewhere_words(figure, lambda mm: length_text(mm, unit))
    least = figure_text(figure.likely_least_mm, unit)
    most = length_text(figure.likely_most_mm, unit)
    return f"worst case {worst}{at}; statistical {least} to {most}"


def contributors_tip(figure: Figure) -> str:
    """Return all contributors in order of share, one a line, and what statistical means."""
    lines = [
        f"{figure.worst.share(one):4.0%}  {contributor_words(one)}"
        for one in figure.worst.contributors
    ]
    return "\n".join(["Contributors by share, in mm:", *lines, "", f"Statistical: {COVERAGE}."])
