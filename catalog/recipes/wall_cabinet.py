"""A wall cabinet for power electronics: a stepped cavity, zones on its door, roof and a side.

The door is the access side; x runs along it from the left, and the lower part, where the mains
terminals are, is less deep.
"""

from __future__ import annotations

from catalog.enclosure import Enclosure, NoDrill, Obstacle, Opening, OutsideSolid, Panel, ZoneSide
from catalog.recipes.rooms import IN_PLACE, TAKEN_OUT, block, fan_openings, zone
from catalog.shapes import Cylinder, Extrusion, Plug

WALL = 2.0
LENGTH = 500.0
HEIGHT = 700.0
DEPTH = 220.0
STEP_DEPTH = 140.0
STEP_HEIGHT = 160.0


def wall_cabinet() -> Enclosure:
    """Return the wall cabinet, 500 x 220 x 700 mm inside."""
    door = zone(
        "door-zone",
        "door",
        "door-panel",
        ("+x", "-z"),
        ((60.0, 0.0, 484.0), (440.0, 0.0, 636.0)),
        ((179.0, 560.0), (321.0, 560.0)),
        (140, 120),
        slots=((-24.0, 24.0), (0.0, 0.0)),
        inner=ZoneSide(depth_mm=80.0),
        outer=ZoneSide(plate_mm=WALL, depth_mm=60.0),
    )
    roof = zone(
        "roof-zone",
        "roof",
        "roof",
        ("+x", "-y"),
        ((60.0, 36.0, HEIGHT), (440.0, 140.0, HEIGHT)),
        ((150.0, 88.0), (245.0, 88.0), (345.0, 88.0)),
        (92, 80),
        slots=((-12.0, 12.0), (0.0, 0.0)),
    )
    left = zone(
        "left-zone",
        "left side",
        "rear",
        ("+z", "-y"),
        ((0.0, 8.0, 176.0), (0.0, 140.0, 470.0)),
        ((260.0, 74.0), (380.0, 74.0)),
        (120,),
        slots=((-8.0, 8.0), (-3.0, 3.0)),
    )
    capacitors = tuple(
        Cylinder(axis="y", at_mm=(x, 95.0, 330.0), diameter_mm=76.0, length_mm=110.0)
        for x in (255.0, 340.0, 425.0)
    )
    return Enclosure(
        id="wall-cabinet",
        name="Wall cabinet, stepped",
        aliases=("control cabinet", "inverter cabinet", "power electronics", "wall box"),
        cavity=(
            Extrusion(
                axis="x",
                outline_mm=(
                    (0.0, 0.0), (STEP_DEPTH, 0.0), (STEP_DEPTH, STEP_HEIGHT),
                    (DEPTH, STEP_HEIGHT), (DEPTH, HEIGHT), (0.0, HEIGHT),
                ),
                from_mm=0.0,
                to_mm=LENGTH,
            ),
        ),
        outer=(
            Extrusion(
                axis="x",
                outline_mm=(
                    (-WALL, -WALL), (STEP_DEPTH + WALL, -WALL),
                    (STEP_DEPTH + WALL, STEP_HEIGHT - WALL), (DEPTH + WALL, STEP_HEIGHT - WALL),
                    (DEPTH + WALL, HEIGHT + WALL), (-WALL, HEIGHT + WALL),
                ),
                from_mm=-WALL,
                to_mm=LENGTH + WALL,
            ),
        ),
        obstacles=(
            Obstacle(
                id="tray",
                name="mounting plate",
                kind="tray",
                shapes=(block((20.0, 205.0, 180.0), (480.0, 207.5, 684.0)),),
            ),
            Obstacle(
                id="power-module",
                name="power module on its cold plate",
                kind="other",
                shapes=(
                    block((60.0, 185.0, 420.0), (250.0, 205.0, 650.0)),
                    block((70.0, 95.0, 430.0), (240.0, 185.0, 640.0)),
                ),
                plugs=(
                    Plug(
                        id="gate", name="gate drive plug", at_mm=(155.0, 95.0, 600.0), facing="-y",
                        width_mm=40.0, height_mm=10.0, plug_mm=8.0, bend_mm=12.0,
                    ),
                ),
                owner="tray",
            ),
            Obstacle(
                id="choke",
                name="choke",
                kind="other",
                shapes=(block((290.0, 105.0, 450.0), (440.0, 205.0, 620.0)),),
                states=(IN_PLACE, TAKEN_OUT),
                owner="tray",
            ),
            Obstacle(
                id="capacitors",
                name="link capacitors",
                kind="other",
                shapes=capacitors,
                owner="tray",
            ),
            Obstacle(
                id="wiring-duct",
                name="wiring duct",
                kind="duct",
                shapes=(block((20.0, 145.0, 190.0), (480.0, 205.0, 250.0)),),
                owner="tray",
            ),
            Obstacle(
                id="terminals",
                name="mains terminals",
                kind="other",
                shapes=(block((60.0, 85.0, 60.0), (440.0, 135.0, 110.0)),),
                plugs=(
                    Plug(
                        id="mains", name="mains cables", at_mm=(250.0, 110.0, 60.0), facing="-z",
                        width_mm=360.0, height_mm=40.0, plug_mm=10.0, bend_mm=40.0,
                    ),
                ),
            ),
            Obstacle(
                id="door-lock",
                name="rod of the door lock",
                kind="peg",
                shapes=(
                    Cylinder(
                        axis="y", at_mm=(482.0, 0.0, 350.0), diameter_mm=20.0, length_mm=35.0
                    ),
                ),
                owner="door-panel",
            ),
        ),
        panels=(Panel(id="door-panel", name="door", wall="access", held="hinged"),),
        openings=(
            *fan_openings(door, "access", (-WALL, 0.0)),
            *fan_openings(roof, "roof", (HEIGHT, HEIGHT + WALL)),
            *fan_openings(left, "rear", (-WALL, 0.0)),
            *(
                Opening(
                    id=f"gland-{k + 1}",
                    name=f"cable gland {k + 1}",
                    wall="floor",
                    shape=Cylinder(
                        axis="z", at_mm=(x, 70.0, -WALL), diameter_mm=25.0, length_mm=WALL
                    ),
                )
                for k, x in enumerate((120.0, 200.0, 280.0, 360.0))
            ),
        ),
        outside=(
            OutsideSolid(
                id="wall-lugs",
                name="wall lugs",
                shapes=tuple(
                    block((x, DEPTH + WALL, z), (x + 40.0, DEPTH + WALL + 6.0, z + 40.0))
                    for x in (20.0, 440.0)
                    for z in (180.0, 640.0)
                ),
            ),
        ),
        zones=(door, roof, left),
        no_drill=(
            NoDrill(id="far-wall", wall="far", reason="it hangs on the wall of the building"),
            NoDrill(id="gland-floor", wall="floor", reason="mains cables enter here"),
        ),
    )  # fmt: skip
