"""Rulers along the board, in enclosure coordinates of the view that lies beside each stretch."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPixmap, QResizeEvent
from PySide6.QtWidgets import QWidget

from app.drawing.axes import AxisSpan
from app.paint.shapes import plain_brush
from app.ui.style import Chrome
from app.ui.units import Unit, tick_steps

RULER_PX = 22


class Ruler(QWidget):
    """One ruler; it shows where the pointer stands as well."""

    def __init__(self, orientation: Qt.Orientation, chrome: Chrome) -> None:
        super().__init__()
        self._flat = orientation is Qt.Orientation.Horizontal
        self._chrome = chrome
        self._unit = Unit.MM
        self._spans: tuple[AxisSpan, ...] = ()
        self._first_mm = 0.0
        self._mm_per_px = 1.0
        self._pointer_mm: float | None = None
        self._ticks: QPixmap | None = None
        """All but the pointer's mark, as it was painted last."""
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        if self._flat:
            self.setFixedHeight(RULER_PX)
        else:
            self.setFixedWidth(RULER_PX)
        self.setAccessibleName("Ruler along the board" if self._flat else "Ruler down the board")

    def sizeHint(self) -> QSize:
        """Return the least size that a ruler wants."""
        return QSize(RULER_PX, RULER_PX)

    def set_look(self, chrome: Chrome, unit: Unit) -> None:
        """Take other colours, or another unit."""
        self._chrome, self._unit = chrome, unit
        self._repaint()

    def set_spans(self, spans: Sequence[AxisSpan]) -> None:
        """Take the stretches of a new board."""
        self._spans = tuple(spans)
        self._repaint()

    def set_window(self, first_mm: float, mm_per_px: float) -> None:
        """Take which part of the board is seen: its first millimetre and the scale."""
        if (first_mm, mm_per_px) != (self._first_mm, self._mm_per_px):
            self._first_mm, self._mm_per_px = first_mm, mm_per_px
            self._repaint()

    def set_pointer(self, board_mm: float | None) -> None:
        """Show where the pointer stands; None when it has left the board."""
        if board_mm == self._pointer_mm:
            return
        for at_mm in (self._pointer_mm, board_mm):
            if at_mm is not None:
                at = int((at_mm - self._first_mm) / self._mm_per_px)
                strip = (at - 2, 0, 5, RULER_PX) if self._flat else (0, at - 2, RULER_PX, 5)
                self.update(*strip)
        self._pointer_mm = board_mm

    def _repaint(self) -> None:
        """Paint all of it anew; a move of the pointer only repaints what its mark covers."""
        self._ticks = None
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Paint all of it anew."""
        super().resizeEvent(event)
        self._repaint()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Paint ticks and figures as they were painted last, then the pointer's mark."""
        ratio = self.devicePixelRatioF()
        if self._ticks is None or self._ticks.devicePixelRatio() != ratio:
            self._ticks = QPixmap(self.size() * ratio)
            self._ticks.setDevicePixelRatio(ratio)
            self._paint_ticks(self._ticks)
        painter = QPainter(self)
        painter.drawPixmap(0, 0, self._ticks)
        if self._pointer_mm is not None:
            at = (self._pointer_mm - self._first_mm) / self._mm_per_px
            painter.setPen(QPen(QColor(self._chrome.accent), 2.0))
            painter.drawLine(self._line(at, 2, at, RULER_PX))

    def _paint_ticks(self, onto: QPixmap) -> None:
        onto.fill(QColor(self._chrome.panel))
        painter = QPainter(onto)
        painter.setFont(self.font())
        length = self.width() if self._flat else self.height()
        last_mm = self._first_mm + length * self._mm_per_px
        for span in self._spans:
            self._paint_span(painter, span, last_mm)
        painter.setPen(QColor(self._chrome.border))
        edge = RULER_PX - 0.5
        painter.drawLine(self._line(0, edge, length, edge))
        painter.end()

    def _line(self, x0: float, y0: float, x1: float, y1: float) -> QLineF:
        return QLineF(x0, y0, x1, y1) if self._flat else QLineF(y0, x0, y1, x1)

    def _paint_span(self, painter: QPainter, span: AxisSpan, last_mm: float) -> None:
        steps = tick_steps(self._mm_per_px, self._unit)
        small = steps.label_mm / steps.parts
        painter.setPen(QColor(self._chrome.muted))
        font = painter.font()
        font.setPixelSize(10)
        painter.setFont(font)
        for count, place in span.lines(self._first_mm, last_mm, small):
            at = (place - self._first_mm) / self._mm_per_px
            labelled = count % steps.parts == 0
            top = RULER_PX - (9 if labelled else 5 if count % steps.parts * 2 == steps.parts else 3)
            painter.drawLine(self._line(at, top, at, RULER_PX))
            if labelled:
                figure = count * small / self._unit.mm
                text = f"{figure:g}".replace("-", "−")
                self._paint_label(painter, at, text)
        self._paint_axis_name(painter, span, last_mm)

    def _paint_label(self, painter: QPainter, at: float, text: str) -> None:
        if self._flat:
            painter.drawText(QPointF(at + 3, 10), text)
            return
        painter.save()
        painter.translate(10, at - 3)
        painter.rotate(-90)
        painter.drawText(QPointF(0, 0), text)
        painter.restore()

    def _paint_axis_name(self, painter: QPainter, span: AxisSpan, last_mm: float) -> None:
        low, high = max(self._first_mm, span.start_mm), min(last_mm, span.end_mm)
        if (high - low) / self._mm_per_px < 40:
            return
        at = (high - self._first_mm) / self._mm_per_px - 14
        box = QRectF(at, 0, 14, 12) if self._flat else QRectF(0, at, 12, 14)
        painter.save()
        painter.setBackground(plain_brush(self._chrome.panel))
        painter.eraseRect(box)
        font = painter.font()
        font.setBold(True)
        painter.setFont(font)
        painter.setPen(QColor(self._chrome.text))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, span.axis)
        painter.restore()
