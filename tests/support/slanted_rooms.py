"""Rooms with a slanted wall, an opening across its axis, and a block that stands in it."""

from __future__ import annotations

import random
from math import hypot

from small_rooms import brick, free, layout, room

from catalog.enclosure import Opening
from catalog.shapes import Box, Cylinder, Extrusion, Shape
from geometry.layout import Held, Layout, Settings


def slanted_room(rng: random.Random) -> Layout:
    """Return a room whose front wall leans as one goes up, a block in a round opening of it."""
    lean = rng.choice((-1, 1)) * rng.uniform(5.0, 60.0)
    ring = ((0, 0), (200, 0), (200 + lean, 200), (0, 200))
    wide = 204 + max(lean, 0.0)
    size = (90.0 + abs(lean), rng.uniform(15, 30), rng.uniform(15, 30))
    far = hypot(size[1], size[2]) + rng.uniform(1.5, 6.0)
    y, z = 100 + rng.uniform(-0.4, 0.4), 100 + rng.uniform(-0.4, 0.4)
    at = (120 + min(lean, 0.0), y, z)
    shape: Shape = Cylinder(axis="x", at_mm=at, diameter_mm=far, length_mm=150 + abs(lean))
    if rng.random() < 0.3:
        a, b = (size[1] + rng.uniform(1, 5)) / 2, (size[2] + rng.uniform(1, 5)) / 2
        points = ((y - a, z - b), (y + a, z - b), (y + a, z + b), (y, z + b + 4), (y - a, z + b))
        shape = Extrusion(axis="x", outline_mm=points, from_mm=at[0], to_mm=350)
    opening = Opening(id="o0", name="cut", wall="front", shape=shape)
    peg = brick("peg", size)
    held = Held(by=rng.choice(("holes", "clamp")), on="rear")
    enclosure = room(
        (200, 200, 200),
        openings=(opening,),
        cavity=(Extrusion(axis="y", outline_mm=ring, from_mm=0, to_mm=200),),
        outer=(Box(at_mm=(-2, -2, -2), size_mm=(wide, 204, 204)),),
    )
    one = free("P", peg, (200 + lean / 2, 100, 100 - size[2] / 2), held=held)
    return layout(enclosure, [peg], frees=[one], settings=Settings(margin_mm=0.0))
