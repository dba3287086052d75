"""Small builders that the panels share."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QComboBox, QLabel, QLayout, QSizePolicy, QWidget


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
    label = wrapping(text)
    label.setObjectName("muted")
    return label


class CalmCombo(QComboBox):
    """A field that leaves the wheel to the panel round it until it has the keyboard."""

    def __init__(self) -> None:
        super().__init__()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Go through the entries only with the keyboard in the field."""
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()


def combo(name: str, tip: str = "") -> QComboBox:
    """Return a field to choose from that may be narrower than its longest entry."""
    box = CalmCombo()
    box.setAccessibleName(name)
    box.setToolTip(tip)
    box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    box.setMinimumContentsLength(6)
    return box


def wrapping(text: str = "") -> QLabel:
    """Return a label that takes as many lines as its width asks for, and never asks for width."""
    label = QLabel(text)
    label.setWordWrap(True)
    policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    policy.setHeightForWidth(True)
    label.setSizePolicy(policy)
    return label


def clear_layout(layout: QLayout) -> None:
    """Take all widgets out of a layout, and out of sight at once."""
    while layout.count():
        taken = layout.takeAt(0)
        widget = taken.widget() if taken is not None else None
        if widget is not None:
            widget.hide()
            widget.deleteLater()


def set_property(widget: QWidget, name: str, value: str) -> None:
    """Set a property that the style sheet asks for, and let the style look again."""
    if widget.property(name) == value:
        return
    widget.setProperty(name, value)
    widget.style().unpolish(widget)
    widget.style().polish(widget)


def follow_in_tab_order(first: QWidget, panel: QWidget) -> None:
    """Let the keyboard go from one widget on through a panel that was put in later."""
    chain: list[QWidget] = []
    one = panel.nextInFocusChain()
    while one is not None and one is not panel:
        if panel.isAncestorOf(one) and one.focusPolicy() & Qt.FocusPolicy.TabFocus:
            chain.append(one)
        one = one.nextInFocusChain()
    for after in chain:
        QWidget.setTabOrder(first, after)
        first = after
