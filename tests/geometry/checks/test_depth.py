"""The rule of leftover depth."""

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

from catalog.enclosure import Opening, ZoneSide
from catalog.shapes import Box, Plug
from geometry.checks.runner import check_layout
from geometry.finding import Report, Verdict
from geometry.layout import Layer, Layout


def report(of: Layout) -> Report:
    return check_layout(of).report


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
    (tight,) = (one for one in of.findings if one.verdict is Verdict.TIGHT)
    assert tight.title == (
        "Stack of 25.0 mm on roof zone exceeds the stated depth of 20.0 mm by 5.0 mm"
    )
    assert tight.advice == (
        "The depth measured in the model leaves 75.0 mm; "
        "measure the real enclosure before you count on it."
    )


def test_a_depth_that_is_missing_in_the_model_too_is_none_to_count_on() -> None:
    of = report(roof_stack(24.0, inner=ZoneSide(depth_mm=20.0)))
    (tight,) = (one for one in of.findings if one.verdict is Verdict.TIGHT)
    assert of.depths[0].least.mm == -1.0
    assert tight.advice == "Use thinner parts on this side."


def test_what_stands_out_of_a_stack_past_its_nominal_depth_is_told_with_its_share() -> None:
    # A core of 30 mm with a fitting of 24 mm on it: 54 mm, in a zone that is given for 50.
    core = exchanger(1, 30)
    side = ZoneSide(depth_mm=50.0)
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1), inner=side)
    of = report(
        layout(room((300, 200, 200), [roof]), [core], [stack("S", "roof-zone", one("E", core))])
    )
    (tight,) = (told for told in of.findings if told.verdict is Verdict.TIGHT)
    assert tight.title == (
        "Stack of 54.0 mm on roof zone "
        "(with 24.0 mm of Fitting 24 x 20 on port p1 of Exchanger 1 x 120, 30) "
        "exceeds the stated depth of 50.0 mm by 4.0 mm"
    )


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
    assert of.depths[0].least.sideways_mm == 4.0
    assert found(of, "overlap").title == "Fan 120 x 25 (A.1) and post overlap 4.0 mm sideways"


def test_a_plug_beside_a_stack_is_in_its_way_sideways() -> None:
    # The plug's room is 5 mm sideways in the fan (176 to 190 beside its edge at 180, from y 80 to
    # 120), and ends 90 off the floor: 15 above the fan's face at 75.
    plug = Plug(
        id="main", name="main plug", at_mm=(185, 100, 10), facing="+z", width_mm=20, height_mm=20,
        plug_mm=14, bend_mm=66,
    )  # fmt: skip
    board = block("board", (200, 60, 0), (290, 160, 10), plugs=(plug,))
    of = report(roof_stack(100.0, board))
    assert found(of, "plug_room").title.endswith("Fan 120 x 25 (A.1) overlaps it 5.0 mm sideways")


def test_depth_that_is_missing_comes_before_what_is_in_the_way_sideways() -> None:
    # A post of 90 mm shares 4 mm with the side of the first fan; one of 79 stands 4 mm in the
    # second fan, whose face is at z = 75. Without that the depth over it would be 75.
    blower = fan(25)
    roof = zone("roof-zone", "roof", (60, 160, 100), "+x", "-y", row(2))
    beside = block("beside", (50, 80, 0), (64, 120, 90))

    def least(*things: object) -> tuple[str, float, float | None]:
        box = room((400, 200, 100), [roof], obstacles=(beside, *things))  # type: ignore[arg-type]
        fans = fan_layer("A", blower, ["c1", "c2"])
        left = report(layout(box, [blower], [stack("S", "roof-zone", fans)])).depths[0].least
        return left.item, left.mm, left.sideways_mm

    assert least(block("below", (230, 80, 0), (250, 120, 79))) == ("A.2", -4.0, None)
    assert least() == ("A.1", -15.0, 4.0)


def test_a_thing_that_a_stack_is_too_deep_for_is_not_in_its_way_sideways_too() -> None:
    # The board stands 5 mm in the fan, whose face is at z = 75, and 5 mm of its plug's room beside
    # it (176 to 190, the fan's edge at 180) go on to 90.
    plug = Plug(
        id="main", name="main plug", at_mm=(185, 100, 80), facing="+z", width_mm=20, height_mm=20,
        plug_mm=5, bend_mm=5,
    )  # fmt: skip
    of = report(roof_stack(100.0, block("board", (100, 60, 0), (290, 160, 80), plugs=(plug,))))
    assert [(kind, mm) for kind, _, _, mm in said(of)] == [
        ("leftover_depth", -5.0),
        ("plug_room", -5.0),
    ]
    assert (of.depths[0].least.mm, of.depths[0].least.sideways_mm) == (-15.0, None)


def test_what_is_parted_along_a_stack_has_one_figure() -> None:
    # The post ends 79 off the floor, 4 above the fan's face: back along the stack is least.
    post = block("post", (100, 80, 0), (150, 120, 79))
    of = report(roof_stack(100.0, post))
    assert not any("sideways" in one.title for one in of.findings)
    assert (of.depths[0].least.mm, of.depths[0].least.sideways_mm) == (-4.0, None)


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


def test_a_port_end_outside_that_stands_out_farther_than_the_fans_is_asked_its_nominal_depth() -> (
    None
):
    # Fans end at 2 + 15 + 25 = 42 mm, the port end at 2 + 45 = 47; the zone is given for 2 + 42.
    core, blower = exchanger(1, 15), fan(25)
    end = core.port_tank.but(thickness_mm=45.0, offset_z_mm=15.0)
    core = core.but(port_tank=end)
    outside = ZoneSide(plate_mm=2.0, depth_mm=42.0)
    front = zone("front-zone", "front", (200, 40, 40), "+z", "+y", row(1), outer=outside)

    def said_with(*things: object) -> list[object]:
        box = room((200, 200, 300), [front], obstacles=things)  # type: ignore[arg-type]
        layers = (one("E", core), fan_layer("F", blower, ["c1"]))
        made = layout(box, [core, blower], [stack("S", "front-zone", outer=layers)])
        return said(report(made), "leftover_depth")

    assert said_with() == [("leftover_depth", "blocked", ("E", "S", "front-zone"), -3.0)]
    # With something ahead of the port end its depth is measured, and what the zone is given for
    # is passed all the same.
    ahead = block("B", (260, 40, 160), (270, 160, 190))
    assert said_with(ahead) == [("leftover_depth", "tight", ("S", "front-zone"), -3.0)]


def test_a_port_end_that_grazes_a_peg_is_told_by_the_overlap_sideways_and_not_as_too_deep() -> None:
    # The port end goes from x 180 to 210 and down to z 70; the peg begins at 206 and ends at 85.
    core = exchanger(1, 30)
    roof = zone("roof-zone", "roof", (60, 160, 100), "+x", "-y", row(1))
    box = room((400, 200, 100), [roof], [block("peg", (206, 50, 0), (220, 60, 85))])
    of = report(layout(box, [core], [stack("S", "roof-zone", one("E", core))]))
    assert found(of, "port_end").title == (
        "Port end of Exchanger 1 x 120, 30 (E) is stopped by peg: overlaps 4.0 mm sideways, "
        "6.0 mm missing to the 2.0 mm margin"
    )
