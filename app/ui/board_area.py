"""The middle of the window: the board, and a strip at its foot that notices do not take from it."""

from __future__ import annotations

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

FOOT_PX = 34
"""What a notice of one line with a button needs."""

ROOMY_PX = 300
"""In a lower window the strip would cost the board more than a notice that passes covers."""


class BoardArea(QWidget):
    """Holds the board; what lies over the foot of this widget covers the strip first."""

    def __init__(self) -> None:
        super().__init__()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)
        self.foot = QWidget()
        self.foot.setObjectName("foot")
        self.foot.setFixedHeight(FOOT_PX)
        self._column.addWidget(self.foot)

    def hold(self, board: QWidget) -> None:
        """Take the board in."""
        self._column.insertWidget(0, board, 1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the strip where there is room for it."""
        self.foot.setVisible(event.size().height() >= ROOMY_PX)
        super().resizeEvent(event)
