"""Tells when a widget is on the screen, so that what nobody sees yet can wait until then."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QTimer, Signal
from PySide6.QtWidgets import QWidget

A_MOMENT_MS = 20
"""Until the frame is on the screen and what the user did meanwhile has been seen to."""


class FirstPaint(QObject):
    """`done` comes once, a moment after the paint event with which a widget is first seen."""

    done = Signal()

    def __init__(self, widget: QWidget) -> None:
        super().__init__(widget)
        widget.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Watch for the paint event; the widget gets it all the same."""
        if event.type() is QEvent.Type.Paint:
            watched.removeEventFilter(self)
            # All other widgets are painted in the same go; the moment begins when they are done.
            QTimer.singleShot(0, self, self._wait)
        return False

    def _wait(self) -> None:
        QTimer.singleShot(A_MOMENT_MS, self, self.done.emit)
