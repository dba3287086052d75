"""A room to edit in: two plain zones, one on a removable bracket with slots, and a few parts.

The cavity is 500 x 200 x 400. "floor-zone" has three cells for 120 mm frames along x, with n = +z.
"front-zone" stands on a bracket at x = 480 whose plate is 2 mm thick, n = -x: two cells along z,
slots of 10 mm either way along u, and an outer side. "roof-zone" takes 140 mm frames, n = -z.
"""

from __future__ import annotations

from catalog.enclosure import Enclosure, Obstacle, ObstacleState, Panel, Zone, ZoneSide
from catalog.parts import (
    Adapter,
    Board,
    Exchanger,
    Fan,
    Fitting,
    Gasket,
    Part,
    Plate,
    Port,
    Pump,
    Tank,
)
from catalog.shapes import Box, Cell, Mount
from geometry.edits import (
    add_free,
    fill_fans,
    insert_item,
    set_fitting,
    set_held,
    set_margin,
    set_state,
)
from geometry.layout import Held, Layout

M120 = Mount(frame_mm=120, pitch_mm=105)
M140 = Mount(frame_mm=140, pitch_mm=124.5)


def row(count: int, mount: Mount = M120) -> tuple[Cell, ...]:
    """Return the cells of a part, side by side along X about its middle."""
    return tuple(
        Cell(id=str(k + 1), u_mm=(k - (count - 1) / 2) * mount.frame_mm, v_mm=0, accepts=(mount,))
        for k in range(count)
    )


def exchanger(count: int, thickness: float, *, port_count: int = 2) -> Exchanger:
    """Return an exchanger for `count` fans of 120 mm; its port end is 20 long, the other 15."""
    spots = ((30.0, "+z"), (-30.0, "+z"), (30.0, "-z"), (-30.0, "-z"))[:port_count]
    ports = tuple(
        Port(
            id=f"p{k + 1}",
            at_mm=(60.0 * count + 10, y, thickness if facing == "+z" else 0.0),
            facing="+z" if facing == "+z" else "-z",
            tank="port_end",
        )
        for k, (y, facing) in enumerate(spots)
    )
    more = "" if port_count == 2 else f"-{port_count}p"
    return Exchanger(
        id=f"exchanger-{count}x120-{thickness:g}{more}",
        name=f"Exchanger {count} x 120, {thickness:g} mm",
        core_length_mm=120 * count,
        core_width_mm=120,
        core_thickness_mm=thickness,
        port_tank=Tank(length_mm=20, width_mm=120, thickness_mm=thickness),
        return_tank=Tank(length_mm=15, width_mm=120, thickness_mm=thickness),
        ports=ports,
        cells=row(count),
    )


def fan(thickness: float, mount: Mount = M120) -> Fan:
    """Return a fan of 120 mm, or of another mount."""
    return Fan(
        id=f"fan-{mount.frame_mm:g}x{thickness:g}",
        name=f"Fan {mount.frame_mm:g} x {thickness:g}",
        frame_mm=mount.frame_mm,
        pitch_mm=mount.pitch_mm,
        thickness_mm=thickness,
        hub_mm=40,
    )


FAN_15, FAN_25, FAN_38, FAN_140 = fan(15), fan(25), fan(38), fan(25, M140)
SLIM_1, SLIM_2, MEDIUM_2, THICK_2 = (
    exchanger(1, 30),
    exchanger(2, 30),
    exchanger(2, 45),
    exchanger(2, 60),
)
LONG_3 = exchanger(3, 30)
MEDIUM_2_4P = exchanger(2, 45, port_count=4)
FITTING = Fitting(id="fitting-16x18", name="Fitting 16 x 18", length_mm=16, diameter_mm=18)
GASKET = Gasket(
    id="gasket-2x120",
    name="Gasket 2 x 120",
    length_mm=240,
    width_mm=120,
    free_mm=6,
    compressed_mm=3,
    cells=row(2),
)
ADAPTER = Adapter(
    id="adapter-140-120",
    name="Adapter 140 to 120",
    length_mm=140,
    width_mm=140,
    thickness_mm=10,
    cells=row(1, M140),
    top=row(1),
)
PUMP = Pump(
    id="pump-compact",
    name="Compact circulator on a 120 mm plate",
    plate=Plate(length_mm=120, width_mm=120, thickness_mm=3, cells=row(1)),
    bodies=(Box(at_mm=(-30, -30, 3), size_mm=(60, 60, 50)),),
    ports=(Port(id="in", at_mm=(0, 30, 20), facing="+y"),),
)
BOARD = Board(
    id="board-170x170",
    name="Board 170 x 170",
    length_mm=170,
    width_mm=170,
    height_mm=2,
)
PARTS: tuple[Part, ...] = (
    FAN_15, FAN_25, FAN_38, FAN_140, SLIM_1, SLIM_2, MEDIUM_2, THICK_2, LONG_3, MEDIUM_2_4P,
    FITTING, GASKET, ADAPTER, PUMP, BOARD,
)  # fmt: skip

