"""A field to choose from, for panels that scroll and may be narrow."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QPaintEvent, QWheelEvent
from PySide6.QtWidgets import QComboBox


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

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the field with as much of the chosen entry as there is room for."""
        if not self.currentText():
            super().paintEvent(event)
            return
        from app.ui.cut_entry import paint_cut_entry

        paint_cut_entry(self)


def combo(name: str, tip: str = "") -> QComboBox:
    """Return a field to choose from that may be narrower than its longest entry."""
    box = CalmCombo()
    box.setAccessibleName(name)
    box.setToolTip(tip)
    box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    box.setMinimumContentsLength(6)
    return box
