"""Where the panel of what fits stands: beside the board, on or off the window, however low."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from facing_fans import two_zones
from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtWidgets import QApplication

from app.ui.search.dock import LEAST_PX, LEAST_WINDOW, MOST_SHARE, USUAL_WINDOW, first_place

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow

SCREEN, SECOND = QRect(0, 0, 1600, 1000), QRect(1600, 0, 1280, 1024)


def test_first_put_out_it_leaves_the_upper_part_of_the_board_free() -> None:
    place = first_place(SCREEN, [])
    assert SCREEN.contains(place)
    assert place.top() > SCREEN.height() // 2
    assert place.height() >= LEAST_WINDOW.height()


@pytest.mark.parametrize("second", [SECOND, QRect(-800, 0, 800, 600)])
def test_first_put_out_it_takes_another_screen_where_there_is_one(second: QRect) -> None:
    place = first_place(SCREEN, [second])
    assert second.contains(place)
    assert place.size() == USUAL_WINDOW.boundedTo(second.size())


def test_a_sign_that_was_clicked_does_not_stay_marked(
    opened: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, _ = opened
    dock = window.fits.dock
    assert dock is not None
    for floats in (True, False):
        # So Qt leaves it where the sign goes away from the pointer.
        dock._out.setAttribute(Qt.WidgetAttribute.WA_UnderMouse)
        dock._out.click()
        assert dock.isFloating() is floats
        qtbot.waitUntil(lambda: not dock._out.underMouse())


def test_the_board_has_its_part_again_where_the_window_has_become_lower(
    open_window: Callable[..., MainWindow], qtbot: QtBot
) -> None:
    window = open_window(two_zones(), size=(1000, 900))
    window.fits.open()
    dock = window.fits.dock
    assert dock is not None
    QApplication.processEvents()
    window.resizeDocks([dock], [500], Qt.Orientation.Vertical)
    QApplication.processEvents()
    assert dock.height() == 500, "as high as one likes, in a window that stays as it is"
    window.resize(QSize(1000, 640))
    qtbot.waitUntil(lambda: dock.height() <= max(LEAST_PX, MOST_SHARE * 640))
    assert window.middle.height() >= 200


def test_the_line_of_progress_cuts_nothing_of_what_is_set_up(
    opened: tuple[MainWindow, SearchPanel], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, panel = opened
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    assert panel.split.beside
    before = panel.setup.height()
    panel.search()
    QApplication.processEvents()
    assert panel.progress.isVisible()
    assert panel.setup.height() == before
