"""How far outlines reach in a direction of their plane, and the directions that part two of them.

What is apart along one direction is apart. The gap along a direction goes in proportion when
things are shifted, so a stack-up of it is exact, round corners or not.
"""

from __future__ import annotations

from itertools import product
from math import cos, hypot, pi, sin

from geometry.measures.planar import nearest
from geometry.measures.prism import Outline, Poly, Rect
from geometry.measures.tolerance import LENGTH_EPS_MM, meets

Direction = tuple[float, float]
"""A unit vector of the plane."""

SQUARE: tuple[Direction, ...] = ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))

ALL_ROUND: tuple[Direction, ...] = tuple(
    (cos(k * pi / 8), sin(k * pi / 8)) for k in range(16)
)  # fmt: skip
"""Sixteen directions: what goes beyond a circle by any way goes beyond it by one of these, all but
2 % of the way."""


def reach(outline: Outline, to: Direction) -> float:
    """Return how far an outline reaches in a direction (mm), counted from the origin."""
    a, b = to
    if isinstance(outline, Poly):
        return max(a * p + b * q for p, q in outline.shell)
    if isinstance(outline, Rect):
        return max(a * outline.a0, a * outline.a1) + max(b * outline.b0, b * outline.b1)
    ends = (a * outline.a0 + b * outline.b0, a * outline.a1 + b * outline.b1)
    return max(ends) + outline.r


def apart_mm(p: Outline, q: Outline, to: Direction) -> float:
    """Return how far `q` lies beyond `p` in a direction (mm); negative where it does not."""
    return -reach(q, (-to[0], -to[1])) - reach(p, to)


def inside_mm(p: Outline, hole: Outline, to: Direction) -> float:
    """Return how far `p` stays within the edge of a hole in a direction (mm)."""
    return reach(hole, to) - reach(p, to)


def parting(p: Outline, q: Outline) -> tuple[Direction, ...]:
    """Return directions in which `q` lies beyond `p`: square ones, else that of the nearest points.

    Empty where neither does, which may be for outlines with hollows.
    """
    found = [to for to in SQUARE if meets(apart_mm(p, q, to), 0.0)]
    if isinstance(p, Rect) and isinstance(q, Rect):
        return tuple(found)
    near = nearest(p, q)
    if near.mm > LENGTH_EPS_MM:
        to = ((near.q[0] - near.p[0]) / near.mm, (near.q[1] - near.p[1]) / near.mm)
        if meets(apart_mm(p, q, to), 0.0):
            found.append(to)
    return tuple(found)


def is_convex(outline: Outline) -> bool:
    """Whether an outline has neither hollows nor holes."""
    if not isinstance(outline, Poly):
        return True
    hull = outline.polygon.convex_hull
    return not outline.holes and bool(hull.area - outline.polygon.area <= LENGTH_EPS_MM)


def stays_inside(p: Outline, hole: Outline) -> bool:
    """Whether `p` lies wholly within the edge of a hole that has no hollows."""
    if not is_convex(hole):
        return False
    every = (*SQUARE, *ways_out(p, hole, (0.0, 0.0)))
    return all(meets(inside_mm(p, hole, to), 0.0) for to in every)


def ways_out(p: Outline, hole: Outline, off_mm: tuple[float, float]) -> tuple[Direction, ...]:
    """Return the directions in which `p` may leave a hole that has no hollows.

    Square to its straight sides, and at round ones towards the corners of `p` as they stand when
    they are off outwards by `off_mm` along the axes: there they are farthest out.
    """
    if isinstance(hole, Rect):
        return SQUARE
    if isinstance(hole, Poly):
        return square_to_sides(hole)
    found = list(square_to_sides(Poly(((hole.a0, hole.b0), (hole.a1, hole.b1)))))
    for end in {(hole.a0, hole.b0), (hole.a1, hole.b1)}:
        for corner in points(p):
            a, b = corner[0] - end[0], corner[1] - end[1]
            for s, t in product(_outwards(a), _outwards(b)):
                x, y = a + s * off_mm[0], b + t * off_mm[1]
                if hypot(x, y) > LENGTH_EPS_MM:
                    found.append((x / hypot(x, y), y / hypot(x, y)))
            if abs(a) <= off_mm[0] and abs(b) <= off_mm[1]:
                found += ALL_ROUND
    return tuple(dict.fromkeys((round(a, 9), round(b, 9)) for a, b in found))


def _outwards(mm: float) -> tuple[int, ...]:
    return (1, -1) if abs(mm) <= LENGTH_EPS_MM else ((1,) if mm > 0 else (-1,))


def points(outline: Outline) -> tuple[tuple[float, float], ...]:
    """Return the corners of an outline without its holes; of a round one the ends of its middle."""
    if isinstance(outline, Poly):
        return outline.shell
    a0, b0, a1, b1 = outline.a0, outline.b0, outline.a1, outline.b1
    if isinstance(outline, Rect):
        return (a0, b0), (a1, b0), (a1, b1), (a0, b1)
    return tuple(dict.fromkeys(((a0, b0), (a1, b1))))


def square_to_sides(ring: Poly) -> tuple[Direction, ...]:
    """Return the directions square to the sides of a ring, outwards and inwards alike."""
    found: list[Direction] = []
    for (a0, b0), (a1, b1) in zip(ring.shell, (*ring.shell[1:], ring.shell[0]), strict=True):
        long = hypot(a1 - a0, b1 - b0)
        if long > LENGTH_EPS_MM:
            found += [((b1 - b0) / long, (a0 - a1) / long), ((b0 - b1) / long, (a1 - a0) / long)]
    return tuple(found)
