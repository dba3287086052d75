"""One count of the status line: a mark, a number and a word, so that colour is not needed."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QColor, QFontMetrics, QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QWidget

from app.ui.icons import paint_icon
from app.ui.skin import Skin
from app.ui.widgets import set_property
from geometry.finding import Verdict

MARK_PX = 15


def count_word(verdict: Verdict, count: int) -> str:
    """Return the word behind a count: findings are blocked or tight, parts are clear."""
    if verdict is Verdict.CLEAR:
        return "part clear" if count == 1 else "parts clear"
    return verdict.value


class VerdictMark(QWidget):
    """The mark of a verdict: a crossed ring, a triangle, a ticked ring."""

    def __init__(self, verdict: Verdict, skin: Skin) -> None:
        super().__init__()
        self._verdict, self._skin, self._quiet = verdict, skin, False
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        skin.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        """Return its size."""
        return QSize(MARK_PX, MARK_PX)

    def set_quiet(self, quiet: bool) -> None:
        """Paint it in the colour of what says nothing."""
        if quiet != self._quiet:
            self._quiet = quiet
            self.update()

    @property
    def colour(self) -> QColor:
        """What it is painted in."""
        if self._quiet:
            return self.palette().color(QPalette.ColorRole.PlaceholderText)
        return QColor(self._skin.verdict_colour(self._verdict))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Paint the mark."""
        box = QRectF(0, 0, MARK_PX, MARK_PX)
        paint_icon(QPainter(self), self._verdict.value, box, self.colour)


class VerdictCount(QWidget):
    """A mark with "2 tight" beside it."""

    def __init__(self, verdict: Verdict, skin: Skin) -> None:
        super().__init__()
        self._verdict = verdict
        self._shown: tuple[int, bool] | None = None
        self.label = QLabel()
        # As wide as it ever gets: a row is not laid out again while a part is dragged.
        widest = f"00? {count_word(verdict, 0)}"
        bold = self.label.font()
        bold.setBold(True)
        self.label.setMinimumWidth(QFontMetrics(bold).horizontalAdvance(widest))
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(5)
        self.mark = VerdictMark(verdict, skin)
        row.addWidget(self.mark)
        row.addWidget(self.label)
        words = {
            Verdict.BLOCKED: "Findings where room is shared",
            Verdict.TIGHT: "Findings where a gap is under its margin",
            Verdict.CLEAR: "Parts without a finding",
        }
        self.setToolTip(words[verdict])

    def set_count(self, count: int, open_yet: bool) -> None:
        """Show a count; one that may still change with a question mark."""
        if self._shown == (count, open_yet):
            return
        self._shown = (count, open_yet)
        self.label.setText(f"{count}{'?' if open_yet else ''} {count_word(self._verdict, count)}")
        loud = count > 0
        # No part is no reason for a green tick.
        self.mark.set_quiet(not loud and self._verdict is Verdict.CLEAR)
        set_property(self.label, "verdict", self._verdict.value if loud else "")
