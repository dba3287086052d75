"""Every check on a sample that is clean and on one that is broken, compared as a whole."""

from __future__ import annotations

import inspect
from pathlib import Path

import pytest
from small_rooms import (
    IN_OR_OUT,
    block,
    brick,
    exchanger,
    fan,
    fan_layer,
    found,
    free,
    layout,
    mount,
    one,
    room,
    row,
    said,
    stack,
    zone,
)

import geometry.checks.rules as rules_package
from catalog.enclosure import Enclosure, NoDrill, Opening, OutsideSolid, Panel, ZoneSide
from catalog.model import FrozenMap
from catalog.parts import Fitting
from catalog.shapes import Box, Cell, Cylinder, Plug
from geometry.checks.runner import RULES, check_layout, help_text
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


# ---- all rules ----


def test_every_rule_file_is_listed_once_and_explains_itself() -> None:
    folder = Path(inspect.getfile(rules_package)).parent
    files = sorted(p.stem for p in folder.glob("*.py") if p.stem != "__init__")
    assert sorted(kind for kind, _ in RULES) == files
    for kind, check in RULES:
        assert check.__module__ == f"geometry.checks.rules.{kind}"
        assert all(word in help_text(kind) for word in ("What:", "Why:", "Remedy:"))


def test_an_empty_room_has_nothing_to_say() -> None:
    said_of_nothing = report(layout(BOX, []))
    assert (said_of_nothing.findings, said_of_nothing.not_run, said_of_nothing.clear) == ((), (), 0)


# ---- overlap and clearance ----


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
        "Set cage: taken out",
    ]
    assert [said(report(r.layout)) for r in fault.remedies] == [[], []]


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


# ---- leftover depth ----


def roof_stack(depth_mm: float, *things: object, **side: object) -> Layout:
    blower = fan(25)
    roof = zone("roof-zone", "roof", (60, 160, depth_mm), "+x", "-y", row(1), **side)
    box = room((300, 200, depth_mm), [roof], obstacles=things)  # type: ignore[arg-type]
    return layout(box, [blower], [stack("S", "roof-zone", fan_layer("A", blower, ["c1"]))])


@pytest.mark.parametrize(
    ("depth_mm", "expected"),
    [
        (100.0, ("clear", 75.0)),  # 100 - 25
        (27.0, ("clear", 2.0)),  # just the margin
        (26.0, ("tight", 1.0)),
        (25.0, ("tight", 0.0)),
        (24.0, ("blocked", -1.0)),
    ],
)
def test_leftover_depth_is_told_also_when_it_is_ample(
    depth_mm: float, expected: tuple[str, float]
) -> None:
    verdict, mm = expected
    ids = ("A.1", "S", "floor")
    assert said(report(roof_stack(depth_mm)), clear=True) == [("leftover_depth", verdict, ids, mm)]


def test_a_stack_too_deep_tells_the_volume_it_shares_and_the_way_back() -> None:
    # A duct of 60 x 60 reaches 4 mm into the fan, whose face is at z = 75.
    duct = block("duct", (90, 70, 0), (150, 130, 79))
    fault = found(report(roof_stack(100.0, duct)), "leftover_depth")
    assert (fault.measured_mm, fault.volume_mm3, fault.shift) == (-4.0, 60 * 60 * 4, (0, 0, 4))


def test_standing_screw_heads_take_from_the_depth() -> None:
    of = roof_stack(100.0)
    heads = of.stacks[0].inner[0].items[0].but(head_mm=2.4)
    with_heads = of.but(stacks=(of.stacks[0].but(inner=(Layer(id="A", items=(heads,)),)),))
    (depth,) = report(with_heads).depths
    assert (depth.total_mm, depth.least.mm) == pytest.approx((27.4, 72.6))


