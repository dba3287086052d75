"""Words whose height never depends on their length: each line is cut where the panel ends."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QHelpEvent, QPaintEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QStylePainter, QVBoxLayout, QWidget

from app.ui.panels.beside_tip import show_beside


class ShortLines(QLabel):
    """Shows each line of its text on one line, with an ellipsis where it ends.

    Its tip has all of what is cut, before what the tip tells anyway.
    """

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("muted")
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    @property
    def shown_lines(self) -> list[str]:
        """The lines as they are painted."""
        room, metrics = self.contentsRect().width(), self.fontMetrics()
        cut = Qt.TextElideMode.ElideRight
        return [metrics.elidedText(line, cut, room) for line in self.text().split("\n")]

    @property
    def tip(self) -> str:
        """What is told of it at the moment."""
        whole = self.text() if self.shown_lines != self.text().split("\n") else ""
        return "\n\n".join(part for part in (whole, self.toolTip()) if part)

    def sizeHint(self) -> QSize:
        """Return the height of the lines; the width is what there is."""
        return QSize(0, (self.text().count("\n") + 1) * self.fontMetrics().lineSpacing())

    def minimumSizeHint(self) -> QSize:
        """Ask for no width at all."""
        return self.sizeHint()

    def event(self, event: QEvent) -> bool:
        """Show the tip beside the panel, whose words stay in sight."""
        if isinstance(event, QHelpEvent) and event.type() is QEvent.Type.ToolTip:
            show_beside(self, self.tip)
            return True
        return super().event(event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Paint the lines."""
        QStylePainter(self).drawItemText(
            self.contentsRect(), int(Qt.AlignmentFlag.AlignTop), self.palette(), self.isEnabled(),
            "\n".join(self.shown_lines), self.foregroundRole(),
        )  # fmt: skip


class SteadyColumn(QWidget):
    """Labels one below the other, with room for so many lines even while there are fewer."""

    GAP_PX = 3

    def __init__(self, labels: tuple[ShortLines, ...], lines: int) -> None:
        super().__init__()
        self._lines = lines
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(self.GAP_PX)
        for label in labels:
            column.addWidget(label)
        column.addStretch(1)
        self._keep_room()

    def changeEvent(self, event: QEvent) -> None:
        """Follow another font."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._keep_room()

    def _keep_room(self) -> None:
        line = self.fontMetrics().lineSpacing()
        self.setMinimumHeight(self._lines * line + (self._lines - 1) * self.GAP_PX)
