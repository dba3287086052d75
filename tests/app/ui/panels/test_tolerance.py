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
    keys = window.board.picture.items.shown_keys()
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
    assert label.text() == "worst case \N{MINUS SIGN}1.1 mm, statistical 0.4 to 2.6 mm"
    assert "front bracket, zone place along x 418.5 ± 0.8" in label.toolTip()
    card = window.findings.cards[1]
    assert "worst case \N{MINUS SIGN}1.1 mm" in card.margin.text()
    assert card.margin.toolTip() == label.toolTip()


def test_the_part_panel_tells_the_room_round_a_part(open_window: Opened, qtbot: QtBot) -> None:
    window = open_window()
    qtbot.waitUntil(lambda: not window.session.looking, timeout=20_000)
    window.session.select("E2")
    qtbot.wait(20)
    told = [(line.text(), limits.text()) for line, limits in window.part.room.lines]
    # The floor exchanger's port end stands 3 mm from where the supply's cables bend, and its core
    # 5 mm from the front wall; 2.75 and 2.55 mm of tolerance are in the way to them.
    assert told == [
        (
            "Depth over 1, 2: 35.0 mm to front bracket",
            "worst case 34.3 mm, statistical 34.6 to 35.4 mm",
        ),
        (
            "Port end: 3.0 mm to supply cables of power supply (0.0 mm required)",
            "worst case 0.2 mm, statistical 1.8 to 4.2 mm",
        ),
        (
            "Clearance: 5.0 mm to front wall (2.0 mm required)",
            "worst case 2.4 mm, statistical 3.8 to 6.2 mm",
        ),
    ]
    tip = window.part.room.lines[1][1].toolTip()
    assert "Exchanger 2 x 120, 30 mm, play of its screws along x 0 ± 0.5" in tip
    window.session.select("F4")
    qtbot.wait(20)
    assert window.part.room.lines[0][0].text().startswith("Depth over 2: ")
    window.session.select(None)
    assert window.part.room.lines == []


def test_judging_by_nominal_dimensions_is_one_edit(open_window: Opened) -> None:
    window = open_window()
    box = window.enclosure.judge
    box.setCurrentText("as drawn")
    box.textActivated.emit("as drawn")
    assert window.session.document.layout.settings.judge == "nominal"
    assert window.session.document.undo_name == "Judge as drawn"
    window.session.undo()
    assert (window.session.document.layout.settings.judge, box.currentText()) == (
        "worst case",
        "worst case",
    )
