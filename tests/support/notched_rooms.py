"""Rooms in which a block hangs in a hollow of a thing, two or three faces of it about as near."""

from __future__ import annotations

import random

from small_rooms import brick, free, layout, room

from catalog.enclosure import Obstacle
from catalog.model import Dimension, FrozenMap
from catalog.shapes import Extrusion
from geometry.layout import Held, Layout, Settings

Ring = tuple[tuple[float, float], ...]

EXACT = Dimension(minus_mm=0.0, plus_mm=0.0, origin="measured")


def notched_room(rng: random.Random) -> Layout:
    """Return a room with a block in the corner of an L, in a U, in a frame or under leaning steps.

    Some dimensions of the nearest face are exact, so that another may come nearer.
    """
    size = tuple(rng.uniform(20, 50) for _ in range(3))
    a, c = rng.uniform(0.4, 3.0), rng.uniform(0.4, 3.0)
    b, d = rng.uniform(0.4, 4.0), rng.uniform(0.4, 4.0)
    # The block from x = 150 and z = 100; the hollow ends so far beside it.
    x0, x1, z0, z1 = 150 - a, 150 + size[0] + b, 100 - c, 100 + size[2] + d
    lean = rng.choice((0.0, 0.0, rng.uniform(-15.0, 15.0)))
    kind = rng.choice(("L", "U", "frame", "stairs"))
    holes: tuple[Ring, ...] = ()
    if kind == "L":
        ring: Ring = ((100, 60), (300, 60), (300, z0), (x0, z0), (x0 + lean, 200), (100, 200))
    elif kind == "U":
        ring = (
            (100, 60), (300, 60), (300, 200), (x1 - lean, 200), (x1, z0), (x0, z0),
            (x0 + lean, 200), (100, 200),
        )  # fmt: skip
    elif kind == "frame":
        ring = ((100, 60), (300, 60), (300, 210), (100, 210))
        holes = (((x0, z0), (x1, z0), (x1 + lean, z1), (x0 + lean, z1)),)
    else:
        z2 = z0 + rng.uniform(5, 15)
        ring = (
            (100, 60), (300, 60), (300, z0), (x0 + 10, z0), (x0 + 10 + lean / 5, z0 - 5),
            (x0, z2), (x0 + lean, 200), (100, 200),
        )  # fmt: skip
    shape = Extrusion(axis="y", outline_mm=ring, holes_mm=holes, from_mm=20, to_mm=240)
    paths = [
        f"obstacles[0].shapes[0].outline_mm[{k}][{n}]" for k in range(len(ring)) for n in (0, 1)
    ]
    exact = FrozenMap({path: EXACT for path in paths if rng.random() < 0.3})
    enclosure = room(
        (400, 260, 260), [], [Obstacle(id="duct", name="duct", shapes=(shape,))], dimensions=exact
    )
    own = FrozenMap({path: EXACT for path in ("length_mm", "height_mm") if rng.random() < 0.5})
    cube = brick("cube", size).but(dimensions=own)  # type: ignore[arg-type]
    at = (150 + size[0] / 2, 130.0, 100.0)
    held = Held(by=rng.choice(("holes", "clamp")), on="roof")
    return layout(
        enclosure, [cube], frees=[free("P", cube, at, held=held)], settings=Settings(margin_mm=0.0)
    )
