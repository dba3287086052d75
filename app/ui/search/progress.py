"""The line that tells how far a search is, where it covers none of what is set up."""

from __future__ import annotations

from time import monotonic

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QBoxLayout

from app.ui.search.folding_split import FoldingSplit
from app.ui.widgets import wrapping

CLOCK_MS = 1000


class Progress(QObject):
    """Says the stage of a search and how long it has been, or why none can begin.

    The line stands below what was found, so that nothing of what is set up beside it moves or is
    cut as it comes and goes; below all where what is set up takes the whole width.
    """

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.line = wrapping()
        self.line.setObjectName("muted")
        self._stage, self._began_s = "", 0.0
        self._clock = QTimer(self, interval=CLOCK_MS)
        self._clock.timeout.connect(self._tick)

    def follow(self, split: FoldingSplit, found: QBoxLayout, whole: QBoxLayout) -> None:
        """Stand at the end of one of two columns: of what was found, where that is shown."""
        self._split, self._found, self._whole = split, found, whole
        split.arranged.connect(self._place)
        self._place()

    def _place(self) -> None:
        (self._found if self._split.shows_second else self._whole).addWidget(self.line)
        # The style sheet of where it comes to takes them off.
        self.line.setContentsMargins(12, 2, 12, 2)

    def begin(self, stage: str) -> None:
        """Begin to count the seconds of a search."""
        self._began_s = monotonic()
        self._clock.start()
        self.tell_stage(stage)

    def end(self) -> None:
        """Count no more."""
        self._clock.stop()

    def tell_stage(self, stage: str) -> None:
        """Say how far it is."""
        self._stage = stage
        self._tick()

    def _tick(self) -> None:
        """Tell how long it has been, so that a long stage is seen to go on."""
        if self._clock.isActive():
            self.say(f"{self._stage}; {monotonic() - self._began_s:.0f} s so far")

    def say(self, text: str) -> None:
        """Say how a search goes or why none can begin; without words the line takes no room."""
        self.line.setText(text)
        self.line.setVisible(bool(text))
