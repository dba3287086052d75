"""Keys while something is dragged with drag and drop, when Qt keeps them to itself."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent


class DragKeys(QObject):
    """Calls `turn` when R is pressed, from `watch` until `release`."""

    def __init__(self, turn: Callable[[], None], parent: QObject) -> None:
        super().__init__(parent)
        self._turn = turn

    def watch(self) -> None:
        """Look at every key of the program before anything else does."""
        app = QCoreApplication.instance()
        assert app is not None
        app.installEventFilter(self)

    def release(self) -> None:
        """Leave the keys alone again."""
        app = QCoreApplication.instance()
        if app is not None:
            app.removeEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take R."""
        pressed = event.type() is QEvent.Type.KeyPress
        if pressed and isinstance(event, QKeyEvent) and event.key() == Qt.Key.Key_R:
            self._turn()
            return True
        return super().eventFilter(watched, event)
