"""Rooms in which a thing with hollows stands over a stack, its steps near the edges of an item."""

from __future__ import annotations

import random

from small_rooms import block, fan, fan_layer, layout, room, row, zone
from small_rooms import stack as stack_of

from catalog.enclosure import Enclosure, Obstacle
from catalog.shapes import Box, Extrusion
from geometry.layout import Layout, Settings

FLOOR = zone("floor-zone", "floor", (60, 60, 0), "+x", "+y", row(1, 80.0))

Ring = tuple[tuple[float, float], ...]

EDGES = (60.0, 140.0)
"""Where a fan of 80 mm ends that stands in the middle of its zone, along both axes."""


def stepped_ring(
    rng: random.Random, low: float, high: float, slant: float
) -> tuple[Ring, tuple[Ring, ...]]:
    """Return an L, a U, a T, stairs or a frame that hangs down to `low`, and to `high` beside it.

    Sides lean by up to `slant`; a frame has its hole at `high`, and is cut off at `low`.
    """
    a, b = sorted(rng.choice(EDGES) + rng.uniform(-3.0, 3.0) for _ in range(2))
    if b - a < 8.0:
        b = a + rng.uniform(8.0, 70.0)
    c, d = a + rng.uniform(-slant, slant) / 2, b + rng.uniform(-slant, slant) / 2
    top = high + 40.0
    kind = rng.choice(("L", "J", "U", "T", "stairs", "frame"))
    if kind == "L":
        return ((10, high), (c, high), (a, low), (240, low), (240, top), (10, top)), ()
    if kind == "J":
        return ((10, low), (a, low), (c, high), (240, high), (240, top), (10, top)), ()
    if kind == "T":
        ring = ((10, high), (c, high), (a, low), (b, low), (d, high), (240, high), (240, top))
        return (*ring, (10, top)), ()
    if kind == "stairs":
        middle = (low + high) / 2
        ring = ((10, high), (c, high), (a, middle), (d, middle), (b, low), (240, low), (240, top))
        return (*ring, (10, top)), ()
    sides = ((10, low), (a, low), (c, high), (d, high), (b, low), (240, low))
    if kind == "U":
        return (*sides, (240, top), (10, top)), ()
    ring = ((10, low), (240, low), (240, top + 20), (10, top + 20))
    return ring, (((a, low + 8), (c, high + 20), (d, high + 20), (b, low + 8)),)


def hollow_room(rng: random.Random) -> Layout:
    """Return a room with one fan on its floor, a thing with hollows over it, and some blocks."""
    high = rng.uniform(100.0, 160.0)
    low = high - rng.uniform(2.0, 60.0)
    slant = rng.choice((0.0, 0.0, 1.0, 10.0))
    ring, holes = stepped_ring(rng, low, high, slant)
    shape = Extrusion(
        axis=rng.choice(("x", "y")), outline_mm=ring, holes_mm=holes, from_mm=20, to_mm=180
    )
    things = [Obstacle(id="duct", name="duct", shapes=(shape,))]
    if rng.random() < 0.5:
        x, y = rng.choice(EDGES) + rng.uniform(-3, 3), rng.uniform(20, 140)
        things.append(block("bar", (x, y, low + rng.uniform(0, 1)), (x + 20, y + 40, high + 30)))
    return with_a_fan(room((260, 260, 260), [FLOOR], things))


def stepped_walls(rng: random.Random) -> Layout:
    """Return a room whose roof comes down in leaning steps over one fan on its floor."""
    high = rng.uniform(120.0, 160.0)
    low, slant = high - rng.uniform(2.0, 40.0), rng.choice((1.0, 10.0))
    a, b = rng.uniform(56, 64), rng.uniform(136, 144)
    c, d = a + rng.uniform(-slant, slant), b + rng.uniform(-slant, slant)
    ring = ((0, 0), (260, 0), (260, low), (d, low), (b, high), (c, high), (a, 200), (0, 200))
    cavity = (Extrusion(axis="y", outline_mm=ring, from_mm=0, to_mm=260),)
    outer = (Box(at_mm=(-2, -2, -2), size_mm=(264, 264, 204)),)
    return with_a_fan(room((260, 260, 200), [FLOOR], cavity=cavity, outer=outer))


def with_a_fan(enclosure: Enclosure) -> Layout:
    """Return an enclosure with a fan of 80 mm on its floor and no margin."""
    part = fan(25.0, 80.0).but(id="fan")
    stack = stack_of("S", "floor-zone", fan_layer("A", part, ["c1"]))
    return layout(enclosure, [part], [stack], settings=Settings(margin_mm=0.0))
