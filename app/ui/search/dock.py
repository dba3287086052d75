"""The dock at the lower edge of the window that holds the panel of what fits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QDockWidget,
    QHBoxLayout,
    QToolButton,
    QWidget,
)

from app.ui.search.panel import SearchPanel
from app.ui.widgets import heading

if TYPE_CHECKING:
    from app.ui.window import MainWindow

SHARE = 0.42
"""Of the window's height, when it is first opened."""

LEAST_PX = 320


class SearchDock(QDockWidget):
    """Can be drawn larger, let float on another screen, and closed; it keeps its rows."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__("What fits", window)
        self._board = window.board
        self.setObjectName("fits")
        self.setAllowedAreas(
            Qt.DockWidgetArea.BottomDockWidgetArea | Qt.DockWidgetArea.TopDockWidgetArea
        )
        self.setTitleBarWidget(self._title_bar())
        self.panel = SearchPanel(
            window.session, window.library, window.skin, window.notice, window.board, self
        )
        self.setWidget(self.panel)
        _as_one(window.findings.no_cutting, self.panel.setup.no_cutting)
        window.addDockWidget(Qt.DockWidgetArea.BottomDockWidgetArea, self)
        blob = window.preferences.blob("fits")
        if blob is None or not window.restoreState(blob):
            high = max(LEAST_PX, round(window.height() * SHARE))
            window.resizeDocks([self], [high], Qt.Orientation.Vertical)

    def _title_bar(self) -> QWidget:
        """Return a title with buttons in the colours of the moment; the system's stay dark."""
        bar = QWidget()
        line = QHBoxLayout(bar)
        line.setContentsMargins(12, 3, 6, 0)
        line.setSpacing(2)
        line.addWidget(heading("What fits"))
        line.addStretch(1)
        for sign, tip, act in (
            ("❐", "Let the panel float, or put it back (a second screen has room for it)",
             lambda: self.setFloating(not self.isFloating())),
            ("✕", "Close the panel; its rows stay (Ctrl+Shift+F in it)", self.leave),
        ):  # fmt: skip
            button = QToolButton()
            button.setText(sign)
            button.setToolTip(tip)
            button.setAccessibleName(tip)
            button.clicked.connect(act)
            line.addWidget(button)
        return bar

    def open(self) -> None:
        """Show it with the keyboard in it; hide it where the keyboard is in it already."""
        if self.isVisible() and self.isAncestorOf(QApplication.focusWidget() or self._board):
            self.leave()
            return
        self.show()
        self.raise_()
        self.panel.first.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def leave(self) -> None:
        """Hide it, and go back to the board."""
        self.hide()
        self._board.setFocus(Qt.FocusReason.OtherFocusReason)


def _as_one(first: QCheckBox, second: QCheckBox) -> None:
    """Make two boxes one setting; the second takes over what the first says now."""
    second.setChecked(first.isChecked())
    first.toggled.connect(second.setChecked)
    second.toggled.connect(first.setChecked)