def test_a_plug_with_its_bend_limits_the_depth_without_a_margin() -> None:
    # The fan's face is at z = 100 - 25 = 75. A plug on a board at z = 10 asks for 14 + 50 = 64 mm,
    # up to z = 74: 1 mm is left, and a keep-out needs no margin.
    plug = Plug(
        id="main", name="main plug", at_mm=(120, 100, 10), facing="+z", width_mm=20, height_mm=20,
        plug_mm=14, bend_mm=50,
    )  # fmt: skip
    board = block("board", (60, 40, 5), (180, 160, 10), plugs=(plug,))
    of = report(roof_stack(100.0, board))
    assert said(of, clear=True) == [("leftover_depth", "clear", ("A.1", "S", "board"), 1.0)]
    assert of.depths[0].least.limited_name == "main plug of board"


def test_a_nominal_depth_is_compared_with_what_is_measured() -> None:
    of = report(roof_stack(100.0, inner=ZoneSide(depth_mm=20.0)))
    assert said(of) == [("leftover_depth", "tight", ("S", "roof-zone"), -5.0)]
    assert of.depths[0].least.mm == 75.0


def test_where_nothing_is_known_of_the_depth_the_nominal_one_limits_or_it_is_not_run() -> None:
    blower = fan(25)

    def outer(depth_mm: float | None) -> Report:
        side = ZoneSide(plate_mm=2.0, depth_mm=depth_mm)
        roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1), outer=side)
        return report(
            layout(
                room((300, 200, 200), [roof]),
                [blower],
                [stack("S", "roof-zone", outer=(fan_layer("O", blower, ["c1"]),))],
            )
        )

    ids = ("O.1", "S", "roof-zone")
    assert said(outer(30.0), clear=True) == [("leftover_depth", "clear", ids, 5.0)]
    assert said(outer(20.0), clear=True) == [("leftover_depth", "blocked", ids, -5.0)]
    unknown = [n for n in outer(None).not_run if n.kind == "leftover_depth"]
    assert [n.ids for n in unknown] == [("S",)]


def test_an_item_stacked_over_that_sticks_out_farther_limits_the_stack() -> None:
    # The core of 30 mm lies on the plate with fans of 15 mm on it, 45 in all; its fitting stands
    # from z = 200 - 30 = 170 down to 146, so it leaves 146 and the fans 200 - 45 = 155.
    core, blower = exchanger(1, 30), fan(15)
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1))
    layers = (one("E", core), fan_layer("A", blower, ["c1"]))
    of = report(
        layout(room((300, 200, 200), [roof]), [core, blower], [stack("S", "roof-zone", *layers)])
    )
    assert [(left.item, left.mm) for left in of.depths[0].cells] == [("A.1", 155.0), ("E", 146.0)]
    assert of.depths[0].least.item == "E"


def test_two_stacks_face_to_face_tell_their_gap_once() -> None:
    blower = fan(25)
    box = room(
        (300, 200, 51),
        [
            zone("roof-zone", "roof", (60, 160, 51), "+x", "-y", row(1)),
            zone("floor-zone", "floor", (60, 40, 0), "+x", "+y", row(1)),
        ],
    )
    of = layout(
        box,
        [blower],
        [
            stack("R", "roof-zone", fan_layer("A", blower, ["c1"])),
            stack("F", "floor-zone", fan_layer("B", blower, ["c1"])),
        ],
    )
    assert said(report(of)) == [("leftover_depth", "tight", ("A.1", "R", "B.1"), 1.0)]


def test_what_stands_beside_a_stack_does_not_limit_its_depth() -> None:
    # A post shares 4 mm with the fan's side, from floor to roof: an overlap, and the depth to the
    # floor stays 75.
    post = block("post", (176, 80, 0), (190, 120, 100))
    of = report(roof_stack(100.0, post))
    assert said(of) == [("overlap", "blocked", ("A.1", "post"), -4.0)]
    assert of.depths[0].least.mm == 75.0


