"""Where stacked items stand: seats, layers, turns, slides, both sides of a plate."""

from __future__ import annotations

import pytest
from small_rooms import (
    IN_OR_OUT,
    block,
    exchanger,
    fan,
    fan_layer,
    layout,
    mount,
    one,
    room,
    row,
    stack,
    zone,
)

from catalog.enclosure import ObstacleState, ZoneSide
from catalog.model import FrozenMap
from catalog.parts import Adapter, Plate, Pump
from catalog.shapes import Box, Cell
from geometry.layout import Item, Layer, Layout, Stack
from geometry.measures.pose import Vec
from geometry.placement import Placed, place_free, place_stack, zone_frame

FAN = fan(25)
CORE = exchanger(2, 30)
ROOF = zone("roof-zone", "roof", (50, 160, 200), "+x", "-y", row(2), outer=ZoneSide(plate_mm=2.0))
BOX = room((400, 200, 200), [ROOF])


def placed(of: Layout) -> dict[str, Placed]:
    stacked = (one for pile in of.stacks for one in place_stack(of, pile))
    return {p.id: p for p in (*stacked, *(place_free(of, one) for one in of.free))}


def on_roof(*inner: Layer, **more: object) -> Layout:
    return layout(BOX, [FAN, CORE], [stack("S", "roof-zone", *inner, **more)])


def ends(p: Placed, tip: Vec) -> tuple[Vec, Vec]:
    """World places of a part's seat middle and of another point of its frame."""
    return p.pose.point((0, 0, 0)), p.pose.point(tip)


def test_inner_layers_hang_from_the_roof_along_n() -> None:
    # u = +x, v = -y, so n = u x v = -z. Cell c1 is at u = 60, v = 60: x = 110, y = 100.
    of = placed(on_roof(fan_layer("A", FAN, ["c1", "c2"])))
    assert ends(of["A.1"], (60, 0, 25)) == ((110, 100, 200), (170, 100, 175))
    assert ends(of["A.2"], (60, 0, 25)) == ((230, 100, 200), (290, 100, 175))
    assert (of["A.1"].base_mm, of["A.1"].top_mm) == (0, 25)


def test_outer_layers_start_behind_the_plate_and_grow_the_other_way() -> None:
    of = placed(on_roof(outer=(fan_layer("O", FAN, ["c1"]),)))
    assert ends(of["O.1"], (60, 0, 25)) == ((110, 100, 202), (170, 100, 227))
    assert (of["O.1"].base_mm, of["O.1"].top_mm) == (2, 27)


@pytest.mark.parametrize(
    ("turn", "tip"),
    [
        # The core lies over both cells, its middle at x = 170; its far end 120 mm from there.
        (0, (290, 100, 200)),
        (2, (50, 100, 200)),
    ],
)
def test_the_port_end_points_along_u_and_a_half_turn_flips_it(turn: int, tip: Vec) -> None:
    of = placed(on_roof(one("E", CORE, turn=turn)))
    assert ends(of["E"], (120, 0, 0)) == ((170, 100, 200), tip)


def test_quarter_turns_go_from_u_towards_v() -> None:
    single = exchanger(1, 30)
    for turn, tip in ((1, (110, 40, 200)), (3, (110, 160, 200))):
        of = placed(layout(BOX, [single], [stack("S", "roof-zone", one("E", single, turn=turn))]))
        assert ends(of["E"], (60, 0, 0)) == ((110, 100, 200), tip)


def test_turned_over_the_other_face_lies_on_the_plate() -> None:
    of = placed(on_roof(one("E", CORE, turned_over=True)))
    # Seat at the far face, 30 mm down; the port face at the plate; X keeps its direction.
    assert ends(of["E"], (120, 0, 30)) == ((170, 100, 170), (290, 100, 200))
    assert (of["E"].base_mm, of["E"].top_mm) == (0, 30)


def test_layers_pile_up_and_only_the_last_over_a_cell_is_last() -> None:
    of = placed(
        on_roof(fan_layer("A", FAN, ["c1", "c2"]), one("E", CORE), fan_layer("B", FAN, ["c2"]))
    )
    assert {k: (p.base_mm, p.top_mm, p.last_over) for k, p in of.items()} == {
        "A.1": (0, 25, ()),
        "A.2": (0, 25, ()),
        "E": (25, 55, ("c1",)),
        "B.1": (55, 80, ("c2",)),
    }
    assert [(s.on, s.cell, s.off_u_mm) for s in of["E"].seats] == [
        ("A.1", "c1", 0.0),
        ("A.2", "c2", 0.0),
    ]


