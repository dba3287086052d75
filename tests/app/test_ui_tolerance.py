"""Worst case and contributors in the panels, and the depth profile on the board."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.window import MainWindow

Opened = Callable[..., "MainWindow"]


def profiles(window: MainWindow) -> list[str]:
    keys = window.board.picture.items.keys()
    return [key for key in keys if key.startswith("profile:")]


def test_the_depth_profile_by_key_and_menu(open_window: Opened, qtbot: QtBot) -> None:
    window = open_window()
    window.session.take_zone("front-zone")
    assert profiles(window) == []
    keys = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    QTest.keyClick(window, Qt.Key.Key_D, keys)
    assert profiles(window) == ["profile:side:front-zone:inner"]
    assert window.actions_by_name["depth_profile"].isChecked()
    window.session.take_zone("rear-zone")
    qtbot.wait(10)
    assert profiles(window) == ["profile:bottom:rear-zone:inner"]
    window.actions_by_name["depth_profile"].trigger()
    assert profiles(window) == []


def test_panels_tell_the_worst_case_once_it_is_known(open_window: Opened, qtbot: QtBot) -> None:
    window = open_window()
    window.session.take_zone("front-zone")
    qtbot.waitUntil(lambda: not window.session.looking, timeout=20_000)
    qtbot.wait(20)
    # The pump's fitting stands 1.5 mm before the card; 2.6 mm of tolerance are in the way to it.
    label = window.stack.tolerance
    assert label.text() == "worst case \N{MINUS SIGN}1.1 mm; statistical 0.4 to 2.6 mm"
    assert "front bracket, zone place along x 418.5 ± 0.8" in label.toolTip()
    card = window.findings.cards[1]
    assert "worst case \N{MINUS SIGN}1.1 mm" in card.margin.text()
    assert card.margin.toolTip() == label.toolTip()


def test_judging_by_nominal_dimensions_is_one_edit(open_window: Opened) -> None:
    window = open_window()
    box = window.enclosure.judge
    box.setCurrentText("nominal")
    box.textActivated.emit("nominal")
    assert window.session.document.layout.settings.judge == "nominal"
    assert window.session.document.undo_name == "Judge by nominal"
    window.session.undo()
    assert (window.session.document.layout.settings.judge, box.currentText()) == (
        "worst case",
        "worst case",
    )
