"""Opens the panel of what fits; nothing of it is loaded before that."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from app.sheet.fits_content import Fits
    from app.ui.search.dock import SearchDock
    from app.ui.window import MainWindow


class SearchCommands:
    """Runs on one window."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self.dock: SearchDock | None = None
        """None until it is first opened."""
        self.handlers: dict[str, Callable[[], object]] = {"what_fits": self.open}

    def open(self) -> None:
        """Show the panel, with the keyboard in it; hide it where the keyboard is in it already."""
        if self.dock is None:
            from app.ui.search.dock import SearchDock

            self.dock = SearchDock(self._window)
            files = self._window.files
            self.dock.panel.sheet_wanted.connect(lambda: files.export(with_fits=True))
            QTimer.singleShot(0, self._window, self._window.pane.fit)
        self.dock.open()

    def fits(self) -> Fits | None:
        """Return what the last search has found, for the sheet; None where nothing was."""
        return self.dock.panel.fits() if self.dock is not None else None

    @property
    def searching(self) -> bool:
        """Whether a search is under way."""
        return self.dock is not None and self.dock.panel.job.running

    @property
    def panes(self) -> tuple[tuple[QWidget, QWidget], ...]:
        """The panel while it is shown, and where in it the keyboard goes."""
        if self.dock is None or self.dock.isHidden():
            return ()
        return ((self.dock, self.dock.panel.first),)

    def close(self) -> None:
        """End a search that runs, and keep where the panel stood."""
        if self.dock is not None:
            self.dock.panel.close_job()
            self._window.preferences.set_blob("fits", self._window.saveState())
