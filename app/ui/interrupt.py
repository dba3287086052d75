"""Signals from outside: Ctrl-C closes the window, which may ask; what ends it asks nothing."""

from __future__ import annotations

import signal
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QSocketNotifier, QTimer

from app.ui.console import say_on_console

if TYPE_CHECKING:
    from app.ui.window import MainWindow

ASKED = "gapwright: something would be lost, so the window asks first; Ctrl-C again ends it at once"

ENDS: tuple[signal.Signals, ...] = tuple(
    getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)
)
"""As sent when a session ends or a terminal is closed: nobody is there to answer then."""


class Interrupt(QObject):
    """Listens while Qt's loop runs, in which Python would hear no signal before the next event.

    Until `listen` a signal ends the program. That comes a moment after the board's first picture,
    before all else that waited for it, or before the first command: nobody has edited anything yet.
    A second Ctrl-C, while the first is still being answered, ends the program at once.
    """

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self.came = 0
        """The number of the signal by which the window was closed."""
        self._listening = False

    def listen(self) -> None:
        """Hear of signals from now on, until `close`."""
        # Loaded here: the window is there sooner.
        import socket

        self._listening = True
        self._hearing, self._waking = socket.socketpair()
        for end in (self._hearing, self._waking):
            end.setblocking(False)
        reading = QSocketNotifier.Type.Read
        self._notifier = QSocketNotifier(self._hearing.fileno(), reading, self)
        self._notifier.activated.connect(self._on_woken)
        self._before = signal.set_wakeup_fd(self._waking.fileno(), warn_on_full_buffer=False)
        signal.signal(signal.SIGINT, self._on_interrupt)
        for one in ENDS:
            # What was started to outlive its terminal goes on to.
            if signal.getsignal(one) is not signal.SIG_IGN:
                signal.signal(one, self._on_end)

    def close(self) -> None:
        """Listen no more; a signal ends the program at once from then on."""
        if not self._listening:
            return
        self._listening = False
        for one in (signal.SIGINT, *ENDS):
            if signal.getsignal(one) is not signal.SIG_IGN:
                signal.signal(one, signal.SIG_DFL)
        signal.set_wakeup_fd(self._before)
        self._notifier.setEnabled(False)
        self._hearing.close()
        self._waking.close()

    def _on_woken(self) -> None:
        """Let Python run: it calls the handler of a signal before the next of its instructions."""
        self._hearing.recv(64)

    def _on_interrupt(self, *_: object) -> None:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        QTimer.singleShot(0, self._window, self._close_window)

    def _on_end(self, number: int, _: object) -> None:
        self.came = number
        QTimer.singleShot(0, self._window, self._end_window)

    def _end_window(self) -> None:
        """End the window, under a question too that it is asking."""
        from PySide6.QtWidgets import QApplication

        try:
            self._window.end()
        finally:
            QApplication.exit()

    def _close_window(self) -> None:
        if self._window.files.asks_at_close:
            say_on_console(ASKED)
            self._window.raise_()
            self._window.activateWindow()
        if self._window.close():
            self.came = self.came or signal.SIGINT
        elif not self.came:
            signal.signal(signal.SIGINT, self._on_interrupt)
