"""Tips of the rows of a table: late, short, over its tabs, and only of what is not seen anyway."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, QPersistentModelIndex, QPoint, QRect, Qt, QTimer
from PySide6.QtGui import QFontMetrics, QMouseEvent
from PySide6.QtWidgets import QTabWidget, QToolTip, QTreeView, QWidget

WAIT_MS = 900
"""How long the pointer rests on a cell before its tip is shown."""

CLEAR_PX = 34
"""What Qt puts between a place and the tip shown at it, and the tip's own margins, at most."""

_ENDS = (
    QEvent.Type.Leave,
    QEvent.Type.Wheel,
    QEvent.Type.MouseButtonPress,
    QEvent.Type.Hide,
)


class RowTips(QObject):
    """Shows the tips of a table in the place of Qt, which puts them over the next rows.

    `is_told` says whether all that a tip would tell of a cell is seen in the table.
    """

    def __init__(self, view: QTreeView, is_told: Callable[[QPersistentModelIndex], bool]) -> None:
        super().__init__(view)
        self._view, self._is_told = view, is_told
        self._at = QPersistentModelIndex()
        self._timer = QTimer(self, singleShot=True, interval=WAIT_MS)
        self._timer.timeout.connect(self._show)
        view.viewport().installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Follow the pointer from cell to cell; Qt itself shows nothing."""
        if event.type() is QEvent.Type.ToolTip:
            return True
        if isinstance(event, QMouseEvent) and event.type() is QEvent.Type.MouseMove:
            index = QPersistentModelIndex(self._view.indexAt(event.position().toPoint()))
            if index != self._at:
                self._end()
                self._at = index
                self._timer.start()
        elif event.type() in _ENDS:
            self._end()
        return super().eventFilter(watched, event)

    def _end(self) -> None:
        self._timer.stop()
        self._at = QPersistentModelIndex()
        QToolTip.hideText()

    def _show(self) -> None:
        text = self._at.data(Qt.ItemDataRole.ToolTipRole) if self._at.isValid() else None
        if text and not self._is_told(self._at):
            view = self._view
            QToolTip.showText(self.place(text), text, view.viewport(), view.visualRect(self._at))

    def place(self, text: str) -> QPoint:
        """Return where on the screen a tip is shown so that it ends over the tabs, or the table."""
        high = QFontMetrics(QToolTip.font()).boundingRect(QRect(), 0, text).height()
        over: QWidget | None = self._view
        while over is not None and not isinstance(over, QTabWidget):
            over = over.parentWidget()
        top = (over or self._view).mapToGlobal(QPoint(0, 0)).y()
        return QPoint(self._view.mapToGlobal(QPoint(0, 0)).x(), top - high - CLEAR_PX)