def test_no_depth_is_left_while_an_item_stands_in_what_lies_ahead() -> None:
    # The same post, but only 90 mm high: 4 mm share the fan's side, and the fan, whose face is at
    # z = 75, would have to go back by 15 to pass over it.
    post = block("post", (176, 80, 0), (190, 120, 90))
    of = report(roof_stack(100.0, post))
    assert said(of) == [("overlap", "blocked", ("A.1", "post"), -4.0)]
    assert (of.depths[0].least.mm, of.depths[0].least.limited_by) == (-15.0, "post")


def test_an_item_is_not_measured_through_what_is_stacked_over_it() -> None:
    # An exchanger of two cells with a fan on the first only: under the fan a post of 40 mm leaves
    # 200 - 30 - 25 - 40 = 105; what is bare of the exchanger passes the post and meets the floor.
    core, blower = exchanger(2, 30), fan(25)
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(2))
    post = block("post", (110, 90, 0), (130, 110, 40))
    layers = (one("E", core.but(ports=())), fan_layer("A", blower, ["c1"]))
    box = room((400, 200, 200), [roof], [post])
    of = report(layout(box, [core.but(ports=()), blower], [stack("S", "roof-zone", *layers)]))
    assert [(left.cell, left.item, left.mm, left.limited_by) for left in of.depths[0].cells] == [
        ("c2", "E", 170.0, "floor"),
        ("c1", "A.1", 105.0, "post"),
    ]


def test_a_grille_ahead_ends_the_depth_at_the_outer_face() -> None:
    grille = Opening(
        id="grille", name="grille", wall="floor",
        shape=Box(at_mm=(50, 30, -2), size_mm=(140, 140, 2)),
    )  # fmt: skip
    blower = fan(25)
    roof = zone("roof-zone", "roof", (60, 160, 100), "+x", "-y", row(1))
    of = layout(
        room((300, 200, 100), [roof], openings=(grille,)),
        [blower],
        [stack("S", "roof-zone", fan_layer("A", blower, ["c1"]))],
    )
    least = report(of).depths[0].least
    assert (least.mm, least.limited_by) == (77.0, "outside")


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


# ---- bolting ----


