"""Blocks that are not read from the layout: cautions, as-built room, sign-off."""

from __future__ import annotations

import math
from collections.abc import Sequence

from app.drawing.primitives import XY, Ink, Path, Primitive, Stroke, Text
from app.sheet.cautions import CAUTIONS, Caution
from app.sheet.flow import Block, Piece
from app.sheet.lettering import wrapped
from app.sheet.table import BODY_MM, LABEL_MM, LEADING, title_piece

_WORD_ROOM_MM = 27.0
_CAUTION_MM = 1.8
_BRIEF_ROW_MM = 4.4
AS_BUILT_ROW_MM = 7.0
SIGN_OFF_MM = 13.0


def cautions_block(width_mm: float, cautions: Sequence[Caution] = CAUTIONS) -> Block:
    """Lay the cautions out: signal word, with the alert triangle where people may be hurt."""
    return Block(
        "cautions",
        title_piece("Cautions", width_mm),
        title_piece("Cautions (continued)", width_mm),
        tuple(_caution_piece(one, width_mm) for one in cautions),
        least_rows=len(cautions),
    )


def brief_cautions_block(width_mm: float, cautions: Sequence[Caution], sheet: int) -> Block:
    """Lay the cautions out in a line each warning and one for the rest, for a sheet full of views.

    `sheet`, counted from 1, is where they stand in full.
    """
    told = f"Cautions, read first; in full on sheet {sheet}"
    head = Piece(_BRIEF_ROW_MM, (Text((0.4, BODY_MM), told, BODY_MM, bold=True),))
    rows = [
        _brief_piece(one.word, f"{one.topic}. {one.brief}", width_mm)
        for one in cautions
        if one.word == "WARNING"
    ]
    rest = "; ".join(f"{c.topic}: {c.brief}" for c in cautions if c.word == "CAUTION")
    rows.append(_brief_piece("CAUTION", f"{rest}.", width_mm))
    return Block("cautions-brief", head, head, tuple(rows), least_rows=len(rows))


def _brief_piece(word: str, text: str, width_mm: float) -> Piece:
    step = _CAUTION_MM * LEADING
    lines = wrapped(text, width_mm - _WORD_ROOM_MM, _CAUTION_MM)
    parts: list[Primitive] = [*_alert_triangle((0.4, BODY_MM + 0.3), 3.0)]
    parts.append(Text((4.8, BODY_MM), word, BODY_MM, bold=True))
    for k, line in enumerate(lines):
        parts.append(Text((_WORD_ROOM_MM, BODY_MM + k * step), line, _CAUTION_MM))
    return Piece(_BRIEF_ROW_MM + (len(lines) - 1) * step, tuple(parts))


def _caution_piece(caution: Caution, width_mm: float) -> Piece:
    step = _CAUTION_MM * LEADING
    lines = wrapped(f"{caution.topic}. {caution.text}", width_mm - _WORD_ROOM_MM, _CAUTION_MM)
    parts: list[Primitive] = []
    base = 1.2 + BODY_MM
    if caution.word != "NOTICE":
        parts.extend(_alert_triangle((0.4, base + 0.3), 3.2))
    parts.append(Text((4.8, base), caution.word, BODY_MM, bold=True))
    for k, line in enumerate(lines):
        parts.append(Text((_WORD_ROOM_MM, base + k * step), line, _CAUTION_MM))
    return Piece(base + (len(lines) - 1) * step + 1.4, tuple(parts))


def _alert_triangle(foot: XY, side: float) -> list[Primitive]:
    """Return the safety alert symbol; a notice has none (ANSI Z535.4)."""
    x, y = foot
    height = side * math.sqrt(3) / 2
    stroke = Stroke(Ink.OUTLINE, width_mm=0.35)
    return [
        Path(((x, y), (x + side, y), (x + side / 2, y - height)), stroke, closed=True),
        Path(((x + side / 2, y - 0.72 * height), (x + side / 2, y - 0.34 * height)), stroke),
        Path(((x + side / 2, y - 0.22 * height), (x + side / 2, y - 0.10 * height)), stroke),
    ]


_AS_BUILT = (
    ("No. or item", 26.0),
    ("Drawn", 24.0),
    ("As built", 24.0),
    ("Difference, remark", 102.0),
)
_SIGN_OFF = (("As built by", 64.0), ("Date", 36.0), ("Signature", 76.0))


def as_built_block(width_mm: float, rows: int) -> Block:
    """Lay out ruled room for what was built otherwise than drawn, and the sign-off under it."""
    widths = _spread(_AS_BUILT, width_mm)
    title = title_piece("As-built differences (mm)", width_mm)
    heading = [*title.primitives]
    x = 0.0
    for (label, _), width in zip(_AS_BUILT, widths, strict=True):
        heading.append(Text((x + 1.0, title.height_mm + LABEL_MM), label, LABEL_MM, Ink.MUTED))
        x += width
    head = Piece(title.height_mm + LABEL_MM + 1.4, tuple(heading))
    ruled = [_boxes(widths, AS_BUILT_ROW_MM) for _ in range(rows)]
    return Block("as-built", head, head, (*ruled, _sign_off(width_mm)), least_rows=rows + 1)


def _sign_off(width_mm: float) -> Piece:
    widths = _spread(_SIGN_OFF, width_mm)
    gap = 4.0
    boxes = _boxes(widths, SIGN_OFF_MM, top=gap, width_mm=0.35)
    labels: list[Primitive] = []
    x = 0.0
    for (label, _), width in zip(_SIGN_OFF, widths, strict=True):
        labels.append(Text((x + 1.0, gap + 1.2), label, LABEL_MM, Ink.MUTED, up="top"))
        x += width
    return Piece(gap + SIGN_OFF_MM + 0.5, (*boxes.primitives, *labels))


def _spread(columns: Sequence[tuple[str, float]], width_mm: float) -> list[float]:
    total = sum(share for _, share in columns)
    return [share / total * width_mm for _, share in columns]


def _boxes(
    widths: Sequence[float], height: float, *, top: float = 0.0, width_mm: float = 0.18
) -> Piece:
    stroke = Stroke(Ink.OUTLINE, width_mm=width_mm)
    parts = []
    x = 0.0
    for width in widths:
        corners = ((x, top), (x + width, top), (x + width, top + height), (x, top + height))
        parts.append(Path(corners, stroke, closed=True))
        x += width
    return Piece(top + height, tuple(parts))
