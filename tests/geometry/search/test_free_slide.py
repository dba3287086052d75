"""How far a stack may be slid on: as far as the full check lets it."""

from __future__ import annotations

import pytest
from small_rooms import block, fan, fan_layer, layout, room, row, stack, zone

from catalog.shapes import Plug
from geometry.checks.runner import check_layout
from geometry.finding import Verdict
from geometry.layout import Layout
from geometry.search.answers import free_slide_mm
from geometry.search.slide_words import free_words, slid_words


def beside_a_plug(slide_mm: float) -> Layout:
    """A fan on the floor, x = 100 to 220, and a board whose plug reaches from x = 60 to 90."""
    plug = Plug(
        id="p", name="plug", at_mm=(60.0, 100.0, 10.0), facing="+x",
        width_mm=10.0, height_mm=10.0, plug_mm=30.0,
    )  # fmt: skip
    board = block("board", (40, 60, 0), (60, 140, 60), kind="board", plugs=(plug,))
    floor = zone("floor-zone", "floor", (100, 40, 0), "+x", "+y", row(1, slot_u_mm=20))
    box = room((400, 200, 200), [floor], [board])
    blower = fan(25)
    standing = stack("S", "floor-zone", fan_layer("F", blower, ["c1"]), slide_u_mm=slide_mm)
    return layout(box, [blower], [standing])


def blocked(slide_mm: float) -> bool:
    found = check_layout(beside_a_plug(slide_mm)).report.findings
    return any(f.verdict is Verdict.BLOCKED for f in found)


def test_room_kept_for_a_plug_ends_the_free_slide_where_the_check_is_blocked() -> None:
    (back, ahead), _ = free_slide_mm(check_layout(beside_a_plug(0.0)).scene, "S")
    # The plug ends at x = 90, 10 mm before the fan; the board itself is 40 mm away.
    assert back == pytest.approx(10.0)
    assert ahead > 0.0
    assert not blocked(-back)
    assert blocked(-back - 0.5)


def test_a_slide_is_told_by_where_it_goes_and_what_is_free_from_where_it_stands() -> None:
    scene = check_layout(beside_a_plug(5.0)).scene
    frame = scene.frames["floor-zone"]
    assert slid_words(frame, (5.0, 0.0)) == "5.0 mm to the front (along +x)"
    assert slid_words(frame, (-20.0, 0.04)) == "20.0 mm to the rear (along -x)"
    assert slid_words(frame, (0.0, 0.0)) == "middle"
    # 10 mm to the plug and the 5 mm that it stands ahead of the middle; slots end at 20 mm.
    told = free_words(frame, free_slide_mm(scene, "S"))
    assert told == (
        "15.0 mm to the rear or 15.0 mm to the front from there, until it touches or its slots end"
    )
    assert free_words(frame, ((0.0, 0.04), (0.0, 0.0))) == "no"
