"""A field for a file whose folder and name are both seen where it is too long for all of it."""

from __future__ import annotations

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QLineEdit, QStyle, QStyleOptionFrame

SIDE_PX = 2
"""What a field keeps free beside its text."""


class PathField(QLineEdit):
    """Shows head and tail of a long text while one does not type in it; its tip has all of it."""

    def __init__(self, text: str, tip: str) -> None:
        super().__init__(text)
        self._tip = tip
        self.textChanged.connect(self._tell)
        self._tell()

    @property
    def shown_text(self) -> str:
        """What there is room for, with an ellipsis in the place of the middle."""
        room = self._contents().width()
        return self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideMiddle, room)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint what there is room for; as ever while one types."""
        if self.hasFocus() or self.shown_text == self.text():
            super().paintEvent(event)
            return
        painter = QPainter(self)
        self.style().drawPrimitive(
            QStyle.PrimitiveElement.PE_PanelLineEdit, self._option(), painter, self
        )
        middle = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft
        self.style().drawItemText(
            painter, self._contents(), int(middle), self.palette(), self.isEnabled(),
            self.shown_text, self.foregroundRole(),
        )  # fmt: skip

    def _tell(self) -> None:
        self.setToolTip(f"{self.text()}\n{self._tip}" if self.text() else self._tip)

    def _option(self) -> QStyleOptionFrame:
        option = QStyleOptionFrame()
        self.initStyleOption(option)
        return option

    def _contents(self) -> QRect:
        room = QStyle.SubElement.SE_LineEditContents
        inside = self.style().subElementRect(room, self._option(), self)
        return inside.adjusted(SIDE_PX, 0, -SIDE_PX, 0)
