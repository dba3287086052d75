"""Work that follows the pointer, in turns short enough for a frame and after the frame's paint."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from time import perf_counter

from PySide6.QtCore import QObject, QTimer

TURN_MS = 5.0
"""What a turn may take before it stops at the next step, so that a move of the pointer that comes
meanwhile is still answered within its frame (16.7 ms)."""

UNPAINTED_MS = 30
"""How long a turn waits for the paint of a frame that does not come, as in a hidden window."""


class Follow(QObject):
    """Does the newest work asked for; work under way is brought to its end before."""

    def __init__(self, work: Callable[[], Iterator[None]], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._work = work
        self._asked = False
        self._steps: Iterator[None] | None = None
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self._turn)

    @property
    def behind(self) -> bool:
        """Whether anything asked for is still to be done."""
        return self._asked or self._steps is not None

    def ask(self) -> None:
        """Do the work, or do it once more when it is under way."""
        self._asked = True
        if not self._timer.isActive() or self._timer.interval() == 0:
            self._timer.start(UNPAINTED_MS)

    def painted(self) -> None:
        """Go on, since the frame is on the screen."""
        if self.behind:
            self._timer.start(0)

    def drop(self) -> None:
        """Leave off what is under way and forget what was asked for."""
        self._timer.stop()
        self._asked, self._steps = False, None

    def _turn(self) -> None:
        end = perf_counter() + TURN_MS / 1000
        while perf_counter() < end:
            if self._steps is None:
                if not self._asked:
                    return
                self._asked = False
                self._steps = self._work()
            steps = self._steps
            try:
                next(steps)
            except StopIteration:
                if self._steps is steps:
                    self._steps = None
        if self.behind and not self._timer.isActive():
            self._timer.start(0)