def row_zone(cells: tuple[Cell, ...], **more: object) -> Enclosure:
    return room(
        (500, 200, 200),
        [zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", cells, **more)],
    )


def test_a_fan_of_another_pitch_does_not_meet_the_holes() -> None:
    blower = fan(25, 140.0)
    of = layout(
        row_zone(row(1)), [blower], [stack("S", "roof-zone", fan_layer("A", blower, ["c1"]))]
    )
    # Holes at 124.5 and 105 mm: each is off by 9.75, of which 0.5 is play.
    assert said(report(of), "hole_pattern") == [
        ("hole_pattern", "blocked", ("A.1", "roof-zone"), -9.25)
    ]


def test_a_rounded_pitch_is_within_the_play() -> None:
    # 125 for 124.5 mm, as it circulates: each hole is off by 0.25.
    blower = fan(25, 140.0).but(pitch_mm=125.0)
    of = layout(
        row_zone(row(1, 140.0)), [blower], [stack("S", "roof-zone", fan_layer("A", blower, ["c1"]))]
    )
    assert said(report(of), "hole_pattern") == []


def test_a_cell_that_takes_two_sizes_takes_both() -> None:
    cell = row(1, 140.0)[0].but(accepts=(mount(120.0), mount(140.0)))
    for size in (120.0, 140.0):
        blower = fan(25, size)
        stacked = stack("S", "roof-zone", fan_layer("A", blower, ["c1"]))
        assert said(report(layout(row_zone((cell,)), [blower], [stacked])), "hole_pattern") == []


def test_cells_spaced_differently_need_slots() -> None:
    # An exchanger whose cells are 123 mm apart on holes 120 mm apart: 3 mm to share out, of which
    # each hole gives 0.5 mm of play to either side, so 2 mm are missing; slots of 1 mm give them.
    core = exchanger(2, 30, apart_mm=123.0, ports=0)

    def on(slot_mm: float, slide_mm: float = 0.0) -> list[object]:
        cells = row(2, slot_u_mm=slot_mm)
        of = layout(
            row_zone(cells),
            [core],
            [stack("S", "roof-zone", one("E", core), slide_u_mm=slide_mm)],
        )
        return list(said(report(of), "hole_pattern", "slide"))

    assert on(0.0) == [("hole_pattern", "blocked", ("E", "roof-zone"), -2.0)]
    # With slots of 1 mm it goes when slid back by half of the 3 mm.
    assert on(1.0) == [("slide", "blocked", ("S", "roof-zone"), -1.5)]
    assert on(1.0, -1.5) == []


def test_fans_under_an_exchanger_slide_in_their_own_slots_to_meet_it() -> None:
    # The exchanger's cells are 120 mm apart, the zone's 125: the second fan has to stand 5 mm back.
    core, blower = exchanger(2, 30), fan(25)
    big = (400, 200, 200)

    def on(slot_mm: float, slide_mm: float = 0.0) -> Report:
        cells = row(2, apart_mm=125, slot_u_mm=slot_mm)
        under = zone("roof-zone", "roof", (10, 160, 200), "+x", "-y", cells)
        layers = (fan_layer("A", blower, ["c1", "c2"]), one("E", core))
        stacks = [stack("S", "roof-zone", *layers, slide_u_mm=slide_mm)]
        return report(layout(room(big, [under]), [core, blower], stacks))

    assert said(on(6.0), "hole_pattern", "slide") == []
    # Slots of 4 mm need a slide of 1 mm or more; 0.5 mm of it are in the play of the holes.
    assert said(on(4.0), "hole_pattern", "slide") == [
        ("slide", "blocked", ("S", "roof-zone"), -0.5)
    ]
    (mend,) = found(on(4.0), "slide").remedies
    assert said(check_layout(mend.layout).report, "hole_pattern", "slide") == []
    assert said(on(4.0, 1.0), "hole_pattern", "slide") == []
    # Slots of 1 mm cannot take up 5 mm, wherever the stack stands: 4 mm are left, less the play.
    assert said(on(1.0), "hole_pattern", "slide") == [
        ("slide", "blocked", ("S", "roof-zone"), -3.5)
    ]
    assert "No slide along" in found(on(1.0), "slide").advice
    # Round holes let no fan slide: then the exchanger does not meet the fan.
    assert said(on(0.0), "hole_pattern", "slide") == [
        ("hole_pattern", "blocked", ("E", "A.2"), -4.5)
    ]


def test_a_part_without_a_hole_pattern_cannot_be_stacked() -> None:
    of = layout(row_zone(row(1)), [CUBE], [stack("S", "roof-zone", one("A", CUBE))])
    assert said(report(of), "hole_pattern") == [("hole_pattern", "blocked", ("A", "S"), None)]


def test_a_slide_beyond_the_slots_is_blocked_and_its_remedy_brings_it_back() -> None:
    blower = fan(25)
    cells = row(2, slot_u_mm=6.0)
    of = layout(
        row_zone(cells),
        [blower],
        [stack("S", "roof-zone", fan_layer("A", blower, ["c1", "c2"]), slide_u_mm=10.0)],
    )
    # 6 mm of slot and 0.5 mm of play: 10 - 6.5 = 3.5 mm too far.
    assert said(report(of), "slide") == [("slide", "blocked", ("S", "roof-zone"), -3.5)]
    (mend,) = found(report(of), "slide").remedies
    assert mend.layout.stacks[0].slide_u_mm == 6.0
    assert said(report(mend.layout)) == []


def test_a_slide_within_the_slots_gives_room_at_one_end() -> None:
    # The fan ends at x = 180, a post stands from 178: 2 mm missing, 4 with the margin; the slot
    # of 6 mm lets the stack slide back by 4.
    blower = fan(25)
    post = block("post", (178, 80, 150), (190, 120, 200))
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1, slot_u_mm=6.0))
    of = layout(
        room((500, 200, 200), [roof], [post]),
        [blower],
        [stack("S", "roof-zone", fan_layer("A", blower, ["c1"]))],
    )
    fault = found(report(of), "overlap")
    assert (fault.measured_mm, [r.name for r in fault.remedies]) == (
        -2.0,
        ["Slide the stack on roof zone 4.0 mm to the rear (along -x)"],
    )


