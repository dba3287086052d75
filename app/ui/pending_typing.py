"""Takes over what is being typed, which a field else hands on when the keyboard leaves it."""

from __future__ import annotations

from PySide6.QtWidgets import QApplication, QLineEdit, QWidget


def take_typed(window: QWidget) -> None:
    """Let the field of a window that has the keyboard hand on what stands in it."""
    field = QApplication.focusWidget()
    if field is None or not window.isAncestorOf(field):
        return
    # Loaded here: the window is there sooner.
    from PySide6.QtWidgets import QAbstractSpinBox

    if isinstance(field, QAbstractSpinBox):
        field.interpretText()
    elif isinstance(field, QLineEdit) and field.isModified():
        field.editingFinished.emit()
