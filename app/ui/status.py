"""The status line: where the pointer is, the settings that matter, and the count of verdicts."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QFontDatabase, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QStatusBar, QWidget

from app.drawing.axes import place_text
from app.ui.actions import SNAP_OFF, key_of
from app.ui.board.view import BoardView
from app.ui.preferences import Preferences
from app.ui.session import Session
from app.ui.skin import Skin
from app.ui.units import figure_text, length_text
from app.ui.verdict_count import VerdictCount
from app.ui.widgets import WordsLabel
from geometry.finding import Verdict

WHISPER_MS = 5000
CRAMPED_PX = 620
"""A narrower line has no room for the pointer's place."""


class _Counts(NamedTuple):
    """What is counted: findings blocked and tight and parts clear, and checks that were not run."""

    of_verdicts: tuple[int, int, int]
    not_run: int
    open_yet: bool
    previewing: bool
    as_drawn: bool


class StatusLine(QStatusBar):
    """Three groups: pointer on the left, settings in the middle, counts on the right."""

    def __init__(
        self,
        session: Session,
        board: BoardView,
        preferences: Preferences,
        skin: Skin,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._board = session, board
        self._preferences, self._skin = preferences, skin
        self.setSizeGripEnabled(False)
        self.place = QLabel()
        self.place.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
        metrics = self.place.fontMetrics()
        # Of one size, so that the line is not laid out again at each move of the pointer.
        self._place_px = metrics.horizontalAdvance("0" * 30)
        self.place.setFixedSize(self._place_px, metrics.height() + 4)
        self.place.setToolTip("Where the pointer is, in the enclosure's coordinates")
        self.settings = WordsLabel()
        self.settings.setAlignment(Qt.AlignmentFlag.AlignCenter)
        counts = QWidget()
        row = QHBoxLayout(counts)
        row.setContentsMargins(0, 0, 8, 0)
        row.setSpacing(12)
        self.counts = {verdict: VerdictCount(verdict, skin) for verdict in Verdict}
        self._shown: _Counts | None = None
        self._not_run = QLabel()
        self._not_run.setToolTip("Checks that could not look; the list stands below the findings")
        self.of_preview = QLabel("preview:")
        self.of_preview.setToolTip("The counts are of the layout that the board previews")
        self.as_drawn = QLabel("as drawn:")
        self.as_drawn.setToolTip("Worst cases are not counted yet; they are checked next")
        row.addWidget(self.of_preview)
        row.addWidget(self.as_drawn)
        for widget in self.counts.values():
            row.addWidget(widget)
        row.addWidget(self._not_run)
        # Before the line takes them in: their style is then worked out once.
        self.refresh()
        self.addWidget(self.place)
        self.addWidget(self.settings, 1)
        self.addPermanentWidget(counts)
        board.pointer_moved.connect(self._on_pointer)
        board.whispered.connect(lambda text: self.showMessage(text, WHISPER_MS))
        board.active_view_changed.connect(self._show_settings)
        session.shown_changed.connect(self.refresh)
        preferences.changed.connect(lambda _: self.refresh())
        skin.changed.connect(self.refresh)
        self._on_pointer(None)

    def minimumSizeHint(self) -> QSize:
        """Be never wider than the window."""
        return QSize(0, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave a narrow line to the counts."""
        super().resizeEvent(event)
        cramped = event.size().width() < CRAMPED_PX
        self.place.setFixedWidth(0 if cramped else self._place_px)

    def refresh(self) -> None:
        """Show counts and settings as they are."""
        session, report = self._session, self._session.checked.report
        # Worst cases that are still to come may make more of a finding, or of a clear part.
        open_yet = session.stale or (session.looking and not session.trying)
        self._show_counts(
            _Counts(
                (report.blocked, report.tight, report.clear),
                len(report.not_run),
                open_yet,
                session.previewing,
                session.as_drawn,
            )
        )
        self._show_settings()

    def _show_counts(self, now: _Counts) -> None:
        """Show counts that have changed: most moves of a drag leave them as they are."""
        if now == self._shown:
            return
        self._shown = now
        self.of_preview.setVisible(now.previewing)
        self.as_drawn.setVisible(now.as_drawn)
        for widget, count in zip(self.counts.values(), now.of_verdicts, strict=True):
            widget.set_count(count, now.open_yet)
        self._not_run.setText(f"{now.not_run} not run" if now.not_run else "")
        self._not_run.setVisible(bool(now.not_run))

    def _show_settings(self) -> None:
        margin = length_text(self._session.layout.settings.margin_mm, self._skin.unit)
        snap = "on" if self._preferences.snap else "off"
        view = self._board.active_view.name
        words = (f"margin {margin}", f"snap {snap}", f"arrow keys: {view} view")
        if words == self.settings.words:
            return
        self.settings.set_words(words)
        self.settings.setToolTip(
            f"{', '.join(words)}. "
            "Margin: Enclosure tab. Snap to holes, slots, faces and the grid: Board menu; hold "
            f"{SNAP_OFF} while dragging to snap to nothing. "
            f"The arrow keys move the selected part in the {view} view; "
            f"{key_of('next_view')} chooses another view."
        )

    def _on_pointer(self, place: QPointF | None) -> None:
        if place is None:
            self.place.setText("pointer off the board")
            return
        view = self._board.view_at(place)
        if view is None:
            x0, y0, x1, y1 = self._board.picture.frame.bounds
            between = x0 <= place.x() <= x1 and y0 <= place.y() <= y1
            self.place.setText(f"{'between' if between else 'beside'} the views")
            return
        unit = self._skin.unit
        text = place_text(view, (place.x(), place.y()), lambda mm: f"{figure_text(mm, unit):>6}")
        self.place.setText(f"{text}  {view.name}")
