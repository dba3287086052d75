"""A field to choose from, for panels that scroll and may be narrow."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QPaintEvent, QWheelEvent
from PySide6.QtWidgets import QComboBox, QStyle, QStyleOptionComboBox, QStylePainter

TEXT_PAD_PX = 4
"""What a style keeps free beside the text of a field."""


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
