"""Rules of room: shared room, gaps, walls, port ends, plugs."""

from __future__ import annotations

from dataclasses import replace

import pytest
from small_rooms import (
    IN_OR_OUT,
    PUMP,
    block,
    brick,
    exchanger,
    fan,
    fan_layer,
    found,
    free,
    layout,
    one,
    room,
    row,
    said,
    stack,
    zone,
)

from catalog.enclosure import OutsideSolid, ZoneSide
from catalog.model import FrozenMap
from catalog.parts import Fan, Fitting, Pump
from catalog.shapes import Axis, Box, Cylinder, Plug
from geometry.checks.runner import check_layout
from geometry.finding import NotRun, Report
from geometry.layout import Held, Item, Layer, Layout, PairMargin, PortUse, Settings

BOX = room((300, 200, 200))
CUBE = brick("cube", (40, 40, 40))


def report(of: Layout) -> Report:
    return check_layout(of).report


def two_cubes(gap_mm: float, **settings: object) -> Layout:
    """Cubes of 40 mm on the floor, the second `gap_mm` behind the first along x."""
    return layout(
        BOX,
        [CUBE],
        frees=[free("A", CUBE, (100, 100, 0)), free("B", CUBE, (140 + gap_mm, 100, 0))],
        settings=Settings(judge="nominal", **settings),  # type: ignore[arg-type]
    )


# ---- overlap and clearance ----


def bar(axis: Axis) -> Pump:
    """A round bar of radius 20 and length 60 along x or y, over the place where it is put."""
    low = (-30.0, 0.0, 20.0) if axis == "x" else (0.0, -30.0, 20.0)
    body = Cylinder(axis=axis, at_mm=low, diameter_mm=40.0, length_mm=60.0)
    return PUMP.model_copy(
        update={"id": f"bar-{axis}", "plate": None, "bodies": (body,), "ports": ()}
    )


def test_parts_that_share_room_are_blocked_with_volume_and_least_shift() -> None:
    # 3 mm of 40 x 40: 4800 mm3; A steps back to the rear by 3 mm, 5 mm for the margin.
    of = report(two_cubes(-3))
    assert said(of) == [("overlap", "blocked", ("A", "B"), -3.0)]
    fault = found(of, "overlap")
    assert fault.volume_mm3 == pytest.approx(4800.0)
    assert fault.shift == (-3.0, 0.0, 0.0)
    assert fault.to_margin_mm == -5.0
    assert "3.0 mm to the rear to touch, by 5.0 mm to keep the margin" in fault.advice
    assert fault.place == pytest.approx((118.5, 100.0, 20.0))


def test_while_dragging_the_volume_of_bars_across_each_other_is_left_for_later() -> None:
    bars = [bar("x"), bar("y")]
    of = layout(
        BOX,
        bars,
        frees=[free("A", bars[0], (100, 100, 0)), free("B", bars[1], (100, 100, 0))],
        settings=Settings(judge="nominal"),
    )
    quick = check_layout(of, remedies=False, volumes="quick")
    (fault,) = quick.report.findings
    assert (fault.volume_mm3, fault.overlaps) == (None, True)
    whole = check_layout(of, quick)
    # 16/3 r^3, after Archimedes, The Method.
    assert found(whole.report, "overlap").volume_mm3 == pytest.approx(16 / 3 * 20**3)
    cubes = check_layout(two_cubes(-3), remedies=False, volumes="quick")
    assert found(cubes.report, "overlap").volume_mm3 == pytest.approx(4800.0)


def test_without_volumes_all_else_is_told_and_the_next_check_has_them_again() -> None:
    whole = check_layout(two_cubes(-3), remedies=False)
    quick = check_layout(two_cubes(-3), remedies=False, volumes="none")
    (fault,) = quick.report.findings
    assert fault.volume_mm3 is None
    assert replace(fault, volume_mm3=found(whole.report, "overlap").volume_mm3) in (
        whole.report.findings
    )
    assert check_layout(two_cubes(-3), quick, remedies=False).report == whole.report
    assert check_layout(two_cubes(-3), whole, remedies=False, volumes="none").report == whole.report


