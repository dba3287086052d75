"""A small cube: a lying board on a deck, one large fan in front, one in the roof, two at a side."""

from __future__ import annotations

from catalog.enclosure import Enclosure, NoDrill, Obstacle, Opening, OutsideSolid, Panel
from catalog.model import Point
from catalog.recipes.rooms import (
    IN_PLACE,
    STANDOFF_MM,
    TAKEN_OUT,
    block,
    connector_aperture,
    fan_openings,
    feet,
    shell,
    standing_board,
    standing_supply,
    supply_cut,
    zone,
)
from catalog.recipes.shipped_stock import board, supply
from catalog.shapes import Stadium

CAVITY: Point = (260.0, 220.0, 270.0)
WALL = 1.0
DECK_Z = 95.0


def small_cube() -> Enclosure:
    """Return the small cube, 260 x 220 x 270 mm inside."""
    length, width, height = CAVITY
    cavity, outer = shell(CAVITY, WALL)
    main_board = board("board-miniitx")
    deck_top = DECK_Z + 1.2
    board_at: Point = (4.0 + main_board.length_mm / 2, 110.0, deck_top + STANDOFF_MM)
    front = zone(
        "front-zone",
        "front wall",
        "front",
        ("+z", "+y"),
        ((length, 36.0, 60.0), (length, 184.0, 262.0)),
        ((160.0, 110.0),),
        (140, 120),
        slots=((-15.0, 15.0), (0.0, 0.0)),
    )
    roof = zone(
        "roof-zone",
        "roof",
        "roof",
        ("+x", "-y"),
        ((20.0, 36.0, height), (240.0, 184.0, height)),
        ((130.0, 110.0),),
        (140, 120),
        slots=((-10.0, 10.0), (0.0, 0.0)),
    )
    side = zone(
        "side-zone",
        "far side",
        "far",
        ("+x", "+z"),
        ((20.0, width, 150.0), (250.0, width, 248.0)),
        ((80.0, 199.0), (176.0, 199.0)),
        (92, 80),
        slots=((-17.0, 17.0), (0.0, 0.0)),
    )
    return Enclosure(
        id="small-cube",
        name="Small cube, board on deck",
        aliases=("cube", "compact", "small form factor"),
        cavity=(cavity,),
        outer=(outer,),
        obstacles=(
            Obstacle(
                id="tray",
                name="board deck",
                kind="tray",
                shapes=(block((0.0, 0.0, DECK_Z), (200.0, width, deck_top)),),
            ),
            standing_board(main_board, board_at, upright=False, owner="tray"),
            standing_supply(supply("supply-sfx"), (0.0, 60.0, 4.0)),
            Obstacle(
                id="drive-cage",
                name="drive cage",
                kind="cage",
                shapes=(block((150.0, 8.0, 4.0), (254.0, 52.0, 84.0)),),
                states=(IN_PLACE, TAKEN_OUT),
                way_out="-y",
                way_out_mm=60.0,
            ),
        ),
        panels=(
            Panel(id="hood", name="hood", wall="roof"),
            Panel(id="side-panel", name="side panel", wall="access"),
            Panel(id="far-panel", name="far panel", wall="far"),
        ),
        openings=(
            *fan_openings(front, "front", (length, length + WALL)),
            *fan_openings(roof, "roof", (height, height + WALL)),
            *fan_openings(side, "far", (width, width + WALL)),
            connector_aperture(main_board, board_at, WALL, upright=False),
            supply_cut((-WALL, 65.0, 8.0), (0.0, 180.0, 63.0)),
            Opening(
                id="grommet-1",
                name="tube slot",
                wall="rear",
                shape=Stadium(
                    axis="x",
                    along="y",
                    at_mm=(-WALL, 110.0, 225.0),
                    overall_mm=70.0,
                    diameter_mm=24.0,
                    length_mm=WALL,
                ),
            ),
        ),
        outside=(
            feet(length, width, WALL, 12.0),
            OutsideSolid(
                id="handle",
                name="handle",
                shapes=(
                    block((40.0, 192.0, height + WALL), (60.0, 208.0, height + WALL + 35.0)),
                    block((200.0, 192.0, height + WALL), (220.0, 208.0, height + WALL + 35.0)),
                    block(
                        (40.0, 192.0, height + WALL + 35.0), (220.0, 208.0, height + WALL + 47.0)
                    ),
                ),
            ),
        ),
        zones=(front, roof, side),
        no_drill=(NoDrill(id="floor-supply", wall="floor", reason="the supply stands on it"),),
    )
