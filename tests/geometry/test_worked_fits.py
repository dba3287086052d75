"""Fits worked by hand, on invented enclosures: the sums stand in the comments.

Frames are 120 mm. An exchanger's port end is 30 mm long and its return end 15 mm; a fitting stands
24 mm out of a port and is 20 mm across. The margin is 2 mm.
"""

from __future__ import annotations

import pytest
from small_rooms import (
    block,
    exchanger,
    fan,
    fan_layer,
    found,
    layout,
    one,
    room,
    row,
    said,
    stack,
    zone,
)

from catalog.enclosure import Enclosure
from geometry.checks.runner import check_layout
from geometry.layout import Layer, Layout

TWO = ("c1", "c2")


def roof_room(depth_mm: float) -> Enclosure:
    """A zone of two cells under the roof, `depth_mm` above the floor."""
    cells = row(2)
    return room(
        (400, 200, depth_mm), [zone("roof-zone", "roof", (80, 160, depth_mm), "+x", "-y", cells)]
    )


# Stack arithmetic, common practice of the trade: thicknesses add up, the rest is left.


@pytest.mark.parametrize(
    ("core_mm", "total_mm", "left_mm"),
    [
        (60.0, 110.0, 70.0),  # 25 + 60 + 25 = 110; 180 - 110 = 70
        (30.0, 80.0, 100.0),  # 25 + 30 + 25 = 80; 180 - 80 = 100
    ],
)
def test_push_pull_stack_adds_up_and_leaves_the_rest(
    core_mm: float, total_mm: float, left_mm: float
) -> None:
    core, blower = exchanger(2, core_mm, ports=0), fan(25)
    layers = (fan_layer("A", blower, TWO), one("E", core), fan_layer("B", blower, TWO))
    report = check_layout(
        layout(roof_room(180), [core, blower], [stack("S", "roof-zone", *layers)])
    ).report
    (depth,) = report.depths
    assert [(span.base_mm, span.top_mm) for span in depth.layers] == [
        (0.0, 25.0),
        (25.0, 25.0 + core_mm),
        (25.0 + core_mm, total_mm),
    ]
    assert depth.total_mm == total_mm
    assert [(left.cell, left.mm, left.limited_by) for left in depth.cells] == [
        ("c1", left_mm, "floor"),
        ("c2", left_mm, "floor"),
    ]
    assert depth.clear_mm == 180.0
    assert said(report, clear=True) == [("leftover_depth", "clear", ("B.1", "S", "floor"), left_mm)]


# One cell on the front wall at x = 300; a duct ends at x = 240, so the clear depth is 60 mm.
#   slim:   30 + 25 = 55 leaves 60 - 55 = 5 mm, 3 mm above the margin
#   medium: 45 + 25 = 70 lacks 70 - 60 = 10 mm to touching, 12 mm to the margin


@pytest.mark.parametrize(
    ("core_mm", "expected"),
    [
        (30.0, [("leftover_depth", "clear", ("E", "S", "duct"), 5.0)]),
        (45.0, [("leftover_depth", "blocked", ("E", "S", "duct"), -10.0)]),
    ],
)
def test_one_fan_zone_admits_slim_and_refuses_the_next_thicker(
    core_mm: float, expected: list[object]
) -> None:
    core, blower = exchanger(1, core_mm, ports=0), fan(25)
    box = room(
        (300, 200, 240),
        [zone("front-zone", "front", (300, 40, 60), "+z", "+y", row(1))],
        [block("duct", (100, 30, 30), (240, 170, 210))],
    )
    layers = (fan_layer("A", blower, ["c1"]), one("E", core))
    report = check_layout(layout(box, [core, blower], [stack("S", "front-zone", *layers)])).report
    assert said(report, clear=True) == expected
    if core_mm == 45.0:
        assert found(report, "leftover_depth").to_margin_mm == pytest.approx(-12.0)


# A floor zone of three cells and a front zone of two, both stacks 25 + 30 = 55 mm deep.
#
# Cavity 440 x 200 x 400. Floor cells: cores start at x = 20, so a core for three ends at x = 380
# and its port end at 410; a core for two ends at 260, its port end at 290. The fan takes z = 0 to
# 25, the exchanger 25 to 55, its fitting 55 to 79, at x = 395 - 10 to 395 + 10.
# Front cells: cores start at z = 20. A front core for two takes z = 20 to 260, its return end
# 5 to 20, its port end 260 to 290; a core for one on the upper cell 140 to 260, return end from
# 125. The fans take x = 415 to 440, the exchanger 385 to 415.


def corner(floor_fans: int, front_fans: int) -> Layout:
    blower = fan(25)
    floor_core, front_core = exchanger(floor_fans, 30), exchanger(front_fans, 30)
    box = room(
        (440, 200, 400),
        [
            zone("floor-zone", "floor", (20, 40, 0), "+x", "+y", row(3)),
            zone("front-zone", "front", (440, 40, 20), "+z", "+y", row(2)),
        ],
    )
    floor_cells = [f"c{k + 1}" for k in range(floor_fans)]
    front_cells = [f"c{k + 1}" for k in range(2 - front_fans, 2)]
    return layout(
        box,
        [blower, floor_core, front_core],
        [
            stack(
                "floor", "floor-zone", fan_layer("A", blower, floor_cells), one("E1", floor_core)
            ),
            stack(
                "front",
                "front-zone",
                fan_layer("B", blower, front_cells),
                one("E2", front_core, front_cells[0]),
            ),
        ],
    )


