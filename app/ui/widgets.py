"""Small builders that the panels share."""

from __future__ import annotations

import re

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPaintEvent, QWheelEvent
from PySide6.QtWidgets import (
    QComboBox,
    QLabel,
    QLayout,
    QSizePolicy,
    QStyle,
    QStyleOptionComboBox,
    QStylePainter,
    QWidget,
)

TEXT_PAD_PX = 4
"""What a style keeps free beside the text of a field."""

FRAME_PX = QSize(2, 30)
"""What a title bar and frame take, before they are known."""

NO_BREAK = "\N{NO-BREAK SPACE}"
_FIGURE = re.compile(r"(\d) (mm|in|cm³)\b")


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

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Paint the field with as much of the chosen entry as there is room for."""
        option = self._option()
        option.currentText = self.shown_text
        painter = QStylePainter(self)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)

    @property
    def shown_text(self) -> str:
        """The chosen entry, cut with an ellipsis where the field is too narrow for it."""
        kind, part = QStyle.ComplexControl.CC_ComboBox, QStyle.SubControl.SC_ComboBoxEditField
        room = self.style().subControlRect(kind, self._option(), part, self).width() - TEXT_PAD_PX
        elide = Qt.TextElideMode.ElideRight
        return self.fontMetrics().elidedText(self.currentText(), elide, room)

    def _option(self) -> QStyleOptionComboBox:
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        return option


def combo(name: str, tip: str = "") -> QComboBox:
    """Return a field to choose from that may be narrower than its longest entry."""
    box = CalmCombo()
    box.setAccessibleName(name)
    box.setToolTip(tip)
    box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    box.setMinimumContentsLength(6)
    return box


class WrappingLabel(QLabel):
    """A label in lines, which are never broken between a figure and its unit."""

    def __init__(self, text: str = "") -> None:
        super().__init__()
        self.setWordWrap(True)
        self.setText(text)

    def setText(self, text: str) -> None:
        """Show a text."""
        super().setText(_FIGURE.sub(rf"\1{NO_BREAK}\2", text))

    def text(self) -> str:
        """Return what is shown, as it was given."""
        return super().text().replace(NO_BREAK, " ")


class ElidedLabel(QLabel):
    """A label of one line, cut with an ellipsis where it has too little room."""

    def minimumSizeHint(self) -> QSize:
        """Ask for no width at all."""
        return QSize(0, super().minimumSizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Paint as much of the text as there is room for."""
        room = self.contentsRect()
        shown = self.fontMetrics().elidedText(
            self.text(), Qt.TextElideMode.ElideRight, room.width()
        )
        QStylePainter(self).drawItemText(
            room, self.alignment(), self.palette(), self.isEnabled(), shown, self.foregroundRole()
        )


def wrapping(text: str = "") -> QLabel:
    """Return a label that takes as many lines as its width asks for, and never asks for width."""
    label = WrappingLabel(text)
    policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    policy.setHeightForWidth(True)
    label.setSizePolicy(policy)
    return label


def keep_on_screen(window: QWidget, wanted: QSize) -> None:
    """Give a window the size that it wants, as far as the screen has room for it."""
    window.resize(wanted.boundedTo(window.screen().availableGeometry().size() - FRAME_PX))


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
