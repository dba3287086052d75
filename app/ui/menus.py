"""The menus and the tool bar of the window, made from the tables of its actions."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QSize
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMainWindow, QMenu, QToolBar

from app.ui.actions import MENUS, TOOLBAR, fill_menu
from app.ui.file_commands import FileCommands


class RecentMenu(QMenu):
    """The layouts that were open before, to open again; filled as the menu round it opens."""

    def __init__(self, files: FileCommands) -> None:
        super().__init__("Open &recent")
        self._files = files
        self.menuAction().setToolTip("Open a layout that was open before")

    def fill(self) -> None:
        """List what was open before."""
        self.clear()
        for number, path in enumerate(self._files.recent.paths, 1):
            action = self.addAction(f"&{number % 10} {path.name}")
            action.setToolTip(str(path))
            action.triggered.connect(lambda _=False, p=path: self._files.open_path(p))
        self.setEnabled(not self.isEmpty())


def add_menus(window: QMainWindow) -> dict[str, QMenu]:
    """Put all menus into the menu bar of a window, with nothing in them; return them by title."""
    return {title: window.menuBar().addMenu(title) for title in MENUS}


def fill_menus(
    menus: Mapping[str, QMenu], actions: Mapping[str, QAction], submenus: Mapping[str, QMenu]
) -> None:
    """Fill the menus of the menu bar."""
    for title, menu in menus.items():
        menu.setToolTipsVisible(True)
        fill_menu(menu, MENUS[title], actions, submenus)


def add_tool_bar(window: QMainWindow, actions: Mapping[str, QAction]) -> None:
    """Give a window its tool bar."""
    bar = QToolBar("Tools", window)
    bar.setObjectName("tools")
    bar.setMovable(False)
    bar.setIconSize(QSize(18, 18))
    for name in TOOLBAR:
        if name == "-":
            bar.addSeparator()
        else:
            bar.addAction(actions[name])
    window.addToolBar(bar)
