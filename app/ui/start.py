"""Starts the window."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication

from app.document.document import Document
from app.ui.faults import Faults
from app.ui.interrupt import Interrupt
from app.ui.preferences import Preferences
from app.ui.window import MainWindow
from catalog.store import load_library

NAME = "gapwright"
STYLE = "Fusion"
SIGNALLED = 128
"""As a shell tells of a command that a signal has ended: this and the number of the signal."""


def run_window(document: Document, path: Path | None, *, demo: bool = False) -> int:
    """Open the window on a file, or on what was open last; return its exit code.

    With nothing to open, or for `demo`, it shows `document`, so that nobody faces an empty window.
    """
    preferences = Preferences(QSettings(NAME, NAME))
    if preferences.scale != "system":
        os.environ["QT_SCALE_FACTOR"] = str(int(preferences.scale) / 100)
    app = make_app()
    library = load_library()
    window = MainWindow(document, library, preferences)
    # All at once: a style sheet set earlier goes through widgets at each change of parent.
    window.skin.dress(app)
    Faults(window).listen()
    wanted = path or (None if demo else _last_file())
    if wanted is not None:
        window.open_path(wanted)
    interrupt = Interrupt(window)
    window.show()
    window.do_later(interrupt.listen, first=True)
    window.do_later(lambda: window.recovery.offer())  # noqa: PLW0108 - made by then, not now
    # Told while the desktop's session waits, so it is done before the signal returns.
    app.commitDataRequest.connect(lambda _: window.recovery.keep_for_session_end())
    code = app.exec()
    interrupt.close()
    preferences.keep()
    return SIGNALLED + interrupt.came if interrupt.came else code


def make_app() -> QApplication:
    """Return the Qt application, named and in the style that ours is built on."""
    found = QApplication.instance()
    if isinstance(found, QApplication):
        app = found
        app.setStyle(STYLE)
    else:
        # As an argument it needs no Python object for the style, with all of its enums.
        app = QApplication([*sys.argv[:1], "-style", STYLE])
    app.setApplicationName(NAME)
    app.setApplicationDisplayName("Gapwright")
    app.setDesktopFileName(NAME)
    return app


def _last_file() -> Path | None:
    from app.document.recent import RecentFiles

    return next((path for path in RecentFiles().paths if path.is_file()), None)
