"""A whole stack is moved by menu and key, undone as one step, and refused with the reason."""

from __future__ import annotations

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QApplication, QMenu

from app.ui.actions import CONTEXT_MENU
from geometry.edits import insert_item, set_locked, set_slide
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
        "rear wall: has 1 cell, the stack stands over 2": False,
    }
    assert zones["front bracket"].isChecked()
    reason = "Zone rear wall has 1 cell, the stack stands over 2."
    refused = zones["rear wall: has 1 cell, the stack stands over 2"]
    assert (refused.toolTip(), refused.statusTip()) == (reason, reason)
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
    remove, settings = window.actions_by_name["remove_stack"], window.stack.settings
    for moving in (move, remove, settings.move_to, settings.remove, settings.slide_u):
        assert not moving.isEnabled()
    assert settings.air.isEnabled(), "that moves nothing"
    (locked,) = (text for text in entries(move.menu()) if text.startswith("floor: "))
    assert "is locked where it stands" in locked
    window.session.undo()
    window.actions_by_name["lift"].trigger()
    assert not move.isEnabled()


def test_a_stack_moved_there_and_back_stands_as_before_and_a_lost_slide_is_told(
    open_window, shipped
) -> None:
    layout = two_zones(shipped)
    room = layout.enclosure
    round_holes = tuple(
        zone.but(cells=tuple(c.but(slot_u_mm=(0, 0), slot_v_mm=(0, 0)) for c in zone.cells))
        if zone.id == "floor-zone"
        else zone
        for zone in room.zones
    )
    window = open_window(layout.but(enclosure=room.but(zones=round_holes)))
    window.session.apply("Slide stack", lambda la: set_slide(la, "S1", 3.0, 0.0))
    before = window.session.document.layout
    move = window.actions_by_name["move_stack"].menu()
    window.session.select("E1")
    entries(move)["floor"].trigger()
    (stack,) = window.session.document.layout.stacks
    assert (stack.zone, stack.slide_u_mm) == ("floor-zone", 0.0)
    assert window.notice.text.startswith("The stack was slid 3.0 mm along +z on zone front bracket")
    assert "Ctrl+Z undoes the move" in window.notice.text
    entries(move)["front bracket"].trigger()
    assert window.session.document.layout == before


def test_the_key_for_a_stack_that_can_go_nowhere_tells_why(open_window, hand, shipped) -> None:
    layout = two_zones(shipped)
    fan = shipped.part("fan-120-25")
    window = open_window(insert_item(layout, "floor-zone", "inner", 0, fan, "1")[0])
    me = hand(window)
    me.focus_board()
    window.session.select("E1")
    me.key("Z")
    assert QApplication.activePopupWidget() is None
    assert window.notice.text == (
        "The stack can go to no other zone. Zone floor is taken by Fan 120 x 25 (F1); move or "
        "remove that first. Zone rear wall has 1 cell, the stack stands over 2."
    )


def test_a_whole_stack_is_taken_out_by_key_menu_and_panel_as_one_step(
    open_window, hand, shipped
) -> None:
    window = open_window(two_zones(shipped))
    before = window.session.document.layout
    me = hand(window)
    me.focus_board()
    window.session.select("E1")
    assert "remove_stack" in CONTEXT_MENU
    for take_out in (
        lambda: me.key("Shift+Del"),
        window.actions_by_name["remove_stack"].trigger,
        window.stack.settings.remove.click,
    ):
        take_out()
        assert window.session.document.layout.stacks == ()
        assert window.session.document.undo_name == "Take out the stack on front bracket"
        assert window.session.at_hand.zone == "front-zone"
        assert not window.actions_by_name["remove_stack"].isEnabled()
        window.session.undo()
        assert window.session.document.layout == before
    window.session.apply("Lock", lambda la: set_locked(la, "S1", True))
    assert not window.actions_by_name["remove_stack"].isEnabled()
    assert not window.stack.settings.remove.isEnabled()
