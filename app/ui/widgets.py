"""Small builders that the panels share."""

from __future__ import annotations

from PySide6.QtWidgets import QLabel, QWidget


def heading(text: str) -> QLabel:
    """Return the title of a panel."""
    label = QLabel(text)
    label.setObjectName("heading")
    return label


def group_label(text: str) -> QLabel:
    """Return the title of a group inside a panel."""
    label = QLabel(text)
    label.setObjectName("group")
    return label


def muted(text: str = "") -> QLabel:
    """Return a label in the quieter colour, wrapping."""
    label = QLabel(text)
    label.setObjectName("muted")
    label.setWordWrap(True)
    return label


def set_property(widget: QWidget, name: str, value: str) -> None:
    """Set a property that the style sheet asks for, and let the style look again."""
    if widget.property(name) == value:
        return
    widget.setProperty(name, value)
    widget.style().unpolish(widget)
    widget.style().polish(widget)
