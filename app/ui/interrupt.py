"""Ctrl-C in the terminal that the window was started from closes the window, which may ask."""

from __future__ import annotations

import signal
import socket
import sys
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QSocketNotifier, QTimer

if TYPE_CHECKING:
    from app.ui.window import MainWindow

ASKED = "gapwright: something would be lost, so the window asks first; Ctrl-C again ends it at once"


class Interrupt(QObject):
    """Listens while Qt's loop runs, in which Python would hear no signal before the next event.

    A second Ctrl-C, while the first is still being answered, ends the program at once.
    """

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self.came = False
        """Whether the window was closed by an interrupt."""
        self._hearing, self._waking = socket.socketpair()
        for end in (self._hearing, self._waking):
            end.setblocking(False)
        reading = QSocketNotifier.Type.Read
        self._notifier = QSocketNotifier(self._hearing.fileno(), reading, self)
        self._notifier.activated.connect(self._on_woken)
        self._before = signal.set_wakeup_fd(self._waking.fileno(), warn_on_full_buffer=False)
        signal.signal(signal.SIGINT, self._on_signal)

    def close(self) -> None:
        """Listen no more; an interrupt ends the program at once from then on."""
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        signal.set_wakeup_fd(self._before)
        self._notifier.setEnabled(False)
        self._hearing.close()
        self._waking.close()

    def _on_woken(self) -> None:
        """Let Python run: it calls the handler of a signal before the next of its instructions."""
        self._hearing.recv(64)

    def _on_signal(self, *_: object) -> None:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        QTimer.singleShot(0, self._window, self._close_window)

    def _close_window(self) -> None:
        if self._window.files.asks_at_close:
            sys.stderr.write(f"{ASKED}\n")
            sys.stderr.flush()
            self._window.raise_()
            self._window.activateWindow()
        self.came = self._window.close()
        if not self.came:
            signal.signal(signal.SIGINT, self._on_signal)