@pytest.mark.parametrize(
    ("gap_mm", "expected"),
    [
        (0.0, [("clearance", "tight", ("A", "B"), 0.0)]),
        (1.9, [("clearance", "tight", ("A", "B"), 1.9)]),
        (2.0, []),
        (5.0, []),
    ],
)
def test_a_gap_is_tight_below_the_margin_and_clear_from_there(
    gap_mm: float, expected: list[object]
) -> None:
    assert said(report(two_cubes(gap_mm))) == expected


def test_advice_to_move_away_names_the_way() -> None:
    # B stands 0.5 mm to the front of A: A goes 1.5 mm to the rear.
    assert found(report(two_cubes(0.5)), "clearance").advice == "Move cube (A) 1.5 mm to the rear."


def test_advice_to_move_away_from_an_edge_across_a_corner_promises_no_figure_along_one_way() -> (
    None
):
    # The post begins 1 mm to the front of A and 0.5 mm beside it: 1.118 mm, 0.882 short.
    post = block("post", (121, 120.5, 0), (140, 140, 40))
    of = layout(
        room((300, 200, 200), obstacles=[post]), [CUBE], frees=[free("A", CUBE, (100, 100, 0))]
    )
    advice = found(report(of), "clearance").advice
    assert advice == "Move cube (A) 0.9 mm farther away (to the rear)."


def fans_over_a_cube(*fans: Fan) -> Layout:
    """Fans hang from a roof at 100, and over a free cube whose top stands 86 off the floor."""
    roof = zone("roof-zone", "roof", (60, 160, 100), "+x", "-y", row(1))
    layers = [fan_layer(f"A{k}", each, ["c1"]) for k, each in enumerate(fans)]
    return layout(
        room((300, 200, 100), [roof]),
        [*dict.fromkeys(fans), CUBE],
        [stack("S", "roof-zone", *layers)],
        frees=[free("R", CUBE, (120, 100, 46))],
    )


def test_a_free_part_under_a_lone_fan_is_to_move_and_the_fan_not_to_be_thinner() -> None:
    # The fan's face is at 75: 11 too deep, 13 for the margin.
    advice = found(report(fans_over_a_cube(fan(25))), "leftover_depth").advice
    assert advice.startswith("Move cube (R) 13.0 mm down, so that the margin of 2.0 mm is kept.")
    assert "thinner" not in advice


def test_a_free_part_under_layers_may_move_or_they_may_be_thinner() -> None:
    # Two fans of 15 end at 70: 16 too deep. They have no exchanger of which to leave a face bare.
    advice = found(report(fans_over_a_cube(fan(15), fan(15))), "leftover_depth").advice
    assert advice.startswith(
        "Move cube (R) 18.0 mm down, so that the margin of 2.0 mm is kept. "
        "Or make the stack as much thinner: thinner parts."
    )


def test_a_margin_of_a_pair_of_roles_stands_in_for_the_layouts() -> None:
    pair = (PairMargin(roles=("body", "body"), margin_mm=6.0),)
    assert said(report(two_cubes(5, margins=pair))) == [("clearance", "tight", ("A", "B"), 5.0)]
    cable = (PairMargin(roles=("cable", "body"), margin_mm=6.0),)
    assert said(report(two_cubes(5, margins=cable))) == []


def test_a_cable_bundle_has_its_own_margin() -> None:
    cable = block("loom", (160, 80, 0), (170, 120, 40), kind="cable")
    pair = (PairMargin(roles=("body", "cable"), margin_mm=45.0),)
    of = layout(
        room((300, 200, 200), obstacles=[cable]),
        [CUBE],
        frees=[free("A", CUBE, (100, 100, 0))],
        settings=Settings(margins=pair, judge="nominal"),
    )
    # The cube ends at x = 120, the loom starts at 160.
    assert said(report(of)) == [("clearance", "tight", ("A", "loom"), 40.0)]


