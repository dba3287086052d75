"""What is shipped is what the rules say, and makes sense as it stands."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest

from catalog.enclosure import Enclosure, Obstacle
from catalog.generate import DATA, files, lean, shipped_enclosures, shipped_parts
from catalog.parts import (
    Board,
    Exchanger,
    Fan,
    Part,
    Pump,
    PumpReservoir,
    Reservoir,
    part_cells,
    part_plugs,
    part_ports,
)
from catalog.recipes.rooms import WALL_AXIS, cell_centres
from catalog.shapes import Box, shape_bounds
from catalog.store import SHIPPED_ENCLOSURES, SHIPPED_PARTS, Library
from catalog.threads import pipe_thread

LIBRARY = Library()
PARTS = list(LIBRARY.parts.values())
ENCLOSURES = list(LIBRARY.enclosures.values())

Corner = tuple[float, float, float]
Bounds = tuple[Corner, Corner]

each_enclosure = pytest.mark.parametrize("room", ENCLOSURES, ids=lambda room: room.id)


# Data and rules ----------------------------------------------------------------------------------


def test_data_on_disk_is_what_the_rules_generate() -> None:
    generated = dict(files())
    on_disk = {
        path.relative_to(DATA).as_posix(): path.read_text(encoding="utf-8")
        for path in DATA.rglob("*.json")
    }
    assert on_disk == generated


def test_what_is_read_is_what_was_written() -> None:
    written = [part for parts in shipped_parts().values() for part in parts]
    assert [lean(part) for part in PARTS] == [lean(part) for part in written]
    assert [lean(room) for room in ENCLOSURES] == [lean(room) for room in shipped_enclosures()]


def test_the_library_lists_every_file() -> None:
    assert list(shipped_parts()) == list(SHIPPED_PARTS)
    assert [room.id for room in shipped_enclosures()] == list(SHIPPED_ENCLOSURES)


def test_ids_and_names_differ() -> None:
    written = [part for parts in shipped_parts().values() for part in parts]
    assert len({part.id for part in written}) == len(written)
    assert len({part.name for part in written}) == len(written)


# Parts -------------------------------------------------------------------------------------------


def tanks_of(part: Exchanger) -> list[Bounds]:
    half, middle = part.core_length_mm / 2, part.core_thickness_mm / 2
    found: list[Bounds] = []
    for tank, start in (
        (part.port_tank, half),
        (part.return_tank, -half - part.return_tank.length_mm),
    ):
        z, y = middle + tank.offset_z_mm, tank.offset_y_mm
        low = (start, y - tank.width_mm / 2, z - tank.thickness_mm / 2)
        high = (start + tank.length_mm, y + tank.width_mm / 2, z + tank.thickness_mm / 2)
        found.append((low, high))
    return found


def bodies_of(part: Part) -> list[Bounds]:
    if isinstance(part, Exchanger):
        return tanks_of(part)
    assert isinstance(part, Pump | Reservoir | PumpReservoir)
    return [shape_bounds(shape) for shape in part.bodies]


def on_face(point: Corner, facing: str, bounds: Bounds) -> bool:
    """Whether a point lies on the face of a box that looks along `facing`."""
    axis = "xyz".index(facing[1])
    face = bounds[1 if facing[0] == "+" else 0][axis]
    inside = all(bounds[0][k] <= point[k] <= bounds[1][k] for k in range(3) if k != axis)
    return inside and abs(point[axis] - face) < 1e-9


def test_ports_lie_on_the_surface_that_they_look_out_of() -> None:
    adrift = [
        (part.id, port.id)
        for part in PARTS
        for port in part_ports(part)
        if not any(on_face(port.at_mm, port.facing, body) for body in bodies_of(part))
    ]
    assert adrift == []
    assert all(pipe_thread(port.thread) for part in PARTS for port in part_ports(part))


def test_fittings_of_the_default_size_stand_beside_each_other() -> None:
    """Two fittings 20 mm across whose ports look the same way need 20 mm between middles."""
    crowded = [
        (part.id, one.id, other.id)
        for part in PARTS
        for one, other in combinations([p for p in part_ports(part) if p.open], 2)
        if one.facing == other.facing and math.dist(one.at_mm, other.at_mm) < 20.0
    ]
    assert crowded == []


def test_every_part_says_where_its_figures_come_from() -> None:
    for part in PARTS:
        assert part.source, part.id
        assert part.aliases or part.kind == "fitting", part.id
        assert part.dimensions, part.id


def test_exchangers_follow_the_stated_rules() -> None:
    for part in PARTS:
        if not isinstance(part, Exchanger):
            continue
        frame = part.cells[0].accepts[0].frame_mm
        assert part.core_length_mm == len(part.cells) * frame, part.id
        assert part.core_width_mm == frame, part.id
        assert 28.0 <= part.port_tank.length_mm <= 45.0, part.id
        both = any(port.tank == "return_end" for port in part.ports)
        most = 28.0 if both else 20.0
        assert 12.0 <= part.return_tank.length_mm <= most, part.id
        # both tanks flush with the seat, so that the core can lie on a flat plate
        assert [low[2] for low, _ in tanks_of(part)] == [0.0, 0.0], part.id
        # room for a G1/4 port and its spanner face on the end of the tank
        assert part.port_tank.thickness_mm >= 27.0, part.id


def test_the_catalog_covers_the_sizes_of_the_trade() -> None:
    exchangers = {
        (len(p.cells), p.cells[0].accepts[0].frame_mm, p.core_thickness_mm)
        for p in PARTS
        if isinstance(p, Exchanger)
    }
    for frame, most, cores in ((120, 4, 5), (140, 4, 5), (80, 3, 4), (92, 3, 4)):
        for count in range(1, most + 1):
            thicknesses = {t for n, f, t in exchangers if (n, f) == (count, frame)}
            assert thicknesses == {20.0, 30.0, 45.0, 60.0, 80.0} if cores == 5 else {
                20.0, 30.0, 45.0, 60.0,
            }  # fmt: skip
    fans = {(p.frame_mm, p.thickness_mm) for p in PARTS if isinstance(p, Fan)}
    assert {frame for frame, _ in fans} == {80.0, 92.0, 120.0, 140.0, 200.0}
    assert {thickness for frame, thickness in fans if frame == 120.0} == {15, 20, 25, 30, 38}
    plated = {(p.id, p.plate is not None) for p in PARTS if isinstance(p, Pump)}
    assert plated == {
        ("pump-compact", False), ("pump-large", False),
        ("pump-compact-plate-120", True), ("pump-large-plate-120", True),
        ("pump-compact-plate-140", True), ("pump-large-plate-140", True),
    }  # fmt: skip


def test_bodies_on_a_plate_begin_on_top_of_it() -> None:
    for part in PARTS:
        if isinstance(part, Pump | Reservoir | PumpReservoir):
            floor = part.plate.thickness_mm if part.plate is not None else 0.0
            assert min(low[2] for low, _ in bodies_of(part)) == floor, part.id
            assert bool(part_cells(part)) == (part.plate is not None), part.id


@pytest.mark.parametrize("board", [p for p in PARTS if isinstance(p, Board)], ids=lambda p: p.id)
def test_what_stands_on_a_board_stands_within_it(board: Board) -> None:
    bounds = [shape_bounds(shape) for shape in board.bodies]
    for low, high in bounds:
        assert -board.length_mm / 2 <= low[0] < high[0] <= board.length_mm / 2
        assert -board.width_mm / 2 <= low[1] < high[1] <= board.width_mm / 2
        assert low[2] == board.height_mm
    for one, other in combinations(bounds, 2):
        assert shared_mm(one, other) <= 0
    for plug in part_plugs(board):
        assert abs(plug.at_mm[0]) <= board.length_mm / 2
        assert abs(plug.at_mm[1]) <= board.width_mm / 2


def shared_mm(one: Bounds, other: Bounds) -> float:
    """Return how far two bounding boxes enter each other; 0 or less when they do not."""
    return min(min(one[1][k], other[1][k]) - max(one[0][k], other[0][k]) for k in range(3))


# Enclosures --------------------------------------------------------------------------------------


def bounds_of(shapes: tuple[object, ...]) -> Bounds:
    every = [shape_bounds(shape) for shape in shapes]  # type: ignore[arg-type]
    low = [min(b[0][k] for b in every) for k in range(3)]
    high = [max(b[1][k] for b in every) for k in range(3)]
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


@each_enclosure
def test_the_cavity_begins_at_the_origin(room: Enclosure) -> None:
    assert bounds_of(room.cavity)[0] == (0.0, 0.0, 0.0)


@each_enclosure
def test_walls_are_sheet(room: Enclosure) -> None:
    inner, outer = bounds_of(room.cavity), bounds_of(room.outer)
    for k in range(3):
        assert 1.0 <= inner[0][k] - outer[0][k] <= 2.0
        assert 1.0 <= outer[1][k] - inner[1][k] <= 3.0


def states_of(obstacle: Obstacle) -> list[Corner]:
    return [state.shift_mm for state in obstacle.states if not state.out]


@each_enclosure
def test_obstacles_lie_in_the_cavity_in_every_state(room: Enclosure) -> None:
    low, high = bounds_of(room.cavity)
    for obstacle in room.obstacles:
        for shift in states_of(obstacle):
            for shape in obstacle.shapes:
                least, most = shape_bounds(shape)
                for k in range(3):
                    assert low[k] <= least[k] + shift[k], obstacle.id
                    assert most[k] + shift[k] <= high[k], obstacle.id


MEANT_TO_MEET = {
    frozenset({"board", "card"}),  # the card's fingers are in the board's slot
}


@each_enclosure
def test_obstacles_do_not_stand_in_each_other_in_any_state(room: Enclosure) -> None:
    for one, other in combinations(room.obstacles, 2):
        if frozenset({one.id, other.id}) in MEANT_TO_MEET:
            continue
        for a in states_of(one):
            for b in states_of(other):
                for p in one.shapes:
                    for q in other.shapes:
                        shared = shared_mm(moved(shape_bounds(p), a), moved(shape_bounds(q), b))
                        assert shared <= 1e-9, (one.id, other.id)


def moved(bounds: Bounds, shift: Corner) -> Bounds:
    low, high = bounds
    return (
        (low[0] + shift[0], low[1] + shift[1], low[2] + shift[2]),
        (high[0] + shift[0], high[1] + shift[1], high[2] + shift[2]),
    )


@each_enclosure
def test_zones_look_into_the_cavity_from_the_face_that_owns_them(room: Enclosure) -> None:
    low, high = bounds_of(room.cavity)
    walls = {panel.id: panel.wall for panel in room.panels}
    for zone in room.zones:
        axis, sign = inward(zone.u, zone.v)
        face = zone.origin_mm[axis]
        wall = walls.get(zone.owner, zone.owner)
        if wall in WALL_AXIS:
            assert "xyz"[axis] == WALL_AXIS[wall]  # type: ignore[index]
            assert face == (low[axis] if sign > 0 else high[axis]), zone.id
        else:
            plate = next(one for one in room.obstacles if one.id == zone.owner).shapes[0]
            least, most = shape_bounds(plate)
            assert face == (most[axis] if sign > 0 else least[axis]), zone.id
            assert zone.outer is not None
            assert zone.outer.plate_mm == most[axis] - least[axis]
        for centre in cell_centres(zone):
            assert all(low[k] <= centre[k] <= high[k] for k in range(3))


def inward(u: str, v: str) -> tuple[int, int]:
    """Return axis and sign of u x v."""
    iu, iv = "xyz".index(u[1]), "xyz".index(v[1])
    sign = 1 if (iv - iu) % 3 == 1 else -1
    return 3 - iu - iv, sign * (1 if u[0] == v[0] else -1)


def test_the_inward_direction_of_the_bench_box() -> None:
    """By hand: floor +x x +y = +z; bracket +z x +y = -x; rear +y x +z = +x."""
    zones = {zone.id: inward(zone.u, zone.v) for zone in LIBRARY.enclosure("bench-box").zones}
    assert zones == {
        "floor-zone": (2, 1), "front-zone": (0, -1), "rear-zone": (0, 1),
    }  # fmt: skip


@each_enclosure
def test_openings_cut_their_wall_from_side_to_side(room: Enclosure) -> None:
    inner, outer = bounds_of(room.cavity), bounds_of(room.outer)
    for opening in room.openings:
        axis = "xyz".index(WALL_AXIS[opening.wall])
        least, most = shape_bounds(opening.shape)
        at_low = opening.wall in ("rear", "access", "floor")
        wall = (outer[0][axis], inner[0][axis]) if at_low else (inner[1][axis], outer[1][axis])
        assert (least[axis], most[axis]) == pytest.approx(wall), opening.id


@each_enclosure
def test_every_enclosure_has_what_a_plan_needs(room: Enclosure) -> None:
    assert room.panels
    assert room.openings
    assert room.outside
    assert room.no_drill
    assert any(obstacle.kind == "tray" for obstacle in room.obstacles)
    assert any(len(obstacle.states) > 1 for obstacle in room.obstacles)
    assert any(obstacle.plugs for obstacle in room.obstacles)
    assert any(cell.slot_u_mm != (0.0, 0.0) for zone in room.zones for cell in zone.cells)


def test_the_kinds_of_enclosure() -> None:
    tower = {zone.owner for zone in LIBRARY.enclosure("tall-tower").zones}
    assert tower >= {"floor", "roof", "far"}
    bench = LIBRARY.enclosure("bench-box")
    bracket = next(one for one in bench.obstacles if one.id == "front-bracket")
    assert bracket.way_out is not None
    assert {one.id for one in bench.obstacles if one.owner == "front-bracket"} == {
        "bracket-peg", "bracket-duct",
    }  # fmt: skip
    cabinet = LIBRARY.enclosure("wall-cabinet")
    assert not isinstance(cabinet.cavity[0], Box)
    assert any(len(zone.cells) > 1 and uneven(zone) for room in ENCLOSURES for zone in room.zones)


def uneven(zone: object) -> bool:
    steps = [cell.u_mm for cell in zone.cells]  # type: ignore[attr-defined]
    gaps = {round(b - a, 6) for a, b in pairwise(steps)}
    return len(gaps) > 1


def test_the_peg_of_the_bench_box_stops_a_port_end_and_the_flip_clears_it() -> None:
    """Figures by hand, along z.

    The cells' middles are 184 and 304, so a 2 x 120 core lies from 124 to 364. Port end up (30 mm):
    to 394; the peg begins at 392 - 4 = 388: 6 mm too far. Return end up (14 mm): to 378, 10 mm
    clear; the port end then reaches down to 94, above a floor stack of 25 + 30 + 25 = 80.
    """
    bench = LIBRARY.enclosure("bench-box")
    exchanger = LIBRARY.part("exchanger-2x120-30")
    assert isinstance(exchanger, Exchanger)
    front = next(zone for zone in bench.zones if zone.id == "front-zone")
    middles = [centre[2] for centre in cell_centres(front)]
    assert middles == [184.0, 304.0]
    peg = next(one for one in bench.obstacles if one.id == "bracket-peg")
    peg_low = shape_bounds(peg.shapes[0])[0][2]
    core_top = sum(middles) / 2 + exchanger.core_length_mm / 2
    core_low = core_top - exchanger.core_length_mm
    assert core_top + exchanger.port_tank.length_mm - peg_low == 6.0
    assert peg_low - (core_top + exchanger.return_tank.length_mm) == 10.0
    assert core_low - exchanger.port_tank.length_mm == 94.0
