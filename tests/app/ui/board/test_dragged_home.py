"""An item of a stack that is dragged a little stays in the zone in which it stands."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from ui_hand import Hand

from app.ui.window import MainWindow
from geometry.edits.base import find_spot
from geometry.measures.solid import Role


def spot_on(me: Hand, part_id: str, view: str) -> QPoint:
    """Return a place on a part near a corner of its body, else in the middle."""
    scene = me.window.session.checked.scene
    body = [s.bounds for s in scene.solids_of[part_id] if s.role in (Role.BODY, Role.PORT_END)]
    ends = [(min(b[k] for b in body), max(b[k + 3] for b in body)) for k in range(3)]
    for share in (0.1, 0.5):
        at = me.at(tuple(low + share * (high - low) for low, high in ends), view)  # type: ignore[arg-type]
        if part_id in me.board.owners_at(me.board.mapToScene(at)):
            break
    return at


def zone_of(window: MainWindow, part_id: str) -> str:
    spot = find_spot(window.session.layout, part_id)
    assert spot is not None, f"{part_id} is in no stack"
    return spot.stack.zone


def zones_on_the_way(me: Hand, part_id: str, at: QPoint, *ways: QPoint) -> list[str]:
    """Select a part and drag it to and fro; return the zones in which it then stands."""
    me.window.session.select(part_id)
    me.press(at)
    me.move(at + ways[0] * 0.5)
    zones = []
    for by in ways:
        me.move(at + by)
        assert me.window.session.trying
        zones.append(zone_of(me.window, part_id))
    QTest.keyClick(me.board, Qt.Key.Key_Escape)
    me.release(at + ways[-1])
    return zones


@pytest.mark.parametrize("view", ["side", "bottom"])
def test_every_item_of_the_demo_stays_in_its_zone(open_window, hand, view: str) -> None:
    window = open_window()
    me = hand(window)
    scene = window.session.checked.scene
    strayed = {}
    for one in scene.placed.values():
        if one.frame is not None:
            at = spot_on(me, one.id, view)
            zones = zones_on_the_way(me, one.id, at, QPoint(-20, 5), QPoint(20, -5))
            if {*zones} != {one.frame.zone.id}:
                strayed[one.id] = zones
    assert strayed == {}


def test_the_floor_exchanger_slides_in_the_bottom_view(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    x0 = window.session.checked.scene.placed["E2"].pose.shift[0]
    at = me.at((180.0, 140.0, 0.0), "bottom")
    me.drag(at, at + QPoint(-20, 0))
    assert zone_of(window, "E2") == "floor-zone"
    assert window.session.document.history_names == ("Slide stack",)
    assert window.session.checked.scene.placed["E2"].pose.shift[0] < x0


def test_it_leaves_its_zone_for_another_one_that_it_is_dragged_onto(open_window, hand) -> None:
    """Held by its middle, x = 293, and dragged to the first layer on the bracket, x = 403.5."""
    window = open_window()
    me = hand(window)
    window.session.select("E2")
    me.drag(me.at((293.0, 100.0, 0.0), "bottom"), me.at((403.0, 100.0, 0.0), "bottom"))
    assert zone_of(window, "E2") == "front-zone"
