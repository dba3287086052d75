"""Solids of every kind of part: what they fill, and which role each has."""

from __future__ import annotations

import pytest
from small_rooms import brick, exchanger, fan, mount

from catalog.model import FrozenMap
from catalog.parts import Adapter, Board, Fitting, Gasket, Part, Plate, Port, Pump, part_ports
from catalog.shapes import Box, Cell, Cylinder, Extrusion, Plug, Stadium
from geometry.layout import PortUse
from geometry.measures.prism import Bounds, Poly, Prism, Rect, Round
from geometry.measures.solid import Role
from geometry.part_solids import (
    DEFAULT_FITTING,
    part_pieces,
    plug_room,
    rod,
    seat_thickness_mm,
    shape_prism,
)

CELL = Cell(id="1", u_mm=0, v_mm=0, accepts=(mount(),))

Told = dict[str, tuple[Role, list[Bounds]]]


def told(part: Part, ports: dict[str, PortUse] | None = None, *fittings: Part) -> Told:
    pieces = part_pieces(part, ports or {}, FrozenMap({f.id: f for f in fittings}))
    return {p.suffix: (p.role, [q.bounds for q in p.prisms]) for p in pieces}


def test_an_exchanger_is_core_with_return_end_port_end_and_fittings() -> None:
    # Core 240 x 120 x 30, return end 15, port end 30; the fitting at x = 135 on the far face.
    assert told(exchanger(2, 30)) == {
        "core": (
            Role.BODY,
            [(-120, -60, 0, 120, 60, 30), (-135, -60, 0, -120, 60, 30)],
        ),
        "port-end": (Role.PORT_END, [(120, -60, 0, 150, 60, 30)]),
        "fitting:p1": (Role.FITTING, [(125, -10, 30, 145, 10, 54)]),
    }


def test_tanks_have_their_own_size_and_offsets() -> None:
    core = exchanger(1, 30, ports=0)
    thick = core.but(
        port_tank=core.port_tank.but(
            thickness_mm=40.0, width_mm=100.0, offset_y_mm=5.0, offset_z_mm=-2.0
        )
    )
    # The middle is at y = 5 and z = 15 - 2: from -45 to 55, from 13 - 20 to 13 + 20.
    assert told(thick)["port-end"] == (Role.PORT_END, [(60, -45, -7, 90, 55, 33)])


def test_a_plugged_port_has_no_fitting_and_an_open_one_the_chosen_one() -> None:
    core = exchanger(1, 30, ports=2)
    long = Fitting(id="long", name="long", length_mm=40, diameter_mm=16, hand_mm=6)
    pieces = told(core, {"p1": PortUse(plugged=True), "p2": PortUse(fitting="long")}, long)
    assert "fitting:p1" not in pieces
    # Across 16, with hand room 16 + 2 x 6 = 28.
    assert pieces["fitting:p2"] == (Role.FITTING, [(67, 22, 30, 83, 38, 70)])
    assert pieces["hand:p2"] == (Role.KEEP_OUT, [(61, 16, 30, 89, 44, 70)])


def test_a_port_that_is_closed_by_default_opens_when_it_is_used() -> None:
    core = exchanger(1, 30)
    closed = core.but(ports=(core.ports[0].but(open=False),))
    assert "fitting:p1" not in told(closed)
    assert "fitting:p1" in told(closed, {"p1": PortUse()})


def test_the_default_fitting_is_24_long_and_20_across() -> None:
    assert (DEFAULT_FITTING.length_mm, DEFAULT_FITTING.diameter_mm) == (24.0, 20.0)


def test_the_default_fitting_is_sound() -> None:
    assert Fitting.model_validate(DEFAULT_FITTING.model_dump()) == DEFAULT_FITTING


def test_a_part_that_is_no_fitting_is_refused_on_a_port() -> None:
    with pytest.raises(TypeError, match="is no fitting"):
        told(exchanger(1, 30), {"p1": PortUse(fitting=fan().id)}, fan())


@pytest.mark.parametrize(
    ("facing", "bounds"),
    [
        ("+x", (10, -2, 13, 30, 18, 33)),
        ("-x", (-10, -2, 13, 10, 18, 33)),
        ("+y", (0, 8, 13, 20, 28, 33)),
        ("-z", (0, -2, 3, 20, 18, 23)),
    ],
)
def test_a_rod_runs_along_its_direction(facing: str, bounds: Bounds) -> None:
    at = (10.0, 8.0, 23.0)
    assert rod(at, facing, 20.0, 20.0).bounds == bounds


