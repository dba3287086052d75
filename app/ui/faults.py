"""Tells of internal faults, in whichever thread they come, on the console and in the window."""

from __future__ import annotations

import sys
import threading
import traceback
from types import TracebackType
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from shiboken6 import isValid

from app.ui.console import say_on_console

if TYPE_CHECKING:
    from app.ui.window import MainWindow


class Faults(QObject):
    """Hears of what nobody caught; the work stays open.

    `came` takes the words from another thread to the window's own, which alone may touch it.
    """

    came = Signal(str)

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self.came.connect(window.notice.error)

    def listen(self) -> None:
        """Hear of all faults from now on, of threads as well."""
        sys.excepthook = self.tell
        threading.excepthook = lambda fault: self.tell(
            fault.exc_type, fault.exc_value or fault.exc_type(), fault.exc_traceback
        )

    def tell(
        self, kind: type[BaseException], fault: BaseException, trace: TracebackType | None
    ) -> None:
        """Tell a fault, in any thread."""
        say_on_console("".join(traceback.format_exception(kind, fault, trace)).rstrip())
        if isinstance(fault, Exception) and isValid(self):
            self.came.emit(
                f"An internal fault: {kind.__name__}: {fault}. Your layout is unchanged; save it "
                "under a new name and report what you did."
            )