def test_an_item_over_an_empty_cell_seats_on_its_neighbour() -> None:
    of = placed(on_roof(fan_layer("A", FAN, ["c2"]), one("E", CORE)))
    assert (of["E"].base_mm, [s.on for s in of["E"].seats]) == (25, ["roof-zone", "A.1"])


def test_a_slide_moves_the_whole_stack() -> None:
    of = placed(on_roof(fan_layer("A", FAN, ["c1"]), slide_u_mm=3.0, slide_v_mm=-2.0))
    # v is -y: back by 2 along v is 2 up in y.
    assert of["A.1"].pose.shift == (113, 102, 200)
    assert of["A.1"].seats[0].off_u_mm == 0.0


def test_an_items_first_cell_follows_the_order_of_u_whichever_way_it_lies() -> None:
    straight = placed(on_roof(one("E", CORE)))["E"]
    flipped = placed(on_roof(one("E", CORE, turn=2)))["E"]
    assert [s.cell for s in straight.seats] == [s.cell for s in flipped.seats] == ["c1", "c2"]
    assert [s.own_cell for s in straight.seats] == ["1", "2"]
    assert [s.own_cell for s in flipped.seats] == ["2", "1"]


def test_an_item_that_passes_the_zone_has_a_seat_on_nothing() -> None:
    of = placed(on_roof(one("E", CORE, "c2")))
    assert [(s.cell, s.on) for s in of["E"].seats] == [("c2", "roof-zone"), (None, None)]


def test_unequal_gaps_are_told_as_what_the_holes_are_off() -> None:
    # Zone cells 125 mm apart, the core's 120: the second hole is 5 mm short.
    wide = zone("roof-zone", "roof", (50, 160, 200), "+x", "-y", row(2, apart_mm=125.0))
    of = placed(
        layout(room((400, 200, 200), [wide]), [CORE], [stack("S", "roof-zone", one("E", CORE))])
    )
    assert [(s.cell, s.off_u_mm) for s in of["E"].seats] == [("c1", 0.0), ("c2", -5.0)]


def test_an_adapter_offers_its_own_pattern_to_the_next_layer() -> None:
    plate = Adapter(
        id="adapter",
        name="adapter",
        length_mm=140,
        width_mm=140,
        thickness_mm=6,
        cells=(Cell(id="1", u_mm=0, v_mm=0, accepts=(mount(120.0),)),),
        top=(Cell(id="1", u_mm=0, v_mm=0, accepts=(mount(140.0),)),),
    )
    large = fan(25, 140.0)
    of = placed(
        layout(
            BOX,
            [plate, large],
            [stack("S", "roof-zone", one("D", plate), fan_layer("A", large, ["c1"]))],
        )
    )
    (seat,) = of["A.1"].seats
    assert (seat.on, seat.accepts, seat.off_u_mm) == ("D", (mount(140.0),), 0.0)
    assert (of["A.1"].base_mm, of["A.1"].top_mm) == (6, 31)


def test_a_pump_plate_counts_by_its_plate_and_its_body_stands_on_it() -> None:
    pump = Pump(
        id="pump",
        name="pump",
        plate=Plate(
            length_mm=120,
            width_mm=120,
            thickness_mm=3,
            cells=(Cell(id="1", u_mm=0, v_mm=0, accepts=(mount(120.0),)),),
        ),
        bodies=(Box(at_mm=(-30, -30, 3), size_mm=(60, 60, 40)),),
        ports=(),
    )
    of = placed(
        layout(
            BOX,
            [FAN, pump],
            [stack("S", "roof-zone", fan_layer("A", FAN, ["c1"]), one("P", pump))],
        )
    )
    assert (of["P"].base_mm, of["P"].top_mm) == (25, 28)
    assert of["P"].pose.point((0, 0, 43)) == (110, 100, 200 - 25 - 43)


