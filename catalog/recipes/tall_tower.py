"""A tall tower: zones on front, floor, roof, side and rear, a drive cage that moves."""

from __future__ import annotations

from catalog.enclosure import (
    Enclosure,
    NoDrill,
    Obstacle,
    ObstacleState,
    OutsideSolid,
    Panel,
    ZoneSide,
)
from catalog.model import Point
from catalog.recipes.rooms import (
    IN_PLACE,
    STANDOFF_MM,
    TAKEN_OUT,
    block,
    card_cut,
    connector_aperture,
    fan_openings,
    feet,
    shell,
    standing_board,
    standing_card,
    standing_supply,
    supply_cut,
    tube_grommets,
    zone,
)
from catalog.recipes.shipped_stock import board, supply
from catalog.shapes import Cylinder

CAVITY: Point = (500.0, 230.0, 560.0)
WALL = 1.2
TRAY_Y = 200.0


def tall_tower() -> Enclosure:
    """Return the tall tower, 500 x 230 x 560 mm inside."""
    length, width, height = CAVITY
    cavity, outer = shell(CAVITY, WALL)
    main_board = board("board-atx")
    board_at: Point = (6.0 + main_board.length_mm / 2, TRAY_Y - STANDOFF_MM, 352.4)
    front = zone(
        "front-zone",
        "front wall",
        "front",
        ("+z", "+y"),
        ((length, 38.0, 94.0), (length, 186.0, 559.0)),
        ((195.0, 112.0), (335.0, 112.0), (475.0, 112.0)),
        (140, 120),
        slots=((-42.0, 42.0), (0.0, 0.0)),
    )
    floor = zone(
        "floor-zone",
        "floor",
        "floor",
        ("+x", "+y"),
        ((192.0, 38.0, 0.0), (498.0, 186.0, 0.0)),
        ((275.0, 112.0), (417.0, 112.0)),
        (140, 120),
        slots=((-24.0, 24.0), (0.0, 0.0)),
    )
    roof = zone(
        "roof-zone",
        "roof",
        "roof",
        ("+x", "-y"),
        ((20.0, 24.0, height), (450.0, 156.0, height)),
        ((100.0, 90.0), (220.0, 90.0), (345.0, 90.0)),
        (120,),
        slots=((-6.0, 6.0), (0.0, 0.0)),
        outer=ZoneSide(plate_mm=WALL, depth_mm=32.0),
    )
    side = zone(
        "side-zone",
        "side, beside the tray",
        "far",
        ("+z", "-x"),
        ((310.0, width, 110.0), (450.0, width, 526.0)),
        ((200.0, 380.0), (320.0, 380.0), (440.0, 380.0)),
        (120,),
        slots=((-8.0, 8.0), (-4.0, 4.0)),
    )
    rear = zone(
        "rear-zone",
        "rear wall",
        "rear",
        ("+y", "+z"),
        ((0.0, 8.0, 372.0), (0.0, 138.0, 508.0)),
        ((73.0, 440.0),),
        (120, 92),
        slots=((0.0, 0.0), (-8.0, 8.0)),
    )
    return Enclosure(
        id="tall-tower",
        name="Tall tower with side zone",
        aliases=("tower", "full tower"),
        cavity=(cavity,),
        outer=(outer,),
        obstacles=(
            Obstacle(
                id="tray",
                name="board tray",
                kind="tray",
                shapes=(block((0.0, TRAY_Y, 115.0), (262.0, TRAY_Y + 1.2, 540.0)),),
            ),
            standing_board(main_board, board_at, upright=True, owner="tray"),
            standing_card(main_board, board_at, (-85.0, -46.0), (2.0, 314.0), upright=True),
            standing_supply(supply("supply-atx"), (0.0, 40.0, 8.0)),
            Obstacle(
                id="supply-cover",
                name="cover over the power supply",
                kind="duct",
                shapes=(block((0.0, 0.0, 112.0), (310.0, TRAY_Y, 113.2)),),
                states=(IN_PLACE, TAKEN_OUT),
                way_out="-y",
                way_out_mm=205.0,
            ),
            Obstacle(
                id="drive-cage",
                name="drive cage",
                kind="cage",
                shapes=(block((345.0, 40.0, 6.0), (495.0, 160.0, 108.0)),),
                states=(
                    IN_PLACE,
                    ObstacleState(id="rear", name="moved to the rear", shift_mm=(-150.0, 0.0, 0.0)),
                    TAKEN_OUT,
                ),
                way_out="-y",
                way_out_mm=165.0,
            ),
            Obstacle(
                id="main-cables",
                name="main cable bundle",
                kind="cable",
                shapes=(block((264.0, 189.5, 200.0), (294.0, 200.0, 500.0)),),
            ),
            Obstacle(
                id="cover-hook",
                name="hook of the front cover",
                kind="peg",
                shapes=(
                    Cylinder(
                        axis="x", at_mm=(475.0, 112.0, 552.0), diameter_mm=10.0, length_mm=25.0
                    ),
                ),
            ),
        ),
        panels=(
            Panel(id="side-panel", name="side panel", wall="access", held="hinged"),
            Panel(id="far-panel", name="far panel", wall="far", held="screwed"),
            Panel(id="front-cover", name="front cover", wall="front"),
        ),
        openings=(
            *fan_openings(front, "front", (length, length + WALL)),
            *fan_openings(floor, "floor", (-WALL, 0.0)),
            *fan_openings(roof, "roof", (height, height + WALL)),
            *fan_openings(side, "far", (width, width + WALL)),
            *fan_openings(rear, "rear", (-WALL, 0.0)),
            connector_aperture(main_board, board_at, WALL, upright=True),
            supply_cut((-WALL, 46.0, 13.0), (0.0, 184.0, 89.0)),
            card_cut((-WALL, 82.0, 269.0), (0.0, 186.0, 305.0)),
            *tube_grommets((60.0, 110.0), 535.0, 25.0, WALL),
        ),
        outside=(
            feet(length, width, WALL, 25.0),
            OutsideSolid(
                id="top-cover",
                name="top cover",
                shapes=(
                    block((0.0, 10.0, height + WALL + 32.0), (460.0, 220.0, height + WALL + 34.0)),
                ),
            ),
        ),
        zones=(front, floor, roof, side, rear),
        no_drill=(NoDrill(id="far-cables", wall="far", reason="cables lie behind the tray"),),
    )
