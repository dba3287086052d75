"""The only place that joins command line, painter and window; Qt is loaded when it is needed."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from app.cli.main import run

if TYPE_CHECKING:
    from app.drawing.primitives import Drawing


class QtDesk:
    """The window and the painter, each loaded by its first use."""

    def open_window(self, path: Path | None, *, demo: bool) -> int:
        """Open the window on a layout file, on the demo, or as it was; return its exit code."""
        from app.ui.start import run_window

        return run_window(path, demo=demo)

    def png_of(self, sheet: Drawing, dpi: int) -> bytes:
        """Return a sheet as a PNG; nothing is shown, so any machine can do it."""
        from app.drawing.theme import PRINT
        from app.paint.png import png_bytes

        self._need_fonts()
        return png_bytes(sheet, dpi, PRINT)

    def _need_fonts(self) -> None:
        """Qt's fonts want an application, which must outlive them; it needs no screen."""
        from PySide6.QtGui import QGuiApplication

        if QGuiApplication.instance() is None:
            os.environ["QT_QPA_PLATFORM"] = "offscreen"
            self._application = QGuiApplication([])


def main() -> int:
    """Run the program with the arguments of this process and return its exit code."""
    return run(sys.argv[1:], QtDesk())


if __name__ == "__main__":
    sys.exit(main())