def test_an_obstacle_that_can_be_taken_out_is_offered_as_a_remedy() -> None:
    cage = block("cage", (110, 80, 0), (150, 120, 40), states=IN_OR_OUT)
    of = report(
        layout(
            room((300, 200, 200), obstacles=[cage]), [CUBE], frees=[free("A", CUBE, (100, 100, 0))]
        )
    )
    fault = found(of, "overlap")
    assert (fault.ids, fault.measured_mm) == (("A", "cage"), -10.0)
    # The cube's front face is 10 mm inside the cage; 2 mm more for the margin.
    assert [r.name for r in fault.remedies] == [
        "Move cube (A) 12.0 mm to the rear",
        "Take out cage",
    ]
    assert [said(report(r.layout)) for r in fault.remedies] == [[], []]


def test_each_of_two_ribs_of_one_name_is_taken_out_for_its_own_cube() -> None:
    ribs = [
        block(rib, (x, 80, 0), (x + 10, 120, 100), states=IN_OR_OUT).but(name="rib")
        for rib, x in (("left", 95), ("right", 215))
    ]
    frees = [free("A", CUBE, (100, 100, 0)), free("B", CUBE, (220, 100, 0))]
    faults = report(layout(room((300, 200, 200), [], ribs), [CUBE], frees=frees)).findings
    taken_out = [
        dict(remedy.layout.states)
        for fault in faults
        for remedy in fault.remedies
        if remedy.name == "Take out rib"
    ]
    assert taken_out == [{"left": "out"}, {"right": "out"}]


# ---- outside the cavity ----


def test_a_part_in_a_wall_and_one_beyond_it() -> None:
    # The cube from x = -12 to 28 stands in the rear wall; 12 mm to the front bring it back. The
    # other, above the roof's outer face at z = 202, must come down from its top at 250 to 200.
    of = layout(
        BOX,
        [CUBE],
        frees=[free("A", CUBE, (8, 100, 0)), free("B", CUBE, (150, 100, 210))],
    )
    assert said(report(of), "outside_cavity") == [
        ("outside_cavity", "blocked", ("A", "rear"), -12.0),
        ("outside_cavity", "blocked", ("B", "outside"), -50.0),
    ]
    # The least move ends at the wall: nobody shall take it for one that keeps a margin.
    (in_wall,) = [f for f in report(of).findings if f.ids == ("A", "rear")]
    assert in_wall.advice.endswith(
        "by 12.0 mm to the front to be just back inside, with no gap left."
    )


def test_a_part_larger_than_the_cavity_says_how_far_it_passes_and_offers_no_move() -> None:
    # 320 mm long in 300 mm: it passes the front by 15 and the rear by 5.
    long = brick("long", (320, 40, 40))
    of = report(layout(BOX, [long], frees=[free("A", long, (155, 100, 50))]))
    assert said(of) == [("outside_cavity", "blocked", ("A", "rear", "front"), -15.0)]
    fault = found(of, "outside_cavity")
    assert (fault.shift, fault.remedies) == (None, ())


def test_a_part_held_on_a_wall_may_touch_it_but_not_another() -> None:
    held = Held(by="holes", on="rear")
    on_rear = free("A", CUBE, (20, 21, 80), held=held)
    assert said(report(layout(BOX, [CUBE], frees=[on_rear]))) == [
        ("clearance", "tight", ("A", "access"), 1.0)
    ]


def test_outer_layers_of_a_wall_zone_are_meant_to_be_outside() -> None:
    roof = zone(
        "roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1), outer=ZoneSide(plate_mm=2.0)
    )
    blower = fan(25)
    of = layout(
        room((300, 200, 200), [roof]),
        [blower],
        [stack("S", "roof-zone", outer=(fan_layer("O", blower, ["c1"]),))],
    )
    assert said(report(of)) == []


