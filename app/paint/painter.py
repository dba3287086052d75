"""Paint a drawing with a QPainter whose transform takes drawing units to the device."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QBrush, QColor, QPainter

from app.drawing.primitives import Drawing, Group, Primitive, Text
from app.paint.shapes import brush_of, halo_pen, hatch_path, hatch_pen, outline_path, pen_of

if TYPE_CHECKING:
    from app.drawing.theme import Theme


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
    path = outline_path(primitive)
    if isinstance(primitive, Text):
        if primitive.halo:
            painter.strokePath(path, halo_pen(primitive, theme))
        painter.fillPath(path, QBrush(QColor(theme.stroke(primitive.ink))))
        return
    fill = getattr(primitive, "fill", None)
    painter.setBrush(brush_of(fill, theme))
    if fill is not None and fill.hatch != "none":
        painter.strokePath(hatch_path(primitive), hatch_pen(fill, theme))  # type: ignore[arg-type]
    painter.setPen(pen_of(primitive.stroke, theme))
    painter.drawPath(path)
