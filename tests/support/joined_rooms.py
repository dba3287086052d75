"""Rooms with openings of the roof that only just run into each other, and what stands in them."""

from __future__ import annotations

import random
from collections.abc import Iterator
from math import cos, hypot, pi, sin

from roof_openings import cut, under
from small_rooms import brick, free, layout, room

from catalog.enclosure import Opening
from catalog.shapes import Cylinder, Extrusion, Shape
from geometry.layout import Held, Layout, Settings

LOW, HIGH = 40.0, 160.0
"""From where to where the fan stands, along x and y."""


def joined_room(rng: random.Random) -> Layout:
    """Return a room whose roof has openings that are one, in which a fan stands as drawn."""
    return under(*joined(rng))


def pegged_room(rng: random.Random) -> Layout:
    """Return a room with such openings, and a block that stands anywhere in them as drawn."""
    shapes = tuple(joined(rng))
    whole, wide, deep = HIGH - LOW, rng.uniform(3, 60), rng.uniform(3, 60)
    size = (whole, whole) if rng.random() < 0.4 else (wide, deep)
    x, y = (rng.uniform(LOW + mm / 2, HIGH - mm / 2) for mm in size)
    return pegged(*shapes, size=size, at=(x, y))


def pegged(
    *shapes: Shape, size: tuple[float, float] = (40, 40), at: tuple[float, float] = (100, 100)
) -> Layout:
    """A block of some size, its middle `at` x and y, from z = 270 to 330, in a roof at 300."""
    openings = tuple(
        Opening(id=f"o{k}", name=f"cut {k}", wall="roof", shape=shape)
        for k, shape in enumerate(shapes)
    )
    peg = brick("peg", (*size, 60))
    one = free("P", peg, (*at, 270), held=Held(by="clamp", on="floor"))
    enclosure = room((400, 200, 300), openings=openings)
    return layout(enclosure, [peg], frees=[one], settings=Settings(margin_mm=0.0))


def polygon_room(rng: random.Random) -> Layout:
    """Return a room whose roof has an opening of leaning sides, a block in it, a slot beside."""
    size, at = (
        (rng.uniform(5, 40), rng.uniform(5, 40)),
        (rng.uniform(145, 155), rng.uniform(95, 105)),
    )
    turn, count = rng.uniform(0, 2 * pi), rng.randint(4, 7)
    angles = sorted(turn + 2 * pi * k / count + rng.uniform(-0.4, 0.4) for k in range(count))
    ends = [(x * size[0] / 2, y * size[1] / 2) for x in (-1, 1) for y in (-1, 1)]
    # From its corners on the unit circle, so large that so much is left beside the block.
    unit = [(cos(t), sin(t)) for t in angles]
    gap, scale = rng.uniform(0.6, 2.5), 0.0
    for (a, b), (c, d) in zip(unit, (*unit[1:], unit[0]), strict=True):
        long = hypot(c - a, d - b)
        out, far = ((d - b) / long, (a - c) / long), (a * d - b * c) / long
        scale = max(scale, (gap + max(out[0] * x + out[1] * y for x, y in ends)) / far)
    points = ((round(at[0] + scale * x, 3), round(at[1] + scale * y, 3)) for x, y in unit)
    shapes: list[Shape] = [ring(*points)]
    if rng.random() < 0.5:
        x, y = at[0] + size[0] / 2 + rng.uniform(-1, 5), at[1] - rng.uniform(0, 20)
        shapes.append(cut(x, x + rng.uniform(10, 40), y, y + rng.uniform(10, 40)))
    rng.shuffle(shapes)
    return pegged(*shapes, size=size, at=at)


def joined(rng: random.Random) -> Iterator[Shape]:
    """Yield openings that hold the fan together."""

    def beside() -> float:
        return rng.uniform(0.3, 3.0)

    def over() -> float:
        return rng.uniform(0.0, 0.9)

    x0, y0, x1, y1 = LOW - beside(), LOW - beside(), HIGH + beside(), HIGH + beside()
    x, y = rng.uniform(60, 140), rng.uniform(60, 140)
    kind = rng.choice(
        ("two", "three", "cross", "pinwheel", "leaning", "notched", "round", "rounds")
    )
    if kind == "two":
        yield cut(x0, x + over(), y0, y1)
        yield cut(x - over(), x1, y0 - beside(), y1)
    elif kind == "three":
        yield cut(x0, x + over(), y0, y1)
        yield cut(x - over(), x1, y0, y + over())
        yield cut(x - over(), x1, y - over(), y1)
    elif kind == "cross":
        for a, b in ((x0, x + over()), (x - over(), x1)):
            yield cut(a, b, y0, y + over())
            yield cut(a, b, y - over(), y1)
    elif kind == "pinwheel":
        yield cut(x0, x + over(), y0, y + 10)
        yield cut(x - over(), x1, y0, y + over())
        yield cut(x - 10, x1, y - over(), y1)
        yield cut(x0, x - 10 + over(), y + 10 - over(), y1)
        yield cut(x - 11, x + 1, y - 1, y + 11)
    elif kind == "leaning":
        lean = rng.uniform(-20, 20)
        a, b = over(), over()
        yield ring((x0, y0), (x + lean + a, y0), (x - lean + a, y1), (x0, y1))
        yield ring((x + lean - b, y0), (x1, y0), (x1, y1), (x - lean - b, y1))
    elif kind == "notched":
        yield ring((x0, y0), (x, y0), (x, y), (x1, y), (x1, y1), (x0, y1))
        yield cut(x - over(), x1, y0, y + over())
    elif kind == "rounds":
        far = 2 * (30**2 + (60 + rng.uniform(0.2, 3.0)) ** 2) ** 0.5
        for a in (70.0, 130.0):
            yield Cylinder(axis="z", at_mm=(a, 100.0, 295.0), diameter_mm=far, length_mm=12)
    else:
        yield cut(x0, x + over(), y0, y1)
        far = 2 * ((HIGH - x) ** 2 / 4 + 60**2) ** 0.5 + 2 * beside()
        at = ((x + HIGH) / 2, 100.0, 295.0)
        yield Cylinder(axis="z", at_mm=at, diameter_mm=far, length_mm=12)


def ring(*points: tuple[float, float]) -> Extrusion:
    """A polygon through the roof."""
    return Extrusion(axis="z", outline_mm=points, from_mm=295, to_mm=307)