def test_a_core_longer_than_its_zone_is_blocked_and_one_raised_on_fans_tight() -> None:
    long, blower = exchanger(3, 30, ports=0), fan(25)
    # The core starts with the zone at u = 0 and ends at 360, the zone at 240.
    seated = layout(row_zone(row(2)), [long], [stack("S", "roof-zone", one("E", long))])
    assert said(report(seated), "zone_size") == [
        ("zone_size", "blocked", ("E", "S", "roof-zone"), -120.0)
    ]
    fans = fan_layer("A", blower, ["c1", "c2"])
    raised = layout(
        row_zone(row(2)), [long, blower], [stack("S", "roof-zone", fans, one("E", long))]
    )
    assert said(report(raised), "zone_size") == [
        ("zone_size", "tight", ("E", "S", "roof-zone"), -120.0)
    ]


def test_end_tanks_may_pass_the_zones_edge() -> None:
    core = exchanger(2, 30, ports=0)
    of = layout(row_zone(row(2)), [core], [stack("S", "roof-zone", one("E", core))])
    assert said(report(of)) == []


# ---- threads and air ----


def threaded(thread: str) -> Layout:
    core = exchanger(1, 30)
    fitting = Fitting(id="barb", name="Barb", length_mm=24, diameter_mm=20, thread=thread)
    item = Item(id="E", part=core.id, cell="c1", ports=FrozenMap({"p1": PortUse(fitting="barb")}))
    return layout(
        row_zone(row(1)), [core, fitting], [stack("S", "roof-zone", Layer(id="L", items=(item,)))]
    )


def test_a_fitting_of_another_thread_is_blocked() -> None:
    assert said(report(threaded("G1/4"))) == []
    assert said(report(threaded("G3/8"))) == [("port_thread", "blocked", ("E", "p1"), None)]


def test_a_port_with_no_fitting_chosen_is_not_run_for_its_thread() -> None:
    core = exchanger(1, 30)
    of = layout(row_zone(row(1)), [core], [stack("S", "roof-zone", one("E", core))])
    assert [n.ids for n in report(of).not_run if n.kind == "port_thread"] == [("E",)]


def test_a_fan_against_the_stacks_air_is_tight_and_turning_it_mends_it() -> None:
    blower = fan(25)
    against = stack("S", "roof-zone", fan_layer("A", blower, ["c1"], air="against"))
    of = layout(row_zone(row(1)), [blower], [against])
    assert said(report(of)) == [("air_sense", "tight", ("A.1", "S"), None)]
    (mend,) = found(report(of), "air_sense").remedies
    assert said(report(mend.layout)) == []


def grille(x0: float, x1: float, wall: str = "roof") -> Opening:
    """An opening of 100 mm along y between two places along x, in the roof or the floor."""
    at = (x0, 50.0, 200.0 if wall == "roof" else -2.0)
    shape = Box(at_mm=at, size_mm=(x1 - x0, 100, 2))
    return Opening(id=f"grille-{x0:g}", name="grille", wall=wall, shape=shape)  # type: ignore[arg-type]


def test_a_fan_on_a_closed_wall_moves_no_air() -> None:
    # The zone's cells stand at x = 70 and 190 under the roof; the fan on the second spans 130-250.
    blower = fan(25)
    roof = zone("roof-zone", "roof", (10, 160, 200), "+x", "-y", row(2))
    fans = stack("S", "roof-zone", fan_layer("A", blower, ["c1", "c2"]))

    def over(*openings: Opening) -> Report:
        return report(layout(room((300, 200, 200), [roof], openings=openings), [blower], [fans]))

    assert said(over(grille(20, 120), grille(140, 240))) == []
    assert said(over(grille(20, 120))) == [("air_sense", "tight", ("A.2", "S", "roof-zone"), None)]
    assert said(over()) == []
    assert [n.ids for n in over().not_run if n.kind == "air_sense"] == [("S", "roof-zone")]