@pytest.mark.parametrize(("floor_fans", "front_fans"), [(2, 2), (3, 1), (1, 2)])
def test_floor_and_front_go_together(floor_fans: int, front_fans: int) -> None:
    # Two and two: the floor's port end stops at x = 290, 95 mm short of x = 385.
    # Three and one: the floor's fitting ends at z = 79, 46 mm under z = 125.
    assert said(check_layout(corner(floor_fans, front_fans)).report) == []


def test_three_on_the_floor_and_two_at_the_front_exclude_each_other() -> None:
    # The floor's port end, x = 380 to 410 and z = 25 to 55, runs into the front exchanger, which
    # starts at x = 385 and z = 5: 410 - 385 = 25 mm along x, against 55 - 5 = 50 mm along z.
    # Volume: the port end 25 x 120 x 30 = 90 000 mm3, and all of the fitting, whose round lies at
    # x = 385 to 405: pi x 10^2 x 24 = 7539.8 mm3.
    # Flipped, the port end reaches x = 20 - 30 = -10, through the rear wall at x = 0.
    report = check_layout(corner(3, 2)).report
    assert said(report) == [("port_end", "blocked", ("E1", "E2"), -25.0)]
    fault = found(report, "port_end")
    assert fault.to_margin_mm == pytest.approx(-27.0)
    assert fault.volume_mm3 == pytest.approx(90_000 + 7539.822, abs=0.01)
    assert fault.shift == pytest.approx((-25.0, 0.0, 0.0))
    assert fault.remedies == ()


# Under a roof at z = 180, cells from x = 60: the core ends at x = 300, the port end at 330. A peg
# stands at x = 325 to 335: 330 - 325 = 5 mm missing. Flipped, the return end stops at 315, 10 mm
# before the peg, and the port end takes x = 30 to 60. The exchanger is 30 mm thick: its fitting
# hangs from z = 150 to 126, at x = 35 to 55 when flipped.


def pegged(*more: tuple[str, tuple[float, float, float], tuple[float, float, float]]) -> Layout:
    core = exchanger(2, 30)
    box = room(
        (440, 200, 180),
        [zone("roof-zone", "roof", (60, 160, 180), "+x", "-y", row(2))],
        [block("peg", (325, 90, 140), (335, 110, 180)), *(block(*b) for b in more)],
    )
    return layout(box, [core], [stack("S", "roof-zone", one("E", core))])


def test_a_peg_stops_the_port_end_and_the_flipped_end_clears_it() -> None:
    report = check_layout(pegged()).report
    assert said(report) == [("port_end", "blocked", ("E", "peg"), -5.0)]
    fault = found(report, "port_end")
    flip = fault.remedies[0]
    assert flip.name == "Flip port end of Exchanger 2 x 120, 30 (E)"
    assert flip.layout.stacks[0].inner[0].items[0].turn == 2
    assert said(check_layout(flip.layout).report) == []
    # Flipped, the port end stops at x = 60 and the peg starts at 325.
    assert flip.gives == "leaves 265.0 mm to peg"
    assert fault.title.endswith(
        "is stopped by peg: overlaps 5.0 mm, 7.0 mm missing to the 2.0 mm margin"
    )
    # Turned over, the port end stays where it is.
    assert fault.advice.endswith("Not advised: turning the port face of E (overlaps peg 5.0 mm).")


def test_in_the_worst_case_what_was_not_tried_says_how_far_to_move_at_least() -> None:
    # 7.0 mm keep the margin as drawn; tolerances ask for more.
    of = pegged()
    of = of.but(settings=of.settings.but(judge="worst case"))
    fault = found(check_layout(of).report, "port_end")
    assert fault.title.endswith("7.0 mm missing to the 2.0 mm margin as drawn")
    assert fault.advice.startswith(
        "Exchanger 2 x 120, 30 (E) is bolted to roof zone and cannot move at least 7.0 mm to the "
        "rear. "
    )


def test_a_flip_is_not_advised_when_its_fitting_strikes_something_else() -> None:
    # A duct reaches up to z = 130 below the flipped fitting, which ends at 126: 4 mm missing. The
    # flipped end itself, down to z = 150, stays 20 mm clear of the duct.
    report = check_layout(pegged(("duct", (20, 20, 0), (70, 180, 130)))).report
    assert said(report) == [("port_end", "blocked", ("E", "peg"), -5.0)]
    fault = found(report, "port_end")
    assert [r.name for r in fault.remedies if "Flip" in r.name] == []
    assert "Not advised: flipping the port end of E (then blocked: E, duct);" in fault.advice


def test_turning_the_port_face_is_refused_when_the_fitting_then_meets_the_roof() -> None:
    # Turned over, the port faces the plate: its fitting runs 24 mm up through the roof.
    report = check_layout(pegged()).report
    assert [r.name for r in found(report, "port_end").remedies] == [
        "Flip port end of Exchanger 2 x 120, 30 (E)"
    ]


def test_layers_seat_on_the_thickest_of_what_lies_under_them() -> None:
    # Fans of 25 and 38 mm under one core: it seats at 38, so 38 + 30 = 68 and 180 - 68 = 112.
    core, slim, thick = exchanger(2, 30, ports=0), fan(25), fan(38)
    mixed = Layer(
        id="A",
        items=(
            fan_layer("A1", slim, ["c1"]).items[0],
            fan_layer("A2", thick, ["c2"]).items[0],
        ),
    )
    report = check_layout(
        layout(
            roof_room(180), [core, slim, thick], [stack("S", "roof-zone", mixed, one("E", core))]
        )
    ).report
    assert [(s.base_mm, s.top_mm) for s in report.depths[0].layers] == [(0.0, 38.0), (38.0, 68.0)]
    assert report.depths[0].least.mm == 112.0
