"""Primitives of a group as strips: a path with its pen and its brush, as Qt paints them."""

from __future__ import annotations

from PySide6.QtCore import QRectF
from PySide6.QtGui import QBrush, QPainterPath, QPen

from app.drawing.primitives import Arc, Bounds, Fill, Group, Primitive, Stroke, Text
from app.drawing.theme import Theme
from app.paint.shapes import (
    brush_of,
    halo_pen,
    hatch_path,
    hatch_pen,
    outline_path,
    pen_of,
    text_brush,
    trace,
)

Run = tuple[Primitive, ...]
"""Primitives that are painted at a stroke."""

Strip = tuple[QPainterPath, QPen, QBrush]
"""A path to stroke and fill."""


class Looks:
    """The pens and brushes of one theme, each made once."""

    def __init__(self, theme: Theme) -> None:
        self.theme = theme
        self.no_pen, self.no_brush = pen_of(None, theme), brush_of(None, theme)
        self._pens: dict[Stroke | None, QPen] = {}
        self._brushes: dict[Fill | None, QBrush] = {}

    def pen(self, stroke: Stroke | None) -> QPen:
        """Return the pen of a stroke."""
        found = self._pens.get(stroke)
        if found is None:
            found = self._pens[stroke] = pen_of(stroke, self.theme)
        return found

    def brush(self, fill: Fill | None) -> QBrush:
        """Return the brush of a fill."""
        found = self._brushes.get(fill)
        if found is None:
            found = self._brushes[fill] = brush_of(fill, self.theme)
        return found


def runs_of(group: Group) -> list[Run]:
    """Return a group's primitives in runs; lines in a row with the same stroke make one run."""
    runs: list[Run] = []
    line: list[Primitive] = []
    stroke: Stroke | None = None
    for one in group.primitives:
        own = _line_of(one)
        if line and own is not None and (own is stroke or own == stroke):
            line.append(one)
            continue
        if line:
            runs.append(tuple(line))
        line, stroke = ([one], own) if own is not None else ([], None)
        if own is None:
            runs.append((one,))
    if line:
        runs.append(tuple(line))
    return runs


def _line_of(primitive: Primitive) -> Stroke | None:
    """Return the stroke of what is a line and nothing else."""
    if isinstance(primitive, Text):
        return None
    plain = isinstance(primitive, Arc) or primitive.fill is None
    return primitive.stroke if plain else None


def strips_of(run: Run, looks: Looks) -> list[Strip]:
    """Return the strips of a run: outline, then hatch; for text its halo, then its glyphs."""
    first = run[0]
    if isinstance(first, Text):
        path = outline_path(first)
        glyphs = (path, looks.no_pen, text_brush(first, looks.theme))
        halo = (path, halo_pen(first, looks.theme), looks.no_brush)
        return [halo, glyphs] if first.halo else [glyphs]
    path = QPainterPath()
    for one in run:
        trace(path, one)  # type: ignore[arg-type]
    fill = None if isinstance(first, Arc) else first.fill
    outline = (path, looks.pen(first.stroke), looks.brush(fill))
    if fill is None or fill.hatch == "none":
        return [outline]
    return [outline, (hatch_path(first), hatch_pen(fill, looks.theme), looks.no_brush)]  # type: ignore[arg-type]


def bounds_of(strip: Strip) -> Bounds:
    """Return the bounds of a strip with the width of its line (mm)."""
    path, pen, _ = strip
    half = pen.widthF() / 2
    x0, y0, x1, y1 = corners(path.controlPointRect())
    return x0 - half, y0 - half, x1 + half, y1 + half


def corners(rect: QRectF) -> Bounds:
    """Return a rectangle as numbers, of which there are hundreds in a move."""
    found: Bounds = rect.getCoords()  # type: ignore[assignment]  # the stub tells of no tuple
    return found
