"""Runs a search in a process of its own and hands on what it tells; never waits for it."""

from __future__ import annotations

import contextlib
import multiprocessing
import threading
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from PySide6.QtCore import QObject, QTimer, Signal

from app.ui.search.worker import Refused, SearchOrder, Told, run_search

LISTEN_MS = 40
AT_ONCE = 8
"""So many messages are taken in one go; the rest waits for the next, so that the window goes on."""

MOST_AT_STOP = 1_000
"""So many at most are taken when the search is stopped: all that it can have told by then."""

END_S = 1.0
"""How long a process that was told to end is waited for before it is killed."""


class InternalFaultError(RuntimeError):
    """A fault of the program in the process that searches, with its trace."""


def _hand_over(pipe: Connection, order: SearchOrder) -> None:
    """Send an order; nobody need know when the process was ended meanwhile."""
    with pipe, contextlib.suppress(BrokenPipeError, ConnectionResetError):
        pipe.send(order)


class SearchJob(QObject):
    """One search at a time.

    `told` carries what is new; `refused` why it could not begin; `broken` tells that the process
    ended without a word. `finished` comes last, whatever the end was.
    """

    told = Signal(object)
    refused = Signal(str)
    broken = Signal()
    finished = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._timer = QTimer(self, interval=LISTEN_MS)
        self._timer.timeout.connect(self._listen)

    @property
    def running(self) -> bool:
        """Whether a search is under way."""
        return self._process is not None

    @property
    def process_id(self) -> int | None:
        """The number of the process that searches; None when none does."""
        return self._process.pid if self._process is not None else None

    def start(self, order: SearchOrder) -> None:
        """Begin a search; one that runs is ended."""
        self._end()
        # "spawn" on every system: a copy of this process would hold half of Qt in it.
        context = multiprocessing.get_context("spawn")
        here, there = context.Pipe(duplex=False)
        order_end, ask_end = context.Pipe(duplex=False)
        self._process = context.Process(
            target=run_search, args=(order_end, there), name="gapwright search", daemon=True
        )
        self._process.start()
        there.close()
        order_end.close()
        self._pipe = here
        # An order is larger than what a pipe holds: sending waits until the process has woken up.
        threading.Thread(target=_hand_over, args=(ask_end, order), daemon=True).start()
        self._timer.start()

    def stop(self) -> None:
        """End the search; what it had told by then stays told."""
        if self._process is None:
            return
        self._hear(MOST_AT_STOP)
        self._end()
        self.finished.emit()

    def close(self) -> None:
        """End the search without a word, as when the window closes."""
        self._end()

    def _listen(self) -> None:
        if not self._hear():
            lost = self._process is not None
            self._end()
            if lost:
                self.finished.emit()

    def _hear(self, most: int = AT_ONCE) -> bool:
        """Hand on what has come, at most so many messages; False when no more will come."""
        for _ in range(most):
            pipe = self._pipe
            if pipe is None:
                return False
            try:
                if not pipe.poll():
                    return True
                message = pipe.recv()
            except (EOFError, OSError):
                self.broken.emit()
                return False
            if isinstance(message, Told):
                self.told.emit(message)
                if message.ended:
                    return False
            elif isinstance(message, Refused):
                if message.internal:
                    self._end()
                    self.finished.emit()
                    raise InternalFaultError(message.reason)
                self.refused.emit(message.reason)
                return False
        return True

    def _end(self) -> None:
        self._timer.stop()
        process, self._process = self._process, None
        pipe, self._pipe = self._pipe, None
        if pipe is not None:
            pipe.close()
        if process is None:
            return
        process.terminate()
        process.join(END_S)
        if process.is_alive():
            process.kill()
            process.join()
        process.close()