def test_feet_outside_do_not_crowd_what_stands_on_the_floor() -> None:
    feet = OutsideSolid(
        id="feet", name="feet", shapes=(Box(at_mm=(80, 80, -22), size_mm=(40, 40, 20)),)
    )
    of = layout(
        room((300, 200, 200), outside=(feet,)), [CUBE], frees=[free("A", CUBE, (100, 100, 0))]
    )
    assert said(report(of), "clearance") == []


# ---- port ends: see also the worked fits ----


def test_a_port_end_with_room_all_round_is_clear_and_a_close_one_is_tight() -> None:
    core = exchanger(1, 30)

    def ended(peg_from_mm: float) -> Report:
        # The core ends at x = 180, the port end at 210.
        peg = block("peg", (peg_from_mm, 90, 150), (peg_from_mm + 10, 110, 200))
        roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1))
        box = room((300, 200, 200), [roof], [peg])
        return report(layout(box, [core], [stack("S", "roof-zone", one("E", core))]))

    assert said(ended(212.0)) == []
    assert said(ended(211.0)) == [("port_end", "tight", ("E", "peg"), 1.0)]


def test_hand_room_round_a_fitting_counts_as_its_port_end() -> None:
    # The fitting is 20 mm across at x = 195, its hand room 10 mm more: x = 175 to 215, z from 170
    # down to 146. A shelf at z = 100 to 150 starts at x = 212: 3 mm missing along x.
    core = exchanger(1, 30)
    wide = Fitting(id="wide", name="Wide", length_mm=24, diameter_mm=20, hand_mm=10)
    item = Item(id="E", part=core.id, cell="c1", ports=FrozenMap({"p1": PortUse(fitting="wide")}))
    shelf = block("shelf", (212, 60, 100), (290, 140, 150))
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1))
    of = layout(
        room((300, 200, 200), [roof], [shelf]),
        [core, wide],
        [stack("S", "roof-zone", Layer(id="L", items=(item,)))],
    )
    assert said(report(of)) == [("port_end", "blocked", ("E", "shelf"), -3.0)]


def test_an_exchanger_described_without_ports_is_not_run() -> None:
    core = exchanger(1, 30, ports=0)
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1))
    of = layout(room((300, 200, 200), [roof]), [core], [stack("S", "roof-zone", one("E", core))])
    assert [n.ids for n in report(of).not_run if n.kind == "port_end"] == [("E",)]


# ---- plugs ----

LEAD = Plug(
    id="lead", name="lead", at_mm=(20, 0, 20), facing="+x", width_mm=10, height_mm=10,
    plug_mm=15, bend_mm=10,
)  # fmt: skip
PLUGGED = brick("plugged", (40, 40, 40), (LEAD,))


@pytest.mark.parametrize(
    ("gap_mm", "expected"),
    [(25.0, []), (18.0, [("plug_room", "blocked", ("A", "B"), -7.0)])],
)
def test_a_plug_needs_its_length_and_the_bend_of_its_cable(
    gap_mm: float, expected: list[object]
) -> None:
    # The plug asks for 15 + 10 = 25 mm in front of the first block.
    frees = [free("A", PLUGGED, (100, 100, 0)), free("B", CUBE, (140 + gap_mm, 100, 0))]
    assert said(report(layout(BOX, [PLUGGED, CUBE], frees=frees))) == expected


def test_two_plugs_may_share_their_room() -> None:
    # Face to face at 40 mm, each asks for 25: they share 10 mm and reach neither block.
    frees = [
        free("A", PLUGGED, (100, 100, 0)),
        free("B", PLUGGED, (180, 100, 0), x_to="-x"),
    ]
    assert said(report(layout(BOX, [PLUGGED], frees=frees))) == []


def test_parts_without_described_plugs_are_not_run() -> None:
    assert (
        NotRun("plug_room", ("A", "B"), "no plug is described for these parts")
        in report(two_cubes(10)).not_run
    )
