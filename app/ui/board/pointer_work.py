"""Work that follows the pointer: within its frame, and what that has no time for in short turns."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from time import perf_counter, thread_time

from PySide6.QtCore import QObject, QTimer

FRAME_MS = 16.0
"""After how long before its paint a move leaves the rest of its work for later: what is laid out is
of use only when all of it is, so a little over a frame is better than annotations that are old."""

BUSY_MS = 12.0
"""What a move, its paint and a turn after them may take together, so that the next move (16.7 ms
later at 60 a second) finds the window free."""

TURN_MS, LEAST_TURN_MS = 5.0, 2.0
"""What a turn may take before it stops at the next step, and what it takes at least."""

WAITED = 3.0
"""How many times as long a turn may last by the clock, where other programs take their share."""

STARVED_S = 0.1
"""After so long without a turn the next one does not wait for a paint, even if moves crowd."""

UNPAINTED_MS = 30
"""How long a turn waits for the paint of a frame that does not come, as in a hidden window."""


class PointerWork(QObject):
    """Does the newest work asked for; work under way is brought to its end before.

    An errand is a piece of work that has a turn of its own.
    """

    def __init__(self, work: Callable[[], Iterator[None]], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._work = work
        self._asked = False
        self._steps: Iterator[None] | None = None
        self._errands: deque[Callable[[], None]] = deque()
        self._began_s: float | None = None
        """When the thread began to answer a move of the pointer that no turn has followed yet."""
        self._took_turn_s = 0.0
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self._turn)

    @property
    def behind(self) -> bool:
        """Whether anything asked for is still to be done."""
        return self._asked or self._steps is not None

    def begin(self) -> None:
        """Note that a move of the pointer is about to be answered: no turn before its paint."""
        self._began_s = thread_time()
        if self._timer.isActive() and perf_counter() - self._took_turn_s < STARVED_S:
            self._wait()

    def ask(self, *, again: bool = True) -> bool:
        """Do the work, `again` where it is under way already; True when all of it is done.

        It is done at once as far as the frame has time for it, the rest in turns.
        """
        self._asked |= again or self._steps is None
        self._go_on(FRAME_MS - self._spent_ms())
        if self.behind and not self._timer.isActive():
            self._wait()
        return not self.behind

    def errand(self, job: Callable[[], None]) -> None:
        """Do a piece of work in a turn of its own."""
        self._errands.append(job)
        if not self._timer.isActive():
            self._wait()

    def _wait(self) -> None:
        """Let the next turn come after the next paint."""
        if not self._timer.isActive() or self._timer.interval() == 0:
            self._timer.start(UNPAINTED_MS)

    def painted(self) -> None:
        """Go on, since the frame is on the screen."""
        if self.behind or self._errands:
            self._timer.start(0)
        else:
            self._began_s = None

    def drop(self) -> None:
        """Leave off what is under way and forget what was asked for, but for errands."""
        self._asked, self._steps = False, None
        if not self._errands:
            self._timer.stop()

    def _turn(self) -> None:
        self._took_turn_s = perf_counter()
        if self._errands:
            self._errands.popleft()()
        else:
            lasts_ms = max(LEAST_TURN_MS, min(TURN_MS, BUSY_MS - self._spent_ms()))
            self._began_s = None
            self._go_on(lasts_ms)
        if (self.behind or self._errands) and not self._timer.isActive():
            self._timer.start(0)

    def _spent_ms(self) -> float:
        """Return how long the thread has been busy with a move that no turn has followed yet."""
        return 0.0 if self._began_s is None else (thread_time() - self._began_s) * 1000

    def _go_on(self, lasts_ms: float) -> None:
        """Take steps for so long."""
        lasts_s = lasts_ms / 1000
        end, began = thread_time() + lasts_s, perf_counter()
        # The thread has not been busy for longer than the clock says, which is asked at a
        # fiftieth of the cost.
        while (waited := perf_counter() - began) < lasts_s or (
            waited < WAITED * lasts_s and thread_time() < end
        ):
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
