"""Builders that tests of the window share. Qt is loaded only by the tests that ask for it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot
    from ui_hand import Hand

    from app.ui.window import MainWindow
    from catalog.store import Library
    from geometry.layout import Layout


@pytest.fixture(scope="session")
def shipped() -> Library:
    """The library without parts of the user's own."""
    from catalog.store import Library as Shelf

    return Shelf()


@pytest.fixture
def open_window(qtbot: QtBot, tmp_path: Path, shipped: Library) -> Callable[..., MainWindow]:
    """Open a window on a layout (the demo by default) with settings of its own."""
    from PySide6.QtCore import QSettings

    from app.demo import demo_layout
    from app.document.document import Document
    from app.ui.preferences import Preferences
    from app.ui.start import make_app
    from app.ui.window import MainWindow as Window

    def opened(
        layout: Layout | None = None, size: tuple[int, int] = (1480, 920), theme: str = "light"
    ) -> MainWindow:
        app = make_app()
        settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
        preferences = Preferences(settings)
        preferences.theme = theme
        document = Document.new(layout or demo_layout(shipped))
        window = Window(document, shipped, preferences)
        window.skin.dress(app)
        _answer_discard(window)
        qtbot.addWidget(window, before_close_func=_answer_discard)
        window.resize(*size)
        window.show()
        qtbot.waitExposed(window)
        qtbot.waitUntil(lambda: window.settled_in)
        return window

    return opened


def _answer_discard(window: MainWindow) -> None:
    """Let a window close without asking, so that no test waits for an answer."""
    window.files.ask_about_changes = lambda *_: "discard"  # type: ignore[method-assign]
    window.files.ask_about_search = lambda: True  # type: ignore[method-assign]


@pytest.fixture
def hand(qtbot: QtBot) -> Callable[[MainWindow], Hand]:
    """A hand that works a window with mouse, keys and drops."""
    from ui_hand import Hand as Worker

    return lambda window: Worker(window, qtbot)
