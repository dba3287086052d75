"""How far a stack may be slid on: as far as the full check lets it."""

from __future__ import annotations

import pytest
from small_rooms import block, fan, fan_layer, layout, room, row, stack, zone

from catalog.shapes import Plug
from geometry.checks.runner import check_layout
from geometry.finding import Verdict
from geometry.layout import Layout
from geometry.search.answers import free_slide_mm
from geometry.search.judging.alone import slide_steps
from geometry.search.slide_words import free_words, slid_words, slots_of


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
    slots = slots_of(scene.items_of(scene.layout.stack("S")))
    assert slots == ((-20.0, 20.0), (0.0, 0.0))
    assert slid_words(frame, (5.0, 0.0), slots) == "5.0 mm to the front (along +x)"
    assert slid_words(frame, (-20.0, 0.04), slots) == (
        "20.0 mm to the rear (along -x), end of its slots"
    )
    assert slid_words(frame, (0.0, 0.0), slots) == "unslid, middle of its slots"
    # 10 mm to the plug and the 5 mm that it stands ahead of the middle; slots end at 20 mm.
    told = free_words(frame, free_slide_mm(scene, "S"))
    assert told == (
        "15.0 mm to the rear or 15.0 mm to the front from there, until it touches or its slots end"
    )
    assert free_words(frame, ((0.0, 0.04), (0.0, 0.0))) == "no"


def test_a_place_is_called_an_end_or_the_middle_of_its_slots_only_where_it_is_that() -> None:
    frame = check_layout(beside_a_plug(0.0)).scene.frames["floor-zone"]
    uneven = ((-1.0, 31.0), None)
    told = [slid_words(frame, (mm, 0.0), uneven) for mm in (0.0, -1.0, 15.0, 31.0)]
    assert told == [
        "unslid",
        "1.0 mm to the rear (along -x), end of its slots",
        "15.0 mm to the front (along +x), middle of its slots",
        "31.0 mm to the front (along +x), end of its slots",
    ]
    both = ((-1.0, 31.0), (-4.0, 4.0))
    assert slid_words(frame, (0.0, 0.0), both) == "unslid, middle along y of its slots"
    assert slid_words(frame, (-1.0, 0.0), both) == (
        "1.0 mm to the rear (along -x), end along x and middle along y of its slots"
    )
    assert slid_words(frame, (0.0, 0.0), (None, None)) == "unslid"


def test_what_is_listed_of_uneven_slots_is_what_is_said_of_it() -> None:
    """Of slots from -1 to 31 mm: as it lies, then both ends, then their middle too."""
    cell = row(1)[0].but(slot_u_mm=(-1.0, 31.0))
    own = zone("floor-zone", "floor", (100, 40, 0), "+x", "+y", (cell,))
    blower = fan(25)
    standing = stack("S", "floor-zone", fan_layer("F", blower, ["c1"]))
    lay = layout(room((400, 200, 200), [own]), [blower], [standing])
    placed = check_layout(lay).scene.items_of(standing)
    listed = [[u for u, _ in slide_steps(placed, steps)] for steps in (1, 2, 3)]
    assert listed == [[0.0], [0.0, -1.0, 31.0], [0.0, -1.0, 15.0, 31.0]]
