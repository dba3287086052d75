"""Hands the key for undo on from fields in which nothing has been typed."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QLineEdit, QWidget


class UndoPasses(QObject):
    """Watches a field: while it has nothing of its own to take back, undo is the document's.

    `typed` is the line of text that the field has, or is.
    """

    def __init__(self, field: QWidget, typed: QLineEdit) -> None:
        super().__init__(field)
        self._typed = typed
        field.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep the field from claiming the key that it has no use for."""
        if (
            event.type() is QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.matches(QKeySequence.StandardKey.Undo)
            and not self._typed.isUndoAvailable()
        ):
            event.ignore()
            return True
        return super().eventFilter(watched, event)