def test_fans_gaskets_and_adapters_are_slabs() -> None:
    gasket = Gasket(
        id="g", name="g", length_mm=240, width_mm=120, free_mm=5, compressed_mm=3, cells=(CELL,)
    )
    adapter = Adapter(
        id="a", name="a", length_mm=140, width_mm=140, thickness_mm=6, cells=(CELL,), top=(CELL,)
    )
    assert told(fan(25)) == {"body": (Role.BODY, [(-60, -60, 0, 60, 60, 25)])}
    assert told(gasket) == {"body": (Role.BODY, [(-120, -60, 0, 120, 60, 3)])}
    assert told(adapter) == {"body": (Role.BODY, [(-70, -70, 0, 70, 70, 6)])}
    assert [seat_thickness_mm(p) for p in (fan(25), gasket, adapter)] == [25, 3, 6]


def test_a_pump_on_a_plate_and_one_without() -> None:
    body = Cylinder(axis="z", at_mm=(0, 0, 3), diameter_mm=60, length_mm=50)
    port = Port(id="in", at_mm=(30, 0, 20), facing="+x")
    plate = Plate(length_mm=120, width_mm=120, thickness_mm=3, cells=(CELL,))
    pump = Pump(id="p", name="p", plate=plate, bodies=(body,), ports=(port,))
    assert told(pump) == {
        "body": (Role.BODY, [(-30, -30, 3, 30, 30, 53), (-60, -60, 0, 60, 60, 3)]),
        "fitting:in": (Role.FITTING, [(30, -10, 10, 54, 10, 30)]),
    }
    assert seat_thickness_mm(pump) == 3.0
    assert seat_thickness_mm(pump.but(plate=None)) == 0.0
    assert [p.id for p in part_ports(pump)] == ["in"]


def test_a_board_is_its_slab_with_what_stands_on_it_and_the_room_for_plugs() -> None:
    plug = Plug(
        id="main", name="main", at_mm=(50, 0, 12), facing="+x", width_mm=8, height_mm=30,
        plug_mm=14, bend_mm=20,
    )  # fmt: skip
    board = Board(
        id="b", name="b", length_mm=170, width_mm=170, height_mm=1.6,
        bodies=(Box(at_mm=(-20, -20, 1.6), size_mm=(40, 40, 30)),), plugs=(plug,),
    )  # fmt: skip
    assert told(board) == {
        "body": (Role.BODY, [(-85, -85, 0, 85, 85, 1.6), (-20, -20, 1.6, 20, 20, 31.6)]),
        # 14 + 20 along x; 8 wide along y, 30 high along z.
        "plug:main": (Role.KEEP_OUT, [(50, -4, -3, 84, 4, 27)]),
    }
    assert seat_thickness_mm(board) == 1.6


def test_a_plug_without_room_is_no_solid() -> None:
    flat = Plug(id="p", name="p", at_mm=(0, 0, 0), facing="+z", width_mm=5, height_mm=5, plug_mm=0)
    assert plug_room(flat) is None


def test_a_loose_fitting_is_a_rod() -> None:
    piece = told(DEFAULT_FITTING)
    assert piece == {"body": (Role.FITTING, [(-10, -10, 0, 10, 10, 24)])}
    assert seat_thickness_mm(brick("b", (1, 2, 3))) == 3


def test_shapes_become_prisms_along_their_axis() -> None:
    assert shape_prism(Box(at_mm=(1, 2, 3), size_mm=(10, 20, 30))) == Prism(
        2, Rect(1, 2, 11, 22), 3, 33
    )
    assert shape_prism(Cylinder(axis="y", at_mm=(1, 2, 3), diameter_mm=10, length_mm=20)) == Prism(
        1, Round(1, 3, 1, 3, 5), 2, 22
    )
    assert shape_prism(
        Extrusion(axis="x", outline_mm=((0, 0), (4, 0), (0, 4)), from_mm=5, to_mm=9)
    ) == Prism(0, Poly(((0, 0), (4, 0), (0, 4))), 5, 9)


@pytest.mark.parametrize(
    ("axis", "along", "bounds"),
    [
        # 40 over all and 10 across, 5 high.
        ("z", "x", (-20, -5, 0, 20, 5, 5)),
        ("z", "y", (-5, -20, 0, 5, 20, 5)),
        ("x", "y", (0, -20, -5, 5, 20, 5)),
        ("y", "z", (-5, 0, -20, 5, 5, 20)),
    ],
)
def test_a_stadium_lies_along_its_long_side(axis: str, along: str, bounds: Bounds) -> None:
    shape = Stadium(
        axis=axis,
        along=along,
        at_mm=(0, 0, 0),
        overall_mm=40,
        diameter_mm=10,
        length_mm=5,  # type: ignore[arg-type]
    )
    assert shape_prism(shape).bounds == bounds
