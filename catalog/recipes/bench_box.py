"""A bench box: a zone on a removable front bracket, one on the floor, a small one at the rear."""

from __future__ import annotations

from catalog.enclosure import (
    Enclosure,
    NoDrill,
    Obstacle,
    ObstacleState,
    Opening,
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
    feet,
    plate_with_windows,
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

CAVITY: Point = (440.0, 210.0, 400.0)
WALL = 1.5
TRAY_Y = 184.0


def bench_box() -> Enclosure:
    """Return the bench box, 440 x 210 x 400 mm inside."""
    length, width, _ = CAVITY
    cavity, outer = shell(CAVITY, WALL)
    main_board = board("board-microatx")
    board_at: Point = (6.0 + main_board.length_mm / 2, TRAY_Y - STANDOFF_MM, 259.92)
    front = zone(
        "front-zone",
        "front bracket",
        "front-bracket",
        ("+z", "+y"),
        ((418.5, 38.0, 92.0), (418.5, 162.0, 396.0)),
        ((184.0, 100.0), (304.0, 100.0)),
        (120,),
        slots=((-12.0, 12.0), (-2.0, 2.0)),
        inner=ZoneSide(depth_mm=150.0),
        outer=ZoneSide(plate_mm=1.5, depth_mm=20.0),
    )
    floor = zone(
        "floor-zone",
        "floor",
        "floor",
        ("+x", "+y"),
        ((146.0, 38.0, 0.0), (438.0, 162.0, 0.0)),
        ((238.0, 100.0), (358.0, 100.0)),
        (120,),
        slots=((-10.0, 10.0), (0.0, 0.0)),
        inner=ZoneSide(depth_mm=92.0),
    )
    rear = zone(
        "rear-zone",
        "rear wall",
        "rear",
        ("+y", "+z"),
        ((0.0, 10.0, 280.0), (0.0, 110.0, 380.0)),
        ((60.0, 330.0),),
        (92, 80),
    )
    return Enclosure(
        id="bench-box",
        name="Bench box, front bracket",
        aliases=("desktop", "bench", "test box"),
        cavity=(cavity,),
        outer=(outer,),
        obstacles=(
            Obstacle(
                id="tray",
                name="board tray",
                kind="tray",
                shapes=(block((0.0, TRAY_Y, 110.0), (262.0, TRAY_Y + 1.5, 396.0)),),
            ),
            standing_board(main_board, board_at, upright=True, owner="tray"),
            standing_card(main_board, board_at, (-90.0, -51.0), (2.0, 268.5), upright=True),
            standing_supply(supply("supply-sfx"), (0.0, 50.0, 6.0)),
            Obstacle(
                id="front-bracket",
                name="front bracket",
                kind="bracket",
                shapes=(
                    plate_with_windows(
                        "x",
                        (418.5, 420.0),
                        ((418.5, 25.0, 90.0), (420.0, 183.0, 398.0)),
                        cell_centres(front),
                        57.0,
                    ),
                    block((420.0, 25.0, 90.0), (432.0, 26.5, 398.0)),
                    block((420.0, 181.5, 90.0), (432.0, 183.0, 398.0)),
                ),
                states=(IN_PLACE, TAKEN_OUT),
                way_out="-y",
                way_out_mm=190.0,
            ),
            Obstacle(
                id="bracket-peg",
                name="cable peg",
                kind="peg",
                shapes=(
                    Cylinder(
                        axis="x", at_mm=(378.5, 100.0, 392.0), diameter_mm=8.0, length_mm=40.0
                    ),
                ),
                owner="front-bracket",
            ),
            Obstacle(
                id="bracket-duct",
                name="cable duct",
                kind="duct",
                shapes=(block((398.5, 166.0, 110.0), (418.5, 182.0, 380.0)),),
                owner="front-bracket",
            ),
            Obstacle(
                id="drive-cage",
                name="drive cage",
                kind="cage",
                shapes=(block((300.0, 168.0, 4.0), (404.0, 208.0, 84.0)),),
                states=(
                    IN_PLACE,
                    ObstacleState(id="rear", name="moved to the rear", shift_mm=(-90.0, 0.0, 0.0)),
                    TAKEN_OUT,
                ),
                way_out="-y",
                way_out_mm=210.0,
            ),
            Obstacle(
                id="main-cables",
                name="main cable bundle",
                kind="cable",
                shapes=(block((264.0, 173.5, 140.0), (286.0, 184.0, 380.0)),),
            ),
        ),
        panels=(
            Panel(id="side-panel", name="side panel", wall="access"),
            Panel(id="far-panel", name="far panel", wall="far", held="screwed"),
        ),
        openings=(
            Opening(
                id="front-grille",
                name="front grille",
                wall="front",
                shape=block((length, 40.0, 120.0), (length + WALL, 160.0, 370.0)),
            ),
            *fan_openings(floor, "floor", (-WALL, 0.0)),
            *fan_openings(rear, "rear", (-WALL, 0.0)),
            connector_aperture(main_board, board_at, WALL, upright=True),
            supply_cut((-WALL, 56.0, 10.0), (0.0, 169.0, 65.0)),
            card_cut((-WALL, 66.0, 171.0), (0.0, 170.0, 208.0)),
            *tube_grommets((50.0, 90.0), 110.0, 24.0, WALL),
        ),
        outside=(feet(length, width, WALL, 20.0),),
        zones=(front, floor, rear),
        no_drill=(
            NoDrill(id="far-cables", wall="far", reason="cables lie between it and the tray"),
        ),
        dimensions=FrozenMap(
            {
                "cavity[0].size_mm[0]": Dimension(origin="drawing", minus_mm=0.5, plus_mm=0.5),
                "cavity[0].size_mm[1]": Dimension(origin="drawing", minus_mm=0.5, plus_mm=0.5),
                "cavity[0].size_mm[2]": Dimension(origin="drawing", minus_mm=0.5, plus_mm=0.5),
                "zones[0].inner.depth_mm": Dimension(origin="drawing"),
            }
        ),
    )
