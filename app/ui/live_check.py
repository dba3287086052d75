"""Checks a layout that changes many times a second, within a frame or else behind the user.

As long as a check is done within the budget it is done at once. When one has taken longer, the
next ones run in a thread: only the newest layout waits, and what is shown is marked as older.
"""

from __future__ import annotations

import time

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal

from geometry.checks.runner import Checked, run_checks
from geometry.layout import Layout
from geometry.scene import Scene, build_scene

BUDGET_MS = 10.0
"""What a check may take, in the time of its own thread, so that drawing still fits into a frame of
60 a second. What other programs take meanwhile is not the check's."""

PER_PART_MS = 0.03
"""What a check is taken to cost for each placed part until one has been timed (measured: 4 ms among
200), so that the first of a large layout does not hold the pointer up either."""

MEMORY = 0.5
"""How much the last check counts in the running mean of what one takes."""


class _Job(QRunnable):
    def __init__(self, live: LiveCheck, number: int, scene: Scene, before: Checked) -> None:
        super().__init__()
        self._live, self._number, self._scene, self._before = live, number, scene, before

    def run(self) -> None:
        """Check, in the worker thread."""
        started = time.thread_time()
        try:
            checked: Checked | Exception = _checked(self._scene, self._before)
        except Exception as fault:  # noqa: BLE001 - handed over to the window's thread, raised there
            checked = fault
        took_ms = (time.thread_time() - started) * 1000
        self._live.done.emit(self._number, checked, took_ms)


def _checked(scene: Scene, before: Checked) -> Checked:
    return Checked(
        scene, run_checks(scene, before, remedies=False, worst_cases=False, volumes="quick")
    )


class LiveCheck(QObject):
    """`answered` carries the newest answer that was worked out behind."""

    answered = Signal(object)
    done = Signal(int, object, float)

    def __init__(self, parent: QObject | None = None, budget_ms: float = BUDGET_MS) -> None:
        super().__init__(parent)
        self._budget_ms = budget_ms
        self._cost_ms: float | None = None
        self._built_ms = 0.0
        """What the last scene took, which is built before its check in any case."""
        self._asked = 0
        self._answered = 0
        self._running = False
        self._waiting: tuple[int, Scene] | None = None
        self._last: Checked | None = None
        """The newest scene with the report that belongs to it; the next check starts from it."""
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self.done.connect(self._on_done)

    @property
    def up_to_date(self) -> bool:
        """Whether the last answer is of the last layout asked for."""
        return self._answered == self._asked

    def ask(self, layout: Layout, base: Checked) -> Checked:
        """Return the layout checked, or its scene with an earlier report for the time being.

        `base` is what the first check after `forget` starts from.
        """
        self._asked += 1
        before = self._last = self._last or base
        if self._cost_ms is None:
            self._cost_ms = PER_PART_MS * len(base.scene.placed)
        started = time.thread_time()
        scene = build_scene(layout, before.scene)
        self._built_ms = (time.thread_time() - started) * 1000
        if self._cost_ms <= self._budget_ms and not self._running:
            self._last = _checked(scene, before)
            self._note((time.thread_time() - started) * 1000)
            self._answered = self._asked
            return self._last
        self._waiting = (self._asked, scene)
        self._start()
        return Checked(scene, before.report)

    def forget(self) -> None:
        """Drop what waits; an answer that is under way is not told."""
        self._waiting = None
        self._last = None
        self._asked += 1
        self._answered = self._asked

    def close(self) -> None:
        """Drop what waits, and wait until the thread has let go."""
        self.forget()
        self._pool.waitForDone()

    def _start(self) -> None:
        if self._running or self._waiting is None or self._last is None:
            return
        number, scene = self._waiting
        self._waiting = None
        self._running = True
        self._pool.start(_Job(self, number, scene, self._last))

    def _on_done(self, number: int, checked: Checked | Exception, took_ms: float) -> None:
        self._running = False
        self._note(self._built_ms + took_ms)
        if isinstance(checked, Exception):
            self._start()
            raise checked
        if number > self._answered:
            self._answered = number
            self._last = checked
            self.answered.emit(checked)
        self._start()

    def _note(self, took_ms: float) -> None:
        before_ms = took_ms if self._cost_ms is None else self._cost_ms
        self._cost_ms = before_ms + (took_ms - before_ms) * MEMORY