# ---- what holds a part ----


def held_cube(
    held: Held, at_mm: tuple[float, float, float] = (100, 100, 0), **more: object
) -> Report:
    box = room((300, 200, 200), **more)  # type: ignore[arg-type]
    return report(layout(box, [CUBE], frees=[free("A", CUBE, at_mm, held=held)]))


def test_a_part_held_by_nothing_is_tight() -> None:
    # It stands on the floor without being held: the touching floor is told too.
    assert said(held_cube(Held())) == [
        ("clearance", "tight", ("A", "floor"), 0.0),
        ("held", "tight", ("A",), None),
    ]


@pytest.mark.parametrize("by", ["holes", "clamp", "adhesive"])
def test_a_part_held_against_the_floor_is_clear(by: str) -> None:
    assert said(held_cube(Held(by=by, on="floor"))) == []  # type: ignore[arg-type]


def test_a_part_glued_from_afar_is_tight_and_how_far_screws_reach_is_not_run() -> None:
    # 12 mm above the floor, of which 0.5 is allowed.
    assert said(held_cube(Held(by="adhesive", on="floor"), (100, 100, 12))) == [
        ("held", "tight", ("A", "floor"), -11.5)
    ]
    for by, told in (("clamp", 1), ("holes", 2)):
        reaching = held_cube(Held(by=by, on="floor"), (100, 100, 12))  # type: ignore[arg-type]
        assert said(reaching) == []
        assert [n.ids for n in reaching.not_run if n.kind == "held"] == [("A", "floor")] * told


def test_a_part_over_an_opening_has_nothing_to_be_screwed_to() -> None:
    # The cube stands on x 80 to 120, y 80 to 120.
    def on_floor(*openings: Opening, by: str = "holes") -> Report:
        held = Held(by=by, on="floor")  # type: ignore[arg-type]
        return held_cube(held, openings=openings)

    assert said(on_floor(grille(60, 140, "floor"))) == [
        ("held", "tight", ("A", "floor", "grille-60"), None)
    ]
    assert said(on_floor(grille(100, 140, "floor"))) == [
        ("held", "tight", ("A", "floor", "grille-100"), None)
    ]
    assert said(on_floor(grille(60, 140, "floor"), by="clamp")) == []
    # Less than half of its foot, or nothing of it, is over an opening: where its holes are decides.
    for beside in ((grille(101, 140, "floor"),), (grille(60, 140, "roof"),), ()):
        assert said(on_floor(*beside)) == []
        assert [n.ids for n in on_floor(*beside).not_run if n.kind == "held"] == [("A", "floor")]


def test_holes_in_a_face_that_must_not_be_drilled_are_blocked() -> None:
    sealed = NoDrill(id="sealed", wall="floor", reason="cables run under it")
    holes, clamp = Held(by="holes", on="floor"), Held(by="clamp", on="floor")
    assert said(held_cube(holes, no_drill=(sealed,))) == [
        ("held", "blocked", ("A", "sealed"), None)
    ]
    assert said(held_cube(clamp, no_drill=(sealed,))) == []


def test_a_panel_holds_what_is_on_its_wall() -> None:
    panel = Panel(id="lid", name="lid", wall="roof")
    held = Held(by="holes", on="lid")
    assert said(held_cube(held, (100, 100, 160), panels=(panel,))) == []
    sealed = NoDrill(id="sealed", wall="roof", reason="it is glass")
    assert said(held_cube(held, (100, 100, 160), panels=(panel,), no_drill=(sealed,))) == [
        ("held", "blocked", ("A", "sealed"), None)
    ]


