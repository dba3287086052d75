"""A balloon as on the board (ISO 6433): a number in a ring whose shape tells the verdict too."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.ui.skin import Skin
from geometry.finding import Verdict

SIZE_PX = 26


class Balloon(QWidget):
    """The number of a finding; a ring when blocked, a dashed ring when tight."""

    def __init__(self, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._skin = skin
        skin.changed.connect(self.update)
        self._text = ""
        self._verdict = Verdict.BLOCKED
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """Return its size."""
        return QSize(SIZE_PX, SIZE_PX)

    def set_verdict(self, text: str, verdict: Verdict) -> None:
        """Show a number and a verdict."""
        self._text, self._verdict = text, verdict
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Paint the ring and the number."""
        colour = self._skin.verdict_colour(self._verdict)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        pen = QPen(colour, 1.8)
        if self._verdict is Verdict.TIGHT:
            pen.setDashPattern([2.4, 1.4])
        painter.setPen(pen)
        painter.drawEllipse(QRectF(1.5, 1.5, SIZE_PX - 3, SIZE_PX - 3))
        font = painter.font()
        font.setBold(True)
        painter.setFont(font)
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, self._text)
