"""A widget that shows one drawing, fitted into it: a preview, a stack to scale."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from app.drawing.primitives import Drawing
from app.paint.painter import paint_drawing
from app.ui.skin import Skin

FIT_ROUNDS = 3
"""Lettering keeps its size in pixels, so how far a drawing reaches is found by trying."""


class DrawingView(QWidget):
    """Shows what `draw` makes for the scale at which it fits (it is given mm per pixel)."""

    def __init__(self, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._skin = skin
        self._draw: Callable[[float], Drawing] | None = None
        self._margin_px = 8
        skin.changed.connect(self.update)
        self.setMinimumSize(120, 60)

    def sizeHint(self) -> QSize:
        """Return a size that suits a preview."""
        return QSize(320, 240)

    def set_drawing(self, draw: Callable[[float], Drawing] | None) -> None:
        """Show another drawing; None shows nothing."""
        self._draw = draw
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the drawing in the middle, as large as it goes."""
        painter = QPainter(self)
        painter.fillRect(event.rect(), QColor(self._skin.theme.paper))
        if self._draw is None:
            return
        mm_per_px = 1.0
        room_w = max(1, self.width() - 2 * self._margin_px)
        room_h = max(1, self.height() - 2 * self._margin_px)
        for _ in range(FIT_ROUNDS):
            drawing = self._draw(mm_per_px)
            x0, y0, x1, y1 = drawing.bounds
            mm_per_px = max((x1 - x0) / room_w, (y1 - y0) / room_h)
        drawing = self._draw(mm_per_px)
        painter.translate(self.width() / 2, self.height() / 2)
        painter.scale(1 / mm_per_px, 1 / mm_per_px)
        painter.translate(-(x0 + x1) / 2, -(y0 + y1) / 2)
        paint_drawing(drawing, painter, self._skin.theme)
