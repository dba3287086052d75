"""The only place that joins command line, painter and window; Qt is loaded when it is needed."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from app.cli.main import run
from app.cli.outcome import Unusable
from app.quick_start import end_in_order, end_quickly, start_quickly

if TYPE_CHECKING:
    from app.drawing.primitives import Drawing

SCREENS = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
"""What tells Qt on Linux where to show a window; without any of them it would abort."""


class QtDesk:
    """The window and the painter, each loaded by its first use.

    `window_opened` tells that there has been a window.
    """

    window_opened = False

    def open_window(self, path: Path | None, *, demo: bool) -> int:
        """Open the window on a layout file, on the demo, or as it was; return its exit code.

        Raises Unusable where there is no screen, or Qt cannot be loaded.
        """
        if sys.platform == "linux" and not any(os.environ.get(name) for name in SCREENS):
            raise Unusable(
                "there is no screen to open a window on (`gapwright check` and `gapwright sheet` "
                "do the same job without one)"
            )
        from app.document.document import Document
        from app.shipped_demo import shipped_demo

        # Read before Qt is loaded, which looks into the source of all that is loaded after it.
        document = Document.new(shipped_demo())
        with _qt_libraries():
            from app.ui.start import run_window

        # While Qt's loop runs Python would not hear an interrupt from the keyboard.
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        self.window_opened = True
        return run_window(document, path, demo=demo)

    def write_sheets(self, sheets: Sequence[Drawing], out: Path, dpi: int) -> Sequence[Path]:
        """Write sheets as PNG files and return these; nothing is shown, so any machine can do it.

        Raises DataError when one cannot be saved, Unusable where Qt cannot be loaded.
        """
        with _qt_libraries():
            from app.paint.sheet_png import write_sheets_png

        self._need_fonts()
        return write_sheets_png(sheets, out, dpi)

    def _need_fonts(self) -> None:
        """Qt's fonts want an application, which must outlive them; it needs no screen."""
        from PySide6.QtGui import QGuiApplication

        if QGuiApplication.instance() is None:
            os.environ["QT_QPA_PLATFORM"] = "offscreen"
            self._application = QGuiApplication([])


@contextlib.contextmanager
def _qt_libraries() -> Iterator[None]:
    """Turn the loader's word that a system library is missing into one that helps."""
    try:
        yield
    except ImportError as fault:
        if ".so" not in str(fault):
            raise
        raise Unusable(
            f"Qt cannot be loaded: {fault} (install the system packages that the README names)"
        ) from fault


def main(desk: QtDesk | None = None) -> int:
    """Run the program with the arguments of this process and return its exit code."""
    start_quickly(algebra=sys.argv[1:2] in (["search"], ["mend"]))
    return run(sys.argv[1:], desk or QtDesk())


def run_process() -> NoReturn:
    """Run the program as a process of its own, and end that.

    A window ends in order: only then does Qt hand what was copied to the system's clipboard.
    """
    desk = QtDesk()
    code = main(desk)
    if desk.window_opened:
        end_in_order(code)
    end_quickly(code)


if __name__ == "__main__":
    run_process()