def bracket_room(states: tuple[ObstacleState, ...], chosen: str) -> Layout:
    plate = block("bracket", (20, 20, 80), (260, 160, 82), states=states)
    peg = block("peg", (30, 30, 82), (40, 40, 90), owner="bracket")
    shelf = zone("shelf", "bracket", (30, 30, 82), "+x", "+y", row(1))
    return layout(
        room((400, 200, 200), [shelf], [plate, peg]),
        [FAN],
        [stack("S", "shelf", fan_layer("A", FAN, ["c1"]))],
        states=FrozenMap({"bracket": chosen}),
    )


def test_a_zone_goes_where_its_bracket_goes() -> None:
    states = (
        ObstacleState(id="home", name="home"),
        ObstacleState(id="up", name="up", shift_mm=(0.0, 0.0, 30.0)),
    )
    assert placed(bracket_room(states, "home"))["A.1"].pose.shift == (90, 90, 82)
    assert placed(bracket_room(states, "up"))["A.1"].pose.shift == (90, 90, 112)


def test_a_bracket_that_is_taken_out_takes_its_zone_away() -> None:
    assert zone_frame(bracket_room(IN_OR_OUT, "in-place"), "shelf").present
    assert not zone_frame(bracket_room(IN_OR_OUT, "out"), "shelf").present


@pytest.mark.parametrize(
    "broken",
    [
        on_roof(Layer(id="L", items=(Item(id="A", part="no-part", cell="c1"),))),
        on_roof(Layer(id="L", items=(Item(id="A", part=FAN.id, cell="no-cell"),))),
        layout(BOX, [FAN], [Stack(id="S", zone="no-zone")]),
    ],
)
def test_a_name_that_is_not_there_is_a_key_error(broken: Layout) -> None:
    with pytest.raises(KeyError):
        placed(broken)


def uneven(slot_mm: float, *inner: Layer, **more: object) -> dict[str, Placed]:
    """Cells at 60, 180 and 305 mm with slots, for an exchanger with 120 mm from cell to cell."""
    cells = row(3, slot_u_mm=slot_mm)
    cells = (*cells[:2], cells[2].but(u_mm=305.0))
    ceiling = zone("ceiling", "roof", (20, 160, 200), "+x", "-y", cells)
    box = room((500, 200, 200), [ceiling])
    core = exchanger(3, 30)
    return placed(layout(box, [FAN, core], [stack("S", "ceiling", *inner, **more)]))


def fans_and_core() -> tuple[Layer, ...]:
    core = Layer(id="core", items=(Item(id="E", part=exchanger(3, 30).id, cell="c1"),))
    return (fan_layer("A", FAN, ["c1", "c2", "c3"]), core)


def middles(of: dict[str, Placed]) -> list[float]:
    return [of[f"A.{k}"].seats[0].centre[0] for k in (1, 2, 3)]


def test_fans_under_an_exchanger_take_its_cells_within_their_slots() -> None:
    # The exchanger's cells stand at 60, 180, 300: the last fan slides 5 mm back in its slot.
    of = uneven(6.0, *fans_and_core())
    assert middles(of) == [60, 180, 300]
    assert [seat.off_u_mm for k in (1, 2, 3) for seat in of[f"A.{k}"].seats] == [0, 0, -5]
    assert [seat.off_u_mm for seat in of["E"].seats] == [0, 0, 0]


def test_fans_under_an_exchanger_stop_where_their_slots_end() -> None:
    of = uneven(4.0, *fans_and_core())
    assert middles(of) == [60, 180, 301]
    # The holes of the fan have to stand at -5 to meet the exchanger, whose holes are off by 1.
    assert of["A.3"].seats[0].off_u_mm == -5
    assert [seat.off_u_mm for seat in of["E"].seats] == [0, 0, -1]


def test_a_slide_takes_up_its_share_of_the_slots() -> None:
    # Slots reach from -6 to 6; slid by -3 only 3 of the 5 mm are left to the last fan.
    of = uneven(6.0, *fans_and_core(), slide_u_mm=-3.0)
    assert middles(of) == [57, 177, 299]


def test_fans_without_an_exchanger_over_them_stay_at_their_cells() -> None:
    assert middles(uneven(6.0, fans_and_core()[0])) == [60, 180, 305]


def test_round_holes_hold_fans_where_they_are() -> None:
    of = uneven(0.0, *fans_and_core())
    assert middles(of) == [60, 180, 305]
    assert of["A.3"].seats[0].off_u_mm == 0
