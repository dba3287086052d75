"""Paint a drawing with a QPainter whose transform takes drawing units to the device."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QColor, QPainter

from app.drawing.primitives import Drawing, Group, Primitive, Text
from app.paint.shapes import (
    brush_of,
    glyph_run,
    halo_pen,
    hatch_path,
    hatch_pen,
    outline_path,
    pen_of,
    text_brush,
    text_path,
)

if TYPE_CHECKING:
    from app.drawing.theme import Theme

MOST_STORED_PX = 32.0
"""Capitals higher than this are painted as outlines: Qt stores letters up to 64 dots an em, whose
capitals have 46, and paints none of a raw font beyond."""


def paint_drawing(drawing: Drawing, painter: QPainter, theme: Theme) -> None:
    """Paint all groups from the back to the front, on whatever ground the painter has."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for group in drawing.groups:
        paint_group(group, painter, theme)


def paint_group(group: Group, painter: QPainter, theme: Theme) -> None:
    """Paint the primitives of one group."""
    for primitive in group.primitives:
        paint_primitive(primitive, painter, theme)


def paint_primitive(primitive: Primitive, painter: QPainter, theme: Theme) -> None:
    """Paint one primitive: its tint, its hatch, then its outline."""
    if isinstance(primitive, Text):
        _paint_text(primitive, painter, theme)
        return
    path = outline_path(primitive)
    fill = getattr(primitive, "fill", None)
    painter.setBrush(brush_of(fill, theme))
    if fill is not None and fill.hatch != "none":
        painter.strokePath(hatch_path(primitive), hatch_pen(fill, theme))  # type: ignore[arg-type]
    painter.setPen(pen_of(primitive.stroke, theme))
    painter.drawPath(path)


def _paint_text(text: Text, painter: QPainter, theme: Theme) -> None:
    """Paint a text: level ones letter by letter from Qt's store of letters, others as outlines."""
    if text.halo:
        painter.strokePath(text_path(text), halo_pen(text, theme))
    to_device = painter.transform()
    even = not to_device.isRotating() and to_device.m11() == to_device.m22() > 0.0
    small = text.height_mm * to_device.m11() <= MOST_STORED_PX
    if text.angle_deg != 0.0 or not even or not small:
        painter.fillPath(text_path(text), text_brush(text, theme))
        return
    start, run = glyph_run(text, to_device.m11())
    painter.save()
    painter.resetTransform()
    painter.setPen(QColor(theme.stroke(text.ink)))
    painter.drawGlyphRun(to_device.map(start), run)
    painter.restore()
