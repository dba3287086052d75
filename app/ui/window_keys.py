"""Keeps the keys of the window's commands from being taken by fields of text.

On some systems a field takes Ctrl+E for the end of its line, Ctrl+K and Ctrl+U for what deletes
it; a command that has such a key in the menu would then do nothing while one types.
"""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QAction, QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QTextEdit,
    QWidget,
)

TEXT_WIDGETS = (QLineEdit, QAbstractSpinBox, QComboBox, QTextEdit, QPlainTextEdit)
TEXT_KEYS = (
    QKeySequence.StandardKey.Undo,
    QKeySequence.StandardKey.Redo,
    QKeySequence.StandardKey.Cut,
    QKeySequence.StandardKey.Copy,
    QKeySequence.StandardKey.Paste,
    QKeySequence.StandardKey.SelectAll,
)
"""What a field keeps, for it does there what the menu does elsewhere."""


class WindowKeys(QObject):
    """Watches the fields of a window that have had the keyboard, and no other widget."""

    def __init__(self, window: QWidget, actions: Iterable[QAction]) -> None:
        super().__init__(window)
        self._window = window
        self._keys = {
            key
            for action in actions
            if action.shortcutContext() is Qt.ShortcutContext.WindowShortcut
            for key in action.shortcuts()
            if _with_control(key)
        } - {key for kind in TEXT_KEYS for key in QKeySequence.keyBindings(kind)}
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        app.focusChanged.connect(self._follow)
        self._follow(None, app.focusWidget())

    def _follow(self, _: QWidget | None, now: QWidget | None) -> None:
        if now is not None and isinstance(now, TEXT_WIDGETS) and self._window.isAncestorOf(now):
            # Put in again it comes first, before what a field has of its own.
            now.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Leave the key of a command to the command."""
        if (
            event.type() is QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and QKeySequence(event.keyCombination()) in self._keys
        ):
            event.ignore()
            return True
        return super().eventFilter(watched, event)


def _with_control(key: QKeySequence) -> bool:
    return "Ctrl+" in key.toString(QKeySequence.SequenceFormat.PortableText)
