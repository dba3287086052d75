"""The dock at the lower edge of the window that holds the panel of what fits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDockWidget

from app.ui.search_panel import SearchPanel

if TYPE_CHECKING:
    from app.ui.window import MainWindow

SHARE = 0.42
"""Of the window's height, when it is first opened."""

LEAST_PX = 320


class SearchDock(QDockWidget):
    """Can be drawn larger, let float on another screen, and closed; it keeps its rows."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__("What fits", window)
        self.setObjectName("fits")
        self.setAllowedAreas(
            Qt.DockWidgetArea.BottomDockWidgetArea | Qt.DockWidgetArea.TopDockWidgetArea
        )
        self.panel = SearchPanel(
            window.session, window.library, window.skin, window.notice, window.board, self
        )
        self.panel.sheet_wanted.connect(lambda: window.files.export(with_fits=True))
        self.setWidget(self.panel)
        window.addDockWidget(Qt.DockWidgetArea.BottomDockWidgetArea, self)
        blob = window.preferences.blob("fits")
        if blob is None or not window.restoreState(blob):
            high = max(LEAST_PX, round(window.height() * SHARE))
            window.resizeDocks([self], [high], Qt.Orientation.Vertical)

    def open(self) -> None:
        """Show it, with the keyboard where one goes on."""
        self.show()
        self.raise_()
        self.panel.first.setFocus(Qt.FocusReason.ShortcutFocusReason)
