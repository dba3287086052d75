"""What the note beside a part on its way says of the fit: the worst of all that the move shifts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import chain, compress
from operator import is_not

from app.drawing.drafting import CAP_PX
from app.drawing.fontmetrics import text_width_mm
from app.drawing.overlay import NOTE_MOST_PX, NoteLine
from app.drawing.primitives import Ink
from app.drawing.verdict_words import MISSING, UNSIGNED, VERDICT_INK, leftover_word, tells_of
from app.ui.units import Unit, length_text
from geometry.finding import Finding, Report, StackDepth, Verdict
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import Placed
from geometry.scene import Scene

LINE_CAPS = NOTE_MOST_PX / CAP_PX
"""Titles and reasons are broken into lines of so many capital heights, all that a note has."""

RANK = {VERDICT_INK[verdict]: rank for rank, verdict in enumerate(Verdict)}


def moved_ids(before: Scene, after: Scene, part_id: str) -> frozenset[str]:
    """Return the ids of what a move concerns: the part, what stands otherwise than before, stacks.

    All of the stack in which the part stands counts, and each stack of which an item has moved.
    """
    own = after.placed.get(part_id)
    placed = after.placed.values()
    # Told apart without a line for each: of hundreds few have moved.
    anew = compress(placed, map(is_not, placed, map(before.placed.get, after.placed)))
    moved = [one for one in anew if _stands_otherwise(before.placed.get(one.id), one)]
    stacks = {one.stack.id for one in (own, *moved) if one is not None and one.stack is not None}
    items = [after.items_of(stack) for stack in after.layout.stacks if stack.id in stacks]
    ids = {one.id for one in chain(moved, *items)}
    return frozenset(ids | stacks | {part_id})


def _stands_otherwise(was: Placed | None, one: Placed) -> bool:
    return was is None or was.pose != one.pose


def worst_of(report: Report, ids: frozenset[str]) -> tuple[Finding, ...]:
    """Return the findings of the worst verdict on any of `ids`, the greatest fault first.

    None where all is clear.
    """
    own = [f for f in report.findings if not ids.isdisjoint(f.ids)]
    for verdict in (Verdict.BLOCKED, Verdict.TIGHT):
        found = [f for f in own if f.verdict is verdict]
        if found:
            return tuple(sorted(found, key=_measured))
    return ()


def _measured(finding: Finding) -> float:
    return 0.0 if finding.measured_mm is None else finding.measured_mm


def fit_lines(
    report: Report,
    depth: StackDepth | None,
    worst: Sequence[Finding],
    margin_mm: float,
    unit: Unit,
) -> Iterator[NoteLine]:
    """Yield the lines on a move's fit, the worst first; beside a fault no depth is called clear.

    `depth` is that of the stack in which the part stands, None for a free part; `worst` are the
    findings of what moves, all of one verdict.
    """
    if depth is None:
        yield from _told(worst, "")
        return
    left = depth.least
    if left.sideways_mm is not None:
        # What is in the way is no matter of depth, and is told by what was found.
        yield from _told(worst, "")
        return
    word = leftover_word(left, report, margin_mm)
    # A finding with the same figure, item and verdict (of a fitting, say) is told by the leftover.
    others = [f for f in worst if not (tells_of(f, left) and VERDICT_INK[f.verdict] is word.ink)]
    ink = VERDICT_INK[others[0].verdict] if others else Ink.CLEAR
    figure, unsigned = length_text(abs(left.mm), unit), word.word in UNSIGNED
    figure += f" {_short_of(word.word) if unsigned else 'left'}{_over_cell(depth)}"
    worse = RANK[ink] - RANK.get(word.ink, RANK[Ink.CLEAR])
    # Depth that is missing by another figure than any fault stays while a slide mends the fault.
    if worse < 0 or (worse == 0 and others and word.word == MISSING):
        yield from _told(others, "")
        yield (figure, Ink.TEXT, False)
        return
    yield (figure if unsigned else f"{figure}, {word.word}", word.ink, True)
    if ink is word.ink:
        yield from _told(others, "also ")


def _short_of(word: str) -> str:
    return "of depth missing" if word == MISSING else word


def _over_cell(depth: StackDepth) -> str:
    """Return over which cell the least is left, where cells differ."""
    least = depth.least.mm
    alike = all(abs(left.mm - least) <= LENGTH_EPS_MM for left in depth.cells)
    return "" if alike else f" over cell {depth.least.cell}"


def plain_lines(text: str) -> Iterator[NoteLine]:
    """Yield a text in lines that a note has room for."""
    yield from ((line, Ink.TEXT, False) for line in _wrapped(text))


@lru_cache(maxsize=256)
def _wrapped(text: str) -> tuple[str, ...]:
    """Return a text in lines; from move to move most texts stay."""
    return tuple(short for line in text.splitlines() for short in _broken(line))


def _broken(line: str) -> Iterator[str]:
    """Yield a line in pieces that are as wide as a note is at most; a long word stays whole."""
    piece = ""
    for word in line.split():
        longer = f"{piece} {word}".lstrip()
        if piece and text_width_mm(longer, 1.0) > LINE_CAPS:
            yield piece
            longer = word
        piece = longer
    if piece:
        yield piece


def _told(findings: Sequence[Finding], also: str) -> Iterator[NoteLine]:
    """Yield how many findings there are, and the title of the first."""
    if findings:
        verdict, count = findings[0].verdict, len(findings)
        number = f"{count} " if count > 1 else ""
        yield (f"{also}{number}{verdict.value}", VERDICT_INK[verdict], not also)
        yield from plain_lines(findings[0].title)