BRACKET = Obstacle(
    id="bracket",
    name="Front bracket",
    kind="bracket",
    shapes=(Box(at_mm=(480, 20, 50), size_mm=(2, 120, 260)),),
    states=(
        ObstacleState(id="in-place", name="in place"),
        ObstacleState(id="back", name="set back", shift_mm=(-10, 0, 0)),
        ObstacleState(id="out", name="taken out", out=True),
    ),
    way_out="-y",
    way_out_mm=200,
)
FLOOR_ZONE = Zone(
    id="floor-zone",
    name="Floor zone",
    owner="floor",
    origin_mm=(40, 20, 0),
    u="+x",
    v="+y",
    length_mm=360,
    width_mm=120,
    cells=tuple(
        Cell(id=f"f{k + 1}", u_mm=60 + 120 * k, v_mm=60, accepts=(M120,)) for k in range(3)
    ),
)
FRONT_ZONE = Zone(
    id="front-zone",
    name="Front zone",
    owner="bracket",
    origin_mm=(480, 20, 60),
    u="+z",
    v="+y",
    length_mm=240,
    width_mm=120,
    cells=tuple(
        Cell(id=f"b{k + 1}", u_mm=60 + 120 * k, v_mm=60, accepts=(M120,), slot_u_mm=(-10, 10))
        for k in range(2)
    ),
    outer=ZoneSide(plate_mm=2),
)
ROOF_ZONE = Zone(
    id="roof-zone",
    name="Roof zone",
    owner="roof",
    origin_mm=(60, 20, 400),
    u="+y",
    v="+x",
    length_mm=140,
    width_mm=280,
    cells=tuple(
        Cell(id=f"r{k + 1}", u_mm=70, v_mm=70 + 140 * k, accepts=(M140,)) for k in range(2)
    ),
)
ROOM = Enclosure(
    id="edit-room",
    name="Edit room",
    cavity=(Box(at_mm=(0, 0, 0), size_mm=(500, 200, 400)),),
    outer=(Box(at_mm=(-2, -2, -2), size_mm=(504, 204, 404)),),
    obstacles=(BRACKET,),
    panels=(Panel(id="lid", name="Access panel", wall="access"),),
    zones=(FLOOR_ZONE, FRONT_ZONE, ROOF_ZONE),
)


def empty_layout() -> Layout:
    """Return the room with nothing in it."""
    return Layout(name="Edit room", enclosure=ROOM)


def full_layout() -> Layout:
    """Return the room with a stack, free parts, what holds them, a state and a margin chosen."""
    layout, _ = insert_item(empty_layout(), "front-zone", "inner", 0, MEDIUM_2, "b1", 2)
    layout = fill_fans(layout, "S1", "inner", "push-pull", FAN_25)
    layout = set_fitting(layout, "E1", "p1", FITTING)
    layout, _ = add_free(layout, PUMP, (250.25, 80, 1 / 3), "-x", "+y")
    layout, _ = add_free(layout, BOARD, (100, 100, 100))
    layout = set_held(layout, "P1", Held(by="zone cells", on="floor-zone", cells=("f1",)))
    layout = set_held(layout, "B1", Held(by="adhesive", on="rear"))
    return set_margin(set_state(layout, "bracket", "back"), 3, ("fitting", "body"))


def layers_of(layout: Layout, stack_id: str = "S1", side: str = "inner") -> list[list[str]]:
    """Return the items' ids of one side of a stack, layer by layer."""
    layers = layout.stack(stack_id).side("inner" if side == "inner" else "outer")
    return [[item.id for item in layer.items] for layer in layers]
