"""Rooms with openings of all shapes close to each other, and what stands in them."""

from __future__ import annotations

import random
from collections.abc import Iterator
from math import hypot

from small_rooms import brick, exchanger, free, layout, one, room, row, zone
from small_rooms import stack as stack_of

from catalog.enclosure import Opening
from catalog.shapes import Box, Cylinder, Extrusion, Shape
from geometry.checks.survey import is_port_side
from geometry.layout import Held, Layout, Settings
from geometry.scene import build_scene


def pierced_room(rng: random.Random) -> Layout:
    """Return a room with openings of all shapes close to each other, and what stands in them.

    A block and the barb of a port each stand in one as drawn, or in two that are one.
    """
    cube = brick("cube", (rng.uniform(20, 40), rng.uniform(20, 40), 60))
    core = exchanger(1, 30, port_facing="+z").but(id="core")
    peg = free("P", cube, (280, 100, 170), held=Held(by="clamp", on="floor"))
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    stacks = [stack_of("S", "floor-zone", one("E1", core, turn=rng.choice((0, 2))))]
    closed = layout(room((400, 200, 400), [floor]), [core, cube], stacks, [peg])
    every = build_scene(closed).solids_of
    ports = [s.bounds for s in every["E1"] if is_port_side(s) and s.hard]
    high = max(b[5] for b in ports)
    height = high - rng.uniform(1, 6)
    peg = free("P", cube, (280, 100, height - 30), held=Held(by="clamp", on="floor"))
    through = [b for b in ports if b[5] > height - 1]
    through.append((280 - cube.length_mm / 2, 100 - cube.width_mm / 2, 0.0,
                    280 + cube.length_mm / 2, 100 + cube.width_mm / 2, 0.0))  # fmt: skip
    shapes = [shape for b in through for shape in random_openings(rng, b, height)]
    openings = tuple(
        Opening(id=f"o{k}", name="cut", wall="roof", shape=shape) for k, shape in enumerate(shapes)
    )
    enclosure = room((400, 200, height), [floor], openings=openings)
    settings = Settings(margin_mm=0.0)
    return layout(enclosure, [core, cube], stacks, [peg], settings=settings)


def random_openings(
    rng: random.Random, bounds: tuple[float, ...], height_mm: float
) -> Iterator[Shape]:
    """Yield openings round something, and perhaps another one close by or over its edge."""
    x0, y0 = (bounds[k] - rng.uniform(0.6, 4) for k in (0, 1))
    x1, y1 = (bounds[k] + rng.uniform(0.6, 4) for k in (3, 4))
    x, y, z = (x0 + x1) / 2, (y0 + y1) / 2, height_mm - 5

    def cut(a: float, b: float, c: float, d: float) -> Box:
        return Box(at_mm=(a, b, z), size_mm=(c - a, d - b, 12))

    kind = rng.choice(("box", "round", "polygon", "halves", "notched"))
    if kind == "box":
        yield cut(x0, y0, x1, y1)
    elif kind == "round":
        far = hypot(bounds[3] - bounds[0], bounds[4] - bounds[1]) + rng.uniform(0.8, 5)
        middle = ((bounds[0] + bounds[3]) / 2, (bounds[1] + bounds[4]) / 2)
        at = tuple(v + rng.choice((0.0, rng.uniform(-0.3, 0.3))) for v in middle)
        yield Cylinder(axis="z", at_mm=(*at, z), diameter_mm=far, length_mm=12)  # type: ignore[arg-type]
    elif kind == "polygon":
        ring = ((x0, y0), (x, y0 - 8), (x1, y0), (x1, y1), (x, y1 + 6), (x0, y1))
        yield Extrusion(axis="z", outline_mm=ring, from_mm=z, to_mm=z + 12)
    elif kind == "notched":
        ring = ((x0, y0), (x1, y0), (x1, y1 + 9), (x, y1 + 9), (x, y1), (x0, y1))
        yield Extrusion(axis="z", outline_mm=ring, from_mm=z, to_mm=z + 12)
    else:
        yield cut(x0, y0, x + 2, y1)
        yield cut(x - 2, y0, x1, y1)
    beside = rng.choice(("none", "box", "round"))
    if beside == "box":
        yield cut(x0, y1 + rng.uniform(1.5, 8), x1, y1 + 30)
    elif beside == "round":
        at = (x1 + 14 + rng.uniform(1.5, 8), y, z)
        yield Cylinder(axis="z", at_mm=at, diameter_mm=20, length_mm=12)
