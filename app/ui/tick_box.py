"""Boxes to tick whose mark nobody takes for another: a tick for yes, a dash for some of it.

The style sheet gives the box its border and ground; a mark in it would have to be a picture file
for each colour, so it is stroked here, in the colours of the palette and sharp at every scale.
"""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, Qt
from PySide6.QtGui import QGuiApplication, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import (
    QCheckBox,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionButton,
    QStyleOptionViewItem,
    QWidget,
)

_TICK = (QPointF(0.24, 0.52), QPointF(0.43, 0.71), QPointF(0.77, 0.29))
_DASH = (QPointF(0.25, 0.5), QPointF(0.75, 0.5))
"""Strokes in shares of the box, from its upper left corner."""
STROKE = 0.13
"""Width of a stroke, as a share of the box."""
RING_PX = 3.0
"""Radius of the corners of the ring round the box that the keyboard is at."""


class TickBox(QCheckBox):
    """A check box with a tick or a dash in it, and a ring round it where the keyboard is."""

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the box, and the mark into it."""
        super().paintEvent(event)
        option = QStyleOptionButton()
        self.initStyleOption(option)
        box = self.style().subElementRect(QStyle.SubElement.SE_CheckBoxIndicator, option, self)
        painter = QPainter(self)
        paint_mark(painter, QRectF(box), self.checkState(), self.palette(), on=self.isEnabled())
        if self.hasFocus():
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Highlight), 1.0))
            ring = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
            painter.drawRoundedRect(ring, RING_PX, RING_PX)


class TickDelegate(QStyledItemDelegate):
    """Paints rows of a list that can be ticked."""

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Paint a row, and the mark into its box."""
        super().paint(painter, option, index)
        row = QStyleOptionViewItem(option)
        self.initStyleOption(row, index)
        widget: QWidget = option.widget
        box = widget.style().subElementRect(
            QStyle.SubElement.SE_ItemViewItemCheckIndicator, row, widget
        )
        state = Qt.CheckState(index.data(Qt.ItemDataRole.CheckStateRole) or 0)
        # The style sheet gives rows that are marked other colours by changing the list's palette.
        palette = QGuiApplication.palette()
        paint_mark(painter, QRectF(box), state, palette, on=widget.isEnabled())


def paint_mark(
    painter: QPainter, box: QRectF, state: Qt.CheckState, palette: QPalette, *, on: bool
) -> None:
    """Stroke the mark of a state into a box; faint in one that cannot be changed (`on` false)."""
    if state is Qt.CheckState.Unchecked:
        return
    points = _TICK if state is Qt.CheckState.Checked else _DASH
    group = QPalette.ColorGroup.Active if on else QPalette.ColorGroup.Disabled
    role = QPalette.ColorRole.HighlightedText if on else QPalette.ColorRole.Text
    pen = QPen(palette.color(group, role), box.width() * STROKE)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(pen)
    painter.drawPolyline(
        [box.topLeft() + QPointF(p.x() * box.width(), p.y() * box.height()) for p in points]
    )
    painter.restore()
