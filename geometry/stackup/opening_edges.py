"""Edges of an opening that an outline in it may pass, each as a figure of the two outlines.

A straight side goes with both of its ends, each of which is off by itself; so how far a corner of
the outline stays within it is told by the line through them. At square sides and at round openings
it is told by how far either reaches in a direction.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot
from typing import Protocol

from geometry.measures.prism import Outline, Poly, Rect, Round
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.directions import Direction, inside_mm, points, ways_out

Line = tuple[float, float, float]
"""Normal outwards, of length 1, and how far the line lies in that direction from the origin."""


class Edge(Protocol):
    """What an outline may pass when it leaves an opening."""

    @property
    def to(self) -> Direction:
        """The direction in which it is passed as drawn."""

    @property
    def leans(self) -> bool:
        """Whether it leans, so that what its ends take hangs on each other."""

    def inside_mm(self, p: Outline, hole: Outline) -> float:
        """Return how far an outline stays within it."""


@dataclass(frozen=True)
class Reached:
    """The edge of an opening in one direction."""

    to: Direction
    leans: bool = False

    def inside_mm(self, p: Outline, hole: Outline) -> float:
        """Return how far an outline stays within it."""
        return inside_mm(p, hole, self.to)


@dataclass(frozen=True)
class StraightSide:
    """A straight side of an opening by its number, passed by one corner of an outline."""

    to: Direction
    leans: bool
    number: int
    corner: int

    def inside_mm(self, p: Outline, hole: Outline) -> float:
        """Return how far the corner stays within it."""
        a, b, far = side_line(hole, self.number)
        x, y = points(p)[self.corner]
        return far - a * x - b * y - (p.r if isinstance(p, Round) else 0.0)


def edges_of(p: Outline, hole: Outline, off_mm: tuple[float, float]) -> Iterator[Edge]:
    """Yield the edges of an opening without hollows that an outline in it may pass.

    `off_mm` is how far the outline may be off along the axes.
    """
    if isinstance(hole, Round):
        yield from (Reached(to) for to in ways_out(p, hole, off_mm))
    else:
        for number in sides_of(hole):
            yield from edges_of_side(p, hole, number)


def edges_of_side(p: Outline, hole: Outline, number: int) -> Iterator[Edge]:
    """Yield a straight side of an opening, as each corner of an outline may pass it."""
    a, b, _ = side_line(hole, number)
    leans = min(abs(a), abs(b)) > LENGTH_EPS_MM
    if isinstance(hole, Rect) and not isinstance(p, Poly):
        yield Reached((a, b))
    else:
        yield from (StraightSide((a, b), leans, number, corner) for corner in range(len(points(p))))


def sides_of(hole: Outline) -> Iterator[int]:
    """Yield the numbers of the straight sides of an outline that have a length."""
    at = points(hole)
    for k, (x, y) in enumerate(at):
        if hypot(x - at[k - 1][0], y - at[k - 1][1]) > LENGTH_EPS_MM:
            yield k


def side_line(hole: Outline, number: int) -> Line:
    """Return the line of a straight side, from the corner before that of its number to that."""
    at = points(hole)
    (x0, y0), (x1, y1) = at[number - 1], at[number]
    long = hypot(x1 - x0, y1 - y0)
    turn = 1.0 if _area(at) > 0.0 else -1.0
    a, b = turn * (y1 - y0) / long, turn * (x0 - x1) / long
    return a, b, a * x0 + b * y0


def _area(at: tuple[Direction, ...]) -> float:
    return sum(p[0] * q[1] - p[1] * q[0] for p, q in zip(at, (*at[1:], at[0]), strict=True))
