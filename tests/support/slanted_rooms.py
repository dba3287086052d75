"""Rooms with a slanted wall, openings across its axis, and a block that stands in them."""

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
    size = (90.0 + abs(lean), rng.uniform(15, 30), rng.uniform(15, 30))
    far = hypot(size[1], size[2]) + rng.uniform(1.5, 6.0)
    y, z = 100 + rng.uniform(-0.4, 0.4), 100 + rng.uniform(-0.4, 0.4)
    at = (120 + min(lean, 0.0), y, z)
    shape: Shape = Cylinder(axis="x", at_mm=at, diameter_mm=far, length_mm=150 + abs(lean))
    if rng.random() < 0.3:
        a, b = (size[1] + rng.uniform(1, 5)) / 2, (size[2] + rng.uniform(1, 5)) / 2
        points = ((y - a, z - b), (y + a, z - b), (y + a, z + b), (y, z + b + 4), (y - a, z + b))
        shape = _through(lean, *points)
    return _room(rng, lean, size, shape)


def slanted_halves(rng: random.Random) -> Layout:
    """Return such a room with an opening in two halves that only just run into each other."""
    lean = rng.choice((-1, 1)) * rng.uniform(5.0, 60.0)
    size = (90.0 + abs(lean), rng.uniform(15, 30), rng.uniform(15, 30))
    a, b = size[1] / 2 + rng.uniform(1, 4), size[2] / 2 + rng.uniform(1, 4)
    seam, over = 100 + rng.uniform(-5, 5), rng.uniform(0.1, 0.7)
    low, high = 100 - b, 100 + b
    first = ((100 - a, low), (seam + over, low), (seam + over, high + 4), (100 - a, high))
    second = ((seam, low), (100 + a, low), (100 + a, high), (seam, high + 4))
    return _room(rng, lean, size, _through(lean, *first), _through(lean, *second))


def _through(lean: float, *points: tuple[float, float]) -> Extrusion:
    """A polygon of y and z through the front wall."""
    return Extrusion(axis="x", outline_mm=points, from_mm=120 + min(lean, 0.0), to_mm=350)


def _room(
    rng: random.Random, lean: float, size: tuple[float, float, float], *shapes: Shape
) -> Layout:
    ring = ((0, 0), (200, 0), (200 + lean, 200), (0, 200))
    wide = 204 + max(lean, 0.0)
    openings = tuple(
        Opening(id=f"o{k}", name="cut", wall="front", shape=shape) for k, shape in enumerate(shapes)
    )
    peg = brick("peg", size)
    held = Held(by=rng.choice(("holes", "clamp")), on="rear")
    enclosure = room(
        (200, 200, 200),
        openings=openings,
        cavity=(Extrusion(axis="y", outline_mm=ring, from_mm=0, to_mm=200),),
        outer=(Box(at_mm=(-2, -2, -2), size_mm=(wide, 204, 204)),),
    )
    one = free("P", peg, (200 + lean / 2, 100, 100 - size[2] / 2), held=held)
    return layout(enclosure, [peg], frees=[one], settings=Settings(margin_mm=0.0))
