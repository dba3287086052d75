"""What lines and signs in the views mean: a sample of each with its words."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from app.drawing.drafting import Drafting
from app.drawing.primitives import XY, Circle, Fill, Ink, LineType, Path, Primitive, Text
from app.drawing.verdict_words import VERDICT_HATCH, VERDICT_INK
from app.sheet.flow import Block, Piece
from app.sheet.lettering import wrapped
from app.sheet.table import LABEL_MM, LEADING, ring_stroke, title_piece
from geometry.finding import Verdict

LEAST_COLUMN_MM = 56.0
"""Wide enough for the longest words beside their sample."""

SAMPLE_MM = 11.0
_TEXT_MM = 14.0
_ROW_MM = 4.6
_SIGN_MM = 1.4
"""Half the height of a sample."""

ON_PAPER = Drafting.on_paper(1.0)

Sample = Iterator[Primitive]


def legend_block(width_mm: float) -> Block:
    """Lay the legend out in columns."""
    title = "Lines and signs in the views"
    count = max(1, int(width_mm / LEAST_COLUMN_MM))
    rows = tuple(
        _row(ENTRIES[k : k + count], width_mm / count) for k in range(0, len(ENTRIES), count)
    )
    return Block(
        "legend",
        title_piece(title, width_mm),
        title_piece(f"{title} (continued)", width_mm),
        rows,
        least_rows=len(rows),
    )


def _row(entries: tuple[tuple[Callable[[float], Sample], str], ...], width_mm: float) -> Piece:
    parts: list[Primitive] = []
    height = _ROW_MM
    for k, (sample, words) in enumerate(entries):
        left = k * width_mm
        lines = wrapped(words, width_mm - _TEXT_MM, LABEL_MM)
        parts.extend(sample(left))
        for n, line in enumerate(lines):
            base = (_ROW_MM + LABEL_MM) / 2 + n * LABEL_MM * LEADING
            parts.append(Text((left + _TEXT_MM, base), line, LABEL_MM))
            height = max(height, base + (_ROW_MM - LABEL_MM) / 2)
    return Piece(height, tuple(parts))


def _line(left: float, ink: Ink, line_type: LineType) -> Sample:
    y = _ROW_MM / 2
    yield Path(((left, y), (left + SAMPLE_MM, y)), ON_PAPER.narrow(ink, line_type))


def _hidden(left: float) -> Sample:
    yield from _line(left, Ink.HIDDEN, LineType.DASHED)


def _kept_free(left: float) -> Sample:
    yield from _line(left, Ink.KEEP_OUT, LineType.DOUBLE_CHAIN)


def _zone(left: float) -> Sample:
    yield from _line(left, Ink.ZONE, LineType.CONTINUOUS)


def _air(left: float) -> Sample:
    """Yield the marks for air: along the page, to the viewer, away from the viewer."""
    y, line = _ROW_MM / 2, ON_PAPER.narrow(Ink.FAN)
    tip = (left + 4.5, y)
    yield Path(((left, y), tip), line)
    yield Path(((tip[0] - 1.6, y - 0.7), tip, (tip[0] - 1.6, y + 0.7)), line)
    to, away, r = (left + 6.9, y), (left + 9.9, y), 1.1
    for centre in (to, away):
        yield Circle(centre, r, line, Fill(Ink.PAPER))
    yield Circle(to, r * 0.36, None, Fill(Ink.FAN, solid=True))
    d = r * 0.7
    for turn in (1.0, -1.0):
        yield Path(((away[0] - d, y - turn * d), (away[0] + d, y + turn * d)), line)


def _verdict(verdict: Verdict) -> Callable[[float], Sample]:
    def sample(left: float) -> Sample:
        ink, y = VERDICT_INK[verdict], _ROW_MM / 2
        box = _rectangle((left, y - _SIGN_MM), (left + 6.0, y + _SIGN_MM))
        hatch = ON_PAPER.hatch(ink, VERDICT_HATCH[verdict], 0.6)
        yield Path(box, ON_PAPER.narrow(ink), closed=True, fill=hatch)
        ring = ring_stroke(ink, heavy=verdict is Verdict.BLOCKED)
        yield Circle((left + 9.0, y), 1.6, ring, Fill(Ink.PAPER))

    return sample


def _rectangle(least: XY, most: XY) -> tuple[XY, ...]:
    return (least, (most[0], least[1]), most, (least[0], most[1]))


ENTRIES: tuple[tuple[Callable[[float], Sample], str], ...] = (
    (_hidden, "hidden edge"),
    (_kept_free, "kept free: plugs, cables, hands"),
    (_zone, "mount zone (dotted: from outside)"),
    (_air, "air: along, to the viewer, away"),
    (_verdict(Verdict.BLOCKED), "blocked, and its balloon"),
    (_verdict(Verdict.TIGHT), "tight, and its balloon"),
)
"""Samples with their words, in reading order."""
