"""A whole stack is moved by menu and key, undone as one step, and refused with the reason."""

from __future__ import annotations

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QApplication, QMenu

from app.ui.actions import CONTEXT_MENU
from geometry.edits import insert_item, set_locked
from geometry.layout import Layout


def two_zones(shipped) -> Layout:
    """The bench box with an exchanger for two fans on its front bracket."""
    layout = Layout(name="Bench", enclosure=shipped.enclosure("bench-box"))
    part = shipped.part("exchanger-2x120-30")
    return insert_item(layout, "front-zone", "inner", 0, part, "1")[0]


def entries(menu: QMenu) -> dict[str, QAction]:
    menu.fill()  # type: ignore[attr-defined]
    return {action.text(): action for action in menu.actions()}


def zone_of(window) -> str:
    (stack,) = window.session.document.layout.stacks
    return stack.zone


def test_the_context_menu_of_a_stacked_part_moves_its_stack(open_window, shipped) -> None:
    window = open_window(two_zones(shipped))
    window.session.select("E1")
    move = window.actions_by_name["move_stack"]
    assert "move_stack" in CONTEXT_MENU
    assert move.isEnabled()
    zones = entries(move.menu())
    assert {text: action.isEnabled() for text, action in zones.items()} == {
        "front bracket": False,
        "floor": True,
        "rear wall": False,
    }
    assert zones["front bracket"].isChecked()
    assert zones["rear wall"].toolTip() == ("Zone rear wall has 1 cell, stack S1 stands over 2.")
    assert move.menu().toolTipsVisible()
    zones["floor"].trigger()
    assert zone_of(window) == "floor-zone"
    assert window.session.document.undo_name == "Move stack to floor"
    assert window.session.at_hand.zone == "floor-zone"
    assert window.session.selected == "E1"
    window.session.undo()
    assert zone_of(window) == "front-zone"


def test_the_whole_stack_is_moved_without_a_mouse(open_window, hand, shipped) -> None:
    window = open_window(two_zones(shipped))
    me = hand(window)
    me.focus_board()
    window.session.select("E1")
    me.key("Z")
    menu = QApplication.activePopupWidget()
    assert isinstance(menu, QMenu)
    assert menu.activeAction().text() == "floor"
    me.key("Return", menu)
    assert zone_of(window) == "floor-zone"


def test_the_stack_panel_moves_the_stack_at_hand(open_window, shipped) -> None:
    window = open_window(two_zones(shipped))
    button = window.stack.settings.move_to
    assert button.isEnabled()
    entries(button.menu())["floor"].trigger()
    assert zone_of(window) == "floor-zone"
    assert window.stack.zone.currentData() == "floor-zone"


def test_what_is_locked_or_in_no_stack_has_no_zone_to_go_to(open_window, shipped) -> None:
    window = open_window(two_zones(shipped))
    window.session.select("E1")
    window.session.apply("Lock", lambda la: set_locked(la, "S1", True))
    move = window.actions_by_name["move_stack"]
    assert not move.isEnabled()
    assert not window.stack.settings.move_to.isEnabled()
    window.session.undo()
    assert move.isEnabled()
    window.session.apply("Lock", lambda la: set_locked(la, "E1", True))
    assert "is locked where it stands" in entries(move.menu())["floor"].toolTip()
    window.session.undo()
    window.actions_by_name["lift"].trigger()
    assert not move.isEnabled()
