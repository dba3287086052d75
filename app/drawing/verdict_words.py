"""Verdicts as inks, line types and words, so that none is told by colour alone."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from app.drawing.primitives import Hatch, Ink, LineType
from geometry.finding import Verdict
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.walls import OUTSIDE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from geometry.finding import Finding, Leftover, Report

    Write = Callable[[float], str]

VERDICT_INK = {
    Verdict.BLOCKED: Ink.BLOCKED,
    Verdict.TIGHT: Ink.TIGHT,
    Verdict.CLEAR: Ink.CLEAR,
}

VERDICT_HATCH: dict[Verdict, Hatch] = {
    Verdict.BLOCKED: "cross",
    Verdict.TIGHT: "diagonal",
    Verdict.CLEAR: "none",
}

VERDICT_LINE = {
    Verdict.BLOCKED: LineType.CONTINUOUS,
    Verdict.TIGHT: LineType.DASHED,
    Verdict.CLEAR: LineType.CONTINUOUS,
}


OVERLAP, MISSING, SIDEWAYS = "overlap", "missing", "overlap sideways"
UNSIGNED = (OVERLAP, MISSING, SIDEWAYS)
"""Words that tell a negative gap by themselves: room that is shared, and what a depth lacks."""


MM_PER_INCH = 25.4
"""Exact, by ISO 31-1 and the 1959 agreement."""


def figure_text(mm: float) -> str:
    """Return millimetres with one decimal and a true minus sign; "0.0" has no sign."""
    shown = round(mm, 1) + 0.0
    return f"{shown:.1f}".replace("-", "−")


def plain_figure(mm: float) -> str:
    """Return a nominal size as it stands on a drawing: no decimals that are nought."""
    return figure_text(mm).removesuffix(".0")


def inch_text(mm: float) -> str:
    """Return millimetres in inches, with three decimals and a true minus sign.

    >>> inch_text(25.4), inch_text(-2.0)
    ('1.000', '−0.079')
    """
    shown = round(mm / MM_PER_INCH, 3) + 0.0
    return f"{shown:.3f}".replace("-", "−")


SHORT_WORDS = {"outside_cavity": "too far", "leftover_depth": "too deep"}
"""What the titles of some kinds of findings call what is missing."""


def short_word(finding: Finding) -> str:
    """Return the word for what is missing where no room is shared, as in the finding's title."""
    return SHORT_WORDS.get(finding.kind, MISSING)


def fails_only_at_worst(finding: Finding) -> bool:
    """Whether a finding keeps its margin as drawn, and is told for its worst case alone."""
    mm, needed_mm = finding.measured_mm, finding.required_mm
    return (
        finding.verdict is Verdict.TIGHT
        and finding.tolerance is not None
        and mm is not None
        and needed_mm is not None
        and meets(mm, needed_mm)
    )


def note_text(finding: Finding, figure: Write = figure_text) -> str:
    """Return what stands beside a finding's balloon: its figure, as it is written, and a word.

    Where only the worst case fails that figure is told too: "2.0, 0.7 at worst".
    """
    mm = finding.measured_mm
    if mm is None or not math.isfinite(mm):
        return finding.verdict.value
    if fails_only_at_worst(finding) and finding.tolerance is not None:
        worst_mm = finding.tolerance.worst.worst_mm
        lost = f" {OVERLAP}" if worst_mm < -LENGTH_EPS_MM else ""
        return f"{figure(mm)}, {figure(abs(worst_mm))}{lost} at worst"
    if mm < -LENGTH_EPS_MM:
        return f"{figure(-mm)} {OVERLAP if finding.overlaps else short_word(finding)}"
    return f"{figure(mm)} {finding.verdict.value}"


LEFTOVER_KIND = "leftover_depth"


def leftover_verdict(mm: float, margin_mm: float) -> Verdict:
    """Return the verdict on a leftover depth: blocked when negative, tight under the margin."""
    if mm < -LENGTH_EPS_MM:
        return Verdict.BLOCKED
    return Verdict.CLEAR if meets(mm, margin_mm) else Verdict.TIGHT


class LeftoverWord(NamedTuple):
    """The word that stands behind a leftover depth, its ink, and the figure that is told (mm)."""

    word: str
    ink: Ink
    mm: float


def leftover_word(left: Leftover, report: Report, margin_mm: float) -> LeftoverWord:
    """Return what a leftover depth is called: by what a report says of it, else by its figure.

    What limits it without asking for a margin (the room for a plug, what lies outside a grille, a
    stated depth) is named instead where less than the margin is left: that is never called clear.
    """
    return leftover_word_by(left, report.findings, margin_mm)


def leftover_word_by(left: Leftover, told: Iterable[Finding], margin_mm: float) -> LeftoverWord:
    """Return the same by the findings on its item, where many are asked about.

    What is in its way sideways is told by that overlap. A depth that is short by another figure
    than any overlap is not one: it is missing.
    """
    if left.sideways_mm is not None:
        return LeftoverWord(SIDEWAYS, Ink.BLOCKED, -left.sideways_mm)
    verdict = leftover_verdict(left.mm, margin_mm)
    same = [finding for finding in told if tells_of(finding, left)]
    for finding in same:
        if finding.kind == LEFTOVER_KIND:
            unasked = finding.verdict is Verdict.CLEAR and not finding.required_mm
            if unasked and verdict is Verdict.TIGHT:
                return LeftoverWord(f"to {_without_margin(left)}", Ink.DIMENSION, left.mm)
            verdict = finding.verdict
            break
    if left.mm < -LENGTH_EPS_MM:
        word = OVERLAP if any(finding.overlaps for finding in same) else MISSING
        return LeftoverWord(word, VERDICT_INK[verdict], left.mm)
    return LeftoverWord(verdict.value, VERDICT_INK[verdict], left.mm)


def _is_nominal(left: Leftover) -> bool:
    return left.limited_name.startswith("stated depth")


def _without_margin(left: Leftover) -> str:
    if left.limited_by == OUTSIDE:
        return "outer face"
    return "stated depth" if _is_nominal(left) else "plug room"


def tells_of(finding: Finding, left: Leftover) -> bool:
    """Whether a finding has the same figure, for the same item, as a leftover depth."""
    return (
        left.item in finding.ids
        and finding.measured_mm is not None
        and abs(finding.measured_mm - left.mm) <= LENGTH_EPS_MM
    )


def leftover_text(told: LeftoverWord, figure: Write = figure_text) -> str:
    """Return a leftover depth as it stands on its dimension line: "8.0 clear", "4.2 overlap"."""
    return f"{figure(abs(told.mm) if told.word in UNSIGNED else told.mm)} {told.word}"


def numbered(report: Report) -> tuple[tuple[int, Finding], ...]:
    """Return the findings that have a balloon with its number: the blocked, then the tight."""
    shown = [f for f in report.findings if f.verdict is not Verdict.CLEAR]
    return tuple(enumerate(shown, start=1))
