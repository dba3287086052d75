"""Runs a search in a process of its own and hands on what it tells.

The window never waits for it, but when it closes: a thread listens, for a message may come in
pieces, and a process that was told to end is looked after until it is gone.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import threading
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from queue import SimpleQueue
from time import monotonic

from PySide6.QtCore import QObject, QTimer, Signal

from app.ui.search.worker import Refused, SearchOrder, Told, run_search

LISTEN_MS = 40
AT_ONCE = 8
"""So many messages are taken in one go; the rest waits for the next, so that the window goes on."""

MOST_AT_STOP = 1_000
"""So many at most are taken when the search is stopped: all that it can have told by then."""

END_S = 1.0
"""How long a process that was told to end may take before it is killed."""

Heard = SimpleQueue[Told | Refused | Exception | None]
"""What has come from the process: at last None, or why it could not be heard any more."""


class InternalFaultError(RuntimeError):
    """A fault of the program in the process that searches, with its trace."""


def _hand_over(pipe: Connection, order: SearchOrder) -> None:
    """Send an order; nobody need know when the process was ended meanwhile."""
    with pipe, contextlib.suppress(BrokenPipeError, ConnectionResetError):
        pipe.send(order)


def _listen(pipe: Connection, heard: Heard) -> None:
    """Put what comes through a pipe where it is heard, until the process has ended."""
    with pipe:
        try:
            while True:
                heard.put(pipe.recv())
        except (EOFError, OSError):
            heard.put(None)
        except Exception as fault:  # noqa: BLE001 - handed over to the window's thread, raised there
            heard.put(fault)


def _begun(order: SearchOrder) -> tuple[BaseProcess, Heard]:
    """Start a process that searches; return it with what is heard of it. Raises OSError."""
    # "spawn" on every system: a copy of this process would hold half of Qt in it.
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    order_end, ask_end = context.Pipe(duplex=False)
    heard: Heard = SimpleQueue()
    # The ends that are the process's own are closed here, also where it cannot be started: both
    # threads end then. An order is larger than what a pipe holds, and takes one of them.
    with there, order_end:
        threading.Thread(target=_hand_over, args=(ask_end, order), daemon=True).start()
        threading.Thread(target=_listen, args=(here, heard), daemon=True).start()
        process = context.Process(
            target=run_search, args=(order_end, there), name="gapwright search", daemon=True
        )
        process.start()
    return process, heard


class SearchJob(QObject):
    """One search at a time.

    `told` carries what is new; `refused` why it could not begin; `broken` tells that the process
    ended without a word. `finished` comes last, whatever the end was, when the process is gone.
    """

    told = Signal(object)
    refused = Signal(str)
    broken = Signal()
    finished = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._process: BaseProcess | None = None
        self._heard: Heard = SimpleQueue()
        self._ending: list[tuple[BaseProcess, float]] = []
        """Processes that were told to end, each with the time at which it is killed."""
        self._owes_finished = False
        self._timer = QTimer(self, interval=LISTEN_MS)
        self._timer.timeout.connect(self._on_time)

    @property
    def running(self) -> bool:
        """Whether a search is under way."""
        return self._process is not None

    def start(self, order: SearchOrder) -> None:
        """Begin a search; one that runs is ended."""
        self.drop()
        try:
            self._process, self._heard = _begun(order)
        except OSError as fault:
            why = f"no process could be started for it: {fault.strerror}"
            self.refused.emit(f"{why}; close other programs and try again")
            self.finished.emit()
            return
        self._timer.start()

    def stop(self) -> None:
        """End the search; what it had told by then stays told."""
        if self._process is not None:
            self._hear(MOST_AT_STOP)
            self._finish()

    def drop(self) -> None:
        """End the search without a word."""
        self._end()
        self._owes_finished = False

    def close(self) -> None:
        """End the search without a word and wait until its process is gone."""
        self.drop()
        for process, _ in self._ending:
            process.join(END_S)
            if process.is_alive():
                process.kill()
                process.join()
        self._look_after_ending()

    def _on_time(self) -> None:
        if self._process is not None and not self._hear():
            self._finish()
        self._look_after_ending()

    def _hear(self, most: int = AT_ONCE) -> bool:
        """Hand on what has come, at most so many messages; False when no more will come."""
        for _ in range(most):
            if self._process is None:
                return False
            if self._heard.empty():
                return True
            message = self._heard.get()
            if message is None:
                self.broken.emit()
                return False
            if isinstance(message, Exception):
                self._finish()
                raise message
            if isinstance(message, Told):
                self.told.emit(message)
                if message.ended:
                    return False
            elif message.internal:
                self._finish()
                raise InternalFaultError(message.reason)
            else:
                self.refused.emit(message.reason)
                return False
        return True

    def _finish(self) -> None:
        """End the search, if nobody has meanwhile; its end is told when the process is gone."""
        if self._process is not None:
            self._end()
            self._owes_finished = True

    def _end(self) -> None:
        process, self._process = self._process, None
        if process is not None:
            process.terminate()
            self._ending.append((process, monotonic() + END_S))

    def _look_after_ending(self) -> None:
        """Let go of processes that are gone, and kill those that have had their time."""
        late = []
        for process, until_s in self._ending:
            if not process.is_alive():
                process.close()
                continue
            if monotonic() > until_s:
                process.kill()
            late.append((process, until_s))
        self._ending = late
        if late or self._process is not None:
            return
        self._timer.stop()
        if self._owes_finished:
            self._owes_finished = False
            self.finished.emit()
