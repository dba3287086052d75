"""A rack chassis of four units to IEC 60297, with a removable fan wall.

IEC 60297-3-100: a unit is 44.45 mm, a panel of n units is n x 44.45 - 0.8 mm high, 482.6 mm wide,
and the opening between the rack's posts is 450 mm, in which body and slide rails lie.
"""

from __future__ import annotations

from catalog.enclosure import (
    Enclosure,
    NoDrill,
    Obstacle,
    Opening,
    OutsideSolid,
    Panel,
    ZoneSide,
)
from catalog.model import Dimension, FrozenMap, Point
from catalog.recipes.rooms import (
    IN_PLACE,
    STANDOFF_MM,
    TAKEN_OUT,
    block,
    card_cut,
    cell_centres,
    connector_aperture,
    fan_openings,
    plate_with_windows,
    shell,
    standing_board,
    standing_card,
    standing_supply,
    supply_cut,
    zone,
)
from catalog.recipes.shipped_stock import board, supply
from catalog.shapes import Cylinder

UNITS = 4
UNIT_MM = 44.45
PANEL_WIDTH_MM = 482.6
PANEL_HEIGHT_MM = UNITS * UNIT_MM - 0.8

WALL = 1.2
PANEL = 3.0
BODY_WIDTH = 440.0
BODY_HEIGHT = 176.0
CAVITY: Point = (480.0, BODY_WIDTH - 2 * WALL, BODY_HEIGHT - 2 * WALL)
RAIL = 4.5
TRAY = 0.8


def rack_chassis() -> Enclosure:
    """Return the rack chassis: four units, 480 mm deep inside."""
    length, width, height = CAVITY
    middle_y, middle_z = width / 2, height / 2
    cavity, outer = shell(CAVITY, WALL, front=PANEL)
    main_board = board("board-atx")
    board_at: Point = (
        6.0 + main_board.length_mm / 2,
        2.0 + main_board.width_mm / 2,
        TRAY + STANDOFF_MM,
    )
    front = zone(
        "front-zone",
        "front panel",
        "front",
        ("+y", "-z"),
        ((length, 4.0, 14.0), (length, width - 4.0, 160.0)),
        tuple((middle_y + k * 140.0, middle_z) for k in (-1, 0, 1)),
        (140, 120),
        slots=((-42.0, 42.0), (0.0, 0.0)),
    )
    fan_wall = zone(
        "fan-wall-zone",
        "fan wall",
        "fan-wall-plate",
        ("+y", "-z"),
        ((340.0, 6.0, 22.0), (340.0, width - 6.0, 152.0)),
        tuple((middle_y + k * 120.0, middle_z) for k in (-1, 0, 1)),
        (120,),
        slots=((-6.0, 6.0), (0.0, 0.0)),
        outer=ZoneSide(plate_mm=1.5, depth_mm=138.5),
    )
    rear = zone(
        "rear-zone",
        "rear wall",
        "rear",
        ("+y", "+z"),
        ((0.0, 120.0, 78.0), (0.0, 300.0, 162.0)),
        ((165.0, 120.0), (250.0, 120.0)),
        (80,),
        slots=((-6.0, 6.0), (0.0, 0.0)),
    )
    ear_low, ear_high = middle_z - PANEL_HEIGHT_MM / 2, middle_z + PANEL_HEIGHT_MM / 2
    left, right = middle_y - PANEL_WIDTH_MM / 2, middle_y + PANEL_WIDTH_MM / 2
    return Enclosure(
        id="rack-chassis-4u",
        name="Rack chassis 19 inch, 4U",
        aliases=("server", "19-inch", "rackmount", "4u"),
        source="IEC 60297-3-100 for panel and units; the rest common practice, no source",
        cavity=(cavity,),
        outer=(outer,),
        obstacles=(
            Obstacle(
                id="tray",
                name="board tray",
                kind="tray",
                shapes=(block((0.0, 2.0, 0.0), (256.0, 308.0, TRAY)),),
            ),
            standing_board(main_board, board_at, upright=False, owner="tray"),
            standing_card(main_board, board_at, (-92.0, -53.0), (2.0, 314.0), upright=False),
            standing_supply(supply("supply-sfx"), (0.0, 310.0, 2.0)),
            Obstacle(
                id="fan-wall-plate",
                name="fan wall",
                kind="bracket",
                shapes=(
                    plate_with_windows(
                        "x",
                        (340.0, 341.5),
                        ((340.0, 3.0, 3.0), (341.5, width - 3.0, height - 4.0)),
                        cell_centres(fan_wall),
                        57.0,
                    ),
                ),
                states=(IN_PLACE, TAKEN_OUT),
                way_out="+z",
                way_out_mm=180.0,
            ),
            Obstacle(
                id="fan-wall-peg",
                name="locating peg of the fan wall",
                kind="peg",
                shapes=(
                    Cylinder(axis="x", at_mm=(316.0, 424.0, 87.0), diameter_mm=8.0, length_mm=24.0),
                ),
                owner="fan-wall-plate",
            ),
            Obstacle(
                id="drive-cage",
                name="drive cage",
                kind="cage",
                shapes=(block((4.0, 312.0, 74.0), (156.0, 430.0, 164.0)),),
                states=(IN_PLACE, TAKEN_OUT),
                way_out="+z",
                way_out_mm=100.0,
            ),
            Obstacle(
                id="lid-stiffener",
                name="stiffener under the lid",
                kind="frame",
                shapes=(block((230.0, 0.0, 164.0), (245.0, width, height)),),
                states=(IN_PLACE, TAKEN_OUT),
            ),
        ),
        panels=(Panel(id="lid", name="lid", wall="roof", held="slides"),),
        openings=(
            *fan_openings(front, "front", (length, length + PANEL)),
            *fan_openings(rear, "rear", (-WALL, 0.0)),
            connector_aperture(main_board, board_at, WALL, upright=False),
            supply_cut((-WALL, 315.0, 6.0), (0.0, 430.0, 61.0)),
            card_cut((-WALL, 64.0, 14.0), (0.0, 100.0, 118.0)),
            Opening(
                id="grommet-1",
                name="tube slot",
                wall="rear",
                shape=block((-WALL, 10.0, 130.0), (0.0, 60.0, 152.0)),
            ),
        ),
        outside=(
            OutsideSolid(
                id="ears",
                name="panel ears",
                shapes=(
                    block((length, left, ear_low), (length + PANEL, -WALL, ear_high)),
                    block((length, width + WALL, ear_low), (length + PANEL, right, ear_high)),
                ),
            ),
            OutsideSolid(
                id="handles",
                name="handles",
                shapes=tuple(
                    block((length + PANEL, y - 6.0, 36.8), (length + PANEL + 38.0, y + 6.0, 136.8))
                    for y in (left + 11.0, right - 11.0)
                ),
            ),
            OutsideSolid(
                id="rails",
                name="slide rails",
                shapes=(
                    block((20.0, -WALL - RAIL, 60.0), (460.0, -WALL, 112.0)),
                    block((20.0, width + WALL, 60.0), (460.0, width + WALL + RAIL, 112.0)),
                ),
            ),
        ),
        zones=(front, fan_wall, rear),
        no_drill=(
            NoDrill(id="rail-access", wall="access", reason="a slide rail is screwed on here"),
            NoDrill(id="rail-far", wall="far", reason="a slide rail is screwed on here"),
        ),
        dimensions=FrozenMap({"outside[0].shapes[0].size_mm[2]": Dimension(origin="drawing")}),
    )