def bracket_layout(state: str, held: Held | None = None) -> Report:
    """A bracket with a zone, a fan on it, and a cube that is held by the same bracket."""
    plate = block("bracket", (20, 20, 80), (260, 160, 82), states=IN_OR_OUT)
    shelf = zone("shelf", "bracket", (30, 30, 82), "+x", "+y", row(1), outer=ZoneSide(plate_mm=2.0))
    blower = fan(25)
    of = layout(
        room((300, 200, 200), [shelf], [plate]),
        [blower, CUBE],
        [stack("S", "shelf", fan_layer("A", blower, ["c1"]))],
        [free("B", CUBE, (220, 100, 82), held=held or Held(by="holes", on="bracket"))],
        states=FrozenMap({"bracket": state}),
    )
    return report(of)


def test_what_stands_on_a_bracket_is_held_by_nothing_when_it_is_taken_out() -> None:
    assert said(bracket_layout("in-place")) == []
    assert said(bracket_layout("out")) == [
        ("held", "blocked", ("S", "bracket"), None),
        ("held", "tight", ("B", "bracket"), None),
    ]


def test_a_part_held_by_zone_cells_names_cells_that_are_there() -> None:
    assert said(bracket_layout("in-place", Held(by="zone cells", on="shelf", cells=("c1",)))) == []
    for wrong in (
        Held(by="zone cells", on="shelf", cells=("c9",)),
        Held(by="zone cells", on="shelf"),
        Held(by="zone cells", on="attic", cells=("c1",)),
    ):
        assert [s[0] for s in said(bracket_layout("in-place", wrong), "held")] == ["held"]


def test_layers_on_a_side_that_takes_none_are_blocked() -> None:
    blower = fan(25)
    of = layout(
        row_zone(row(1)),
        [blower],
        [stack("S", "roof-zone", outer=(fan_layer("O", blower, ["c1"]),))],
    )
    assert ("held", "blocked", ("S", "roof-zone"), None) in said(report(of))


# ---- one fault is told once ----


def test_an_exchanger_deep_in_a_side_wall_is_told_once_port_end_and_all() -> None:
    # Core and port end both run 10 mm into the access wall.
    core = exchanger(2, 30)
    roof = zone("roof-zone", "roof", (60, 110, 200), "+x", "-y", row(2))
    of = layout(room((500, 200, 200), [roof]), [core], [stack("S", "roof-zone", one("E", core))])
    assert said(report(of)) == [("outside_cavity", "blocked", ("E", "access"), -10.0)]


def test_counts_of_the_report() -> None:
    frees = [
        free("A", CUBE, (50, 100, 0)),
        free("B", CUBE, (87, 100, 0)),
        free("C", CUBE, (200, 50, 0)),
        free("D", CUBE, (200, 91, 0)),
        free("E", CUBE, (260, 150, 0)),
    ]
    of = report(layout(BOX, [CUBE], frees=frees))
    assert (of.blocked, of.tight, of.clear) == (1, 1, 1)
    assert [f.verdict.value for f in of.findings] == ["blocked", "tight"]


def test_a_round_grille_lets_a_part_of_its_size_through_and_no_larger_one() -> None:
    # A tube plug 40 mm across would stand in a round hole of 60; a block of 40 x 40, 56.6 across
    # its corners, does too; one of 44 x 44 (62.2) touches the wall.
    grille = Opening(
        id="grille", name="grille", wall="floor",
        shape=Cylinder(axis="z", at_mm=(100, 100, -2), diameter_mm=60, length_mm=2),
    )  # fmt: skip
    for side, kinds in ((40.0, []), (44.0, ["outside_cavity"])):
        part = brick("post", (side, side, 42))
        held = Held(by="clamp", on="floor")
        box = room((300, 200, 200), openings=(grille,))
        of = report(layout(box, [part], frees=[free("A", part, (100, 100, -2), held=held)]))
        assert [s[0] for s in said(of)] == kinds
