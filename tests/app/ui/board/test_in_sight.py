"""What was changed is in sight afterwards, and Esc brings all views back."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest

from app.ui.board.in_sight import keep_in_sight
from geometry.edits import flip_port_end

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.window import MainWindow

Open = Callable[..., "MainWindow"]


def test_a_finding_that_was_come_close_to_is_left_once_its_change_is_applied(
    open_window: Open, qtbot: QtBot
) -> None:
    window = open_window()
    qtbot.waitUntil(lambda: bool(window.findings.cards[0].mends.buttons), timeout=20_000)
    window.views.go_to_finding(0)
    assert not window.board.fitted
    offer = window.findings.cards[0].mends.buttons[0].offer
    assert offer.name.startswith("Flip port end")
    window.mends.apply(offer)
    assert window.board.fitted, "half of the exchanger was out of sight"


def test_a_view_in_which_the_change_is_seen_whole_stays(open_window: Open) -> None:
    window = open_window()
    before = window.session.checked.scene
    window.session.apply("Flip", lambda layout: flip_port_end(layout, "E1"))
    after = window.session.checked.scene
    # The exchanger is 285 mm long: here 400 mm round it are seen.
    frame = window.board.picture.frame.view("side")
    x0, _, z0, x1, y1, z1 = after.solids_of["E1"][0].bounds
    middle = QPointF(*frame.to_board(((x0 + x1) / 2, y1, (z0 + z1) / 2)))
    high = window.board.viewport().height()
    window.board._set_view(high / 400.0, middle)
    keep_in_sight(window.board, before, after)
    assert not window.board.fitted
    window.board._set_view(high / 100.0, middle)
    keep_in_sight(window.board, after, after)
    assert not window.board.fitted, "nothing has changed"
    keep_in_sight(window.board, before, after)
    assert window.board.fitted


def test_esc_clears_the_selection_and_then_shows_all_views(open_window: Open) -> None:
    window = open_window()
    window.session.select("E1")
    window.board.zoom_by(3.0)
    QTest.keyClick(window.board, Qt.Key.Key_Escape)
    assert window.session.selected is None
    assert not window.board.fitted
    QTest.keyClick(window.board, Qt.Key.Key_Escape)
    assert window.board.fitted
