"""Rooms whose front wall leans as one goes up, with openings along and across its axis, in any
order, and a block that stands in one of them or in all together."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from math import cos, hypot, pi, sin

from small_rooms import brick, free, layout, room

from catalog.enclosure import Opening
from catalog.shapes import Box, Cylinder, Extrusion, Shape
from geometry.layout import Held, Layout, Settings

MIDDLE = 100.0
"""Where the block stands across the wall, along y and z."""

BEHIND = 350.0
"""All openings end behind the wall."""

OPENINGS = (
    ("box",),
    ("round", "beside"),
    ("round", "above"),
    ("polygon", "beside"),
    ("polygon", "above"),
    ("box", "round"),
    ("box", "beside", "above"),
    ("round", "beside", "above"),
    ("half round", "half box"),
    ("half round", "upper half"),
    ("box", "groove"),
    ("round", "groove"),
    ("polygon", "groove"),
    ("round", "small round"),
    ("polygon", "small round"),
    ("box", "small round"),
)


def mixed_room(rng: random.Random) -> Layout:
    """Return such a room; no two openings need to run into each other."""
    lean = rng.choice((-1, 1)) * rng.uniform(5.0, 60.0)
    size = (90.0 + abs(lean), rng.uniform(15, 30), rng.uniform(15, 30))
    kinds = list(rng.choice(OPENINGS))
    shapes = list(_shapes(rng, kinds, 120.0 + min(lean, 0.0), size[1] / 2, size[2] / 2))
    rng.shuffle(shapes)
    back = rng.choice((0.0, 0.0, rng.uniform(40, 60) + abs(lean) / 2))
    return leaning(lean, size, *shapes, back_mm=back)


def crossed_room(rng: random.Random) -> Layout:
    """Return such a room with two openings cut across each other that only just run together."""
    lean = rng.choice((-1, 1)) * rng.uniform(5.0, 60.0)
    size = (90.0 + abs(lean), rng.uniform(15, 30), rng.uniform(15, 30))
    front, half_y, half_z = 120.0 + min(lean, 0.0), size[1] / 2, size[2] / 2

    def play() -> float:
        return rng.uniform(0.5, 3)

    seam, low = MIDDLE + rng.uniform(-0.3, 0.3) * half_z, MIDDLE - half_z - play()
    under: Shape
    if rng.random() < 0.5:
        wide = 2 * hypot(half_y, (seam - low) / 2) + rng.uniform(1, 4)
        at, long = (front, MIDDLE, (seam + low) / 2), BEHIND - front
        under = Cylinder(axis="x", at_mm=at, diameter_mm=wide, length_mm=long)
    else:
        y0, y1 = MIDDLE - half_y - play(), MIDDLE + half_y + play()
        top = seam + rng.uniform(0.1, 0.6)
        ring = ((y0, low), (y1, low), (y1 + rng.uniform(0, 3), top), (y0, top))
        under = Extrusion(axis="x", outline_mm=ring, from_mm=front, to_mm=BEHIND)
    top = MIDDLE + half_z + play()
    sides = (seam - rng.uniform(0, 0.3), seam - rng.uniform(0, 0.3), top + rng.uniform(0, 2), top)
    corners = tuple(zip((front, BEHIND, BEHIND, front), sides, strict=True))
    y0, y1 = MIDDLE - half_y - play(), MIDDLE + half_y + play()
    over = Extrusion(axis="y", outline_mm=corners, from_mm=y0, to_mm=y1)
    shapes: list[Shape] = [under, over]
    rng.shuffle(shapes)
    return leaning(lean, size, *shapes)


def leaning(
    lean: float,
    size: tuple[float, float, float],
    *shapes: Shape,
    at: tuple[float, float] = (MIDDLE, MIDDLE),
    back_mm: float = 0.0,
) -> Layout:
    """A room of 200 mm whose front wall leans by `lean` over its height, with openings in it.

    A block of some size stands in it, its middle `at` y and z.
    """
    openings = tuple(
        Opening(id=f"o{k}", name=f"cut {k}", wall="front", shape=shape)
        for k, shape in enumerate(shapes)
    )
    ring = ((0, 0), (200, 0), (200 + lean, 200), (0, 200))
    outer = Box(at_mm=(-2, -2, -2), size_mm=(204 + max(lean, 0.0), 204, 204))
    cavity = Extrusion(axis="y", outline_mm=ring, from_mm=0, to_mm=200)
    enclosure = room((200, 200, 200), openings=openings, cavity=(cavity,), outer=(outer,))
    peg = brick("peg", size)
    place = (200 + lean / 2 - back_mm, at[0], at[1] - size[2] / 2)
    one = free("P", peg, place, held=Held(by="clamp", on="rear"))
    return layout(enclosure, [peg], frees=[one], settings=Settings(margin_mm=0.0))


def _shapes(
    rng: random.Random, kinds: list[str], front: float, half_y: float, half_z: float
) -> Iterator[Shape]:
    y, z = (MIDDLE + rng.uniform(-0.4, 0.4) for _ in "yz")
    far = hypot(half_y, half_z)
    draw = rng.uniform

    def box(y0: float, y1: float, z0: float, z1: float) -> Box:
        return Box(at_mm=(front, y0, z0), size_mm=(BEHIND - front, y1 - y0, z1 - z0))

    def bore(a: float, b: float, diameter: float) -> Cylinder:
        long = BEHIND - front
        return Cylinder(axis="x", at_mm=(front, a, b), diameter_mm=diameter, length_mm=long)

    def small() -> Cylinder:
        wide, turn = draw(8, 25), draw(0, 2 * pi)
        off = far + draw(0, 8) + wide / 2
        return bore(y + off * cos(turn), z + off * sin(turn), wide)

    def polygon() -> Extrusion:
        a, b = half_y + draw(0.5, 3), half_z + draw(0.5, 3)
        ring = ((y - a, z - b), (y + a, z - b), (y + a, z + b), (y, z + b + 4), (y - a, z + b))
        return Extrusion(axis="x", outline_mm=ring, from_mm=front, to_mm=BEHIND)

    def groove() -> Extrusion:
        low, high = z + half_z + draw(-2, 7), draw(8, 20)
        ring = (
            (front, low),
            (BEHIND, low + draw(-3, 3)),
            (BEHIND, low + high),
            (front, low + high),
        )
        return Extrusion(axis="y", outline_mm=ring, from_mm=y - draw(5, 60), to_mm=y + draw(5, 60))

    def play() -> float:
        return draw(0.5, 3)

    low_z, high_z = z - half_z, z + half_z
    drawn: dict[str, Callable[[], Shape]] = {
        "round": lambda: bore(y, z, 2 * far + draw(1.5, 6)),
        "polygon": polygon,
        "box": lambda: box(
            y - half_y - play(), y + half_y + play(), low_z - play(), high_z + play()
        ),
        "half round": lambda: bore(y - half_y / 2, z, 2 * hypot(1.2 * half_y, half_z) + draw(1, 4)),
        "half box": lambda: box(
            y + draw(-0.3, 0.1) * half_y, y + half_y + play(), low_z - play(), high_z + play()
        ),
        "upper half": lambda: box(
            y - half_y - play(), y + half_y + play(), z + draw(-0.3, 0.1) * half_z, high_z + play()
        ),
        "beside": lambda: _beside(box, y + half_y + draw(-2, 7), z - draw(2, 40), draw),
        "above": lambda: _above(box, y - draw(2, 40), high_z + draw(-2, 7), draw),
        "groove": groove,
        "small round": small,
    }
    yield from (drawn[kind]() for kind in kinds)


Between = Callable[[float, float, float, float], Box]
Draw = Callable[[float, float], float]


def _beside(box: Between, y: float, z: float, draw: Draw) -> Box:
    return box(y, y + draw(10, 30), z, z + draw(20, 50))


def _above(box: Between, y: float, z: float, draw: Draw) -> Box:
    return box(y, y + draw(20, 50), z, z + draw(10, 30))
