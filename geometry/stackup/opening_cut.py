"""Openings as one sees them along an axis, and how their sides go with what may be off in them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from math import sqrt
from typing import TYPE_CHECKING

from geometry.measures.prism import PLANE, Poly, Prism, view
from geometry.measures.rings import inner_polygon
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.openings import STRIPS
from geometry.stackup.deviation import Deviation
from geometry.stackup.opening_edges import side_line, sides_of
from geometry.stackup.rim_parts import Hole
from geometry.stackup.stack_ups import Contributor

if TYPE_CHECKING:
    from shapely import Polygon

CORNER = 2.0
"""Corners between openings go so many times as far as these are off, at most.

They go farther only where sides cross at less than 60 degrees.
"""

Point = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Cut:
    """An opening as one sees it along an axis, and how its sides go with what may be off in it.

    `shifts` has where the corners go at either limit of each dimension, if corners stay the same.
    """

    hole: Hole
    outline: Poly
    shape: Polygon
    shifts: dict[tuple[Deviation, float], tuple[Point, ...] | None]
    _inwards: dict[int, float] = field(default_factory=dict)

    @classmethod
    def of(cls, hole: Hole, axis: int) -> Cut:
        """Return an opening as seen along an axis."""
        shape = inner_polygon(view(hole.prism, axis))
        drawn = corners_of(shape)
        shifts: dict[tuple[Deviation, float], tuple[Point, ...] | None] = {}
        for one in hole.moving:
            for off in _limits(one):
                then = corners_of(inner_polygon(view(hole.when(one, off), axis)))
                shifts[one, off] = (
                    tuple((x - p, y - q) for (x, y), (p, q) in zip(then, drawn, strict=True))
                    if len(then) == len(drawn)
                    else None
                )
        return cls(hole, Poly(drawn), shape, shifts)

    def changes(self, number: int, one: Deviation) -> tuple[float, float]:
        """Return how far a side goes outwards at either limit: that of its ends which does less."""
        a, b, _ = side_line(self.outline, number)
        plus, minus = (self._least(number, one, off, (a, b)) for off in _both(one))
        return plus, minus

    def _least(self, number: int, one: Deviation, off_mm: float, to: Point) -> float:
        if not off_mm:
            return 0.0
        own = self.shifts[one, off_mm]
        if own is None:
            return -sqrt(2.0) * abs(off_mm)
        return min(to[0] * x + to[1] * y for x, y in (own[number - 1], own[number]))

    def by(self, number: int, names: dict[str, str]) -> Iterator[Contributor]:
        """Yield what each dimension does to a side, outwards."""
        for one in self.hole.moving:
            plus, minus = self.changes(number, one)
            name = names.get(one.owner, one.owner)
            yield Contributor(one.owner, name, one.path, one.dimension, plus, minus)

    def farthest(self, where: Polygon) -> int:
        """Return the side that is off inwards most of those that may come to a region."""
        at = self.outline.shell
        every = list(sides_of(self.outline))
        near = [k for k in every if self.strip(k, at[k - 1], at[k]).intersects(where)]
        return max(near or every, key=self.inwards_mm)

    def inwards_mm(self, number: int) -> float:
        """Return how far a side may be off inwards at most."""
        if number not in self._inwards:
            every = (-min(0.0, *self.changes(number, one)) for one in self.hole.moving)
            self._inwards[number] = sum(every)
        return self._inwards[number]

    def along_mm(self, number: int) -> float:
        """Return how far the ends of a side may be off along it at most."""
        a, b, _ = side_line(self.outline, number)
        most = 0.0
        for one in self.hole.moving:
            ends = [self._least(number, one, off, to) for off in _both(one)
                    for to in ((b, -a), (-b, a))]  # fmt: skip
            most -= min(0.0, *ends)
        return most

    def strip(self, number: int, start: Point, end: Point) -> Polygon:
        """Return what of an opening a stretch of a side may leave."""
        import shapely

        a, b, _ = side_line(self.outline, number)
        far, beyond = max(self.inwards_mm(number), LENGTH_EPS_MM), self.along_mm(number)
        t = (end[0] - start[0], end[1] - start[1])
        long = sqrt(t[0] * t[0] + t[1] * t[1])
        u = (t[0] / long * beyond, t[1] / long * beyond)
        p, q = (start[0] - u[0], start[1] - u[1]), (end[0] + u[0], end[1] + u[1])
        inner = [(x - far * a, y - far * b) for x, y in (q, p)]
        return shapely.Polygon([p, q, *inner])

    @cached_property
    def core(self) -> Polygon:
        """What is open however the opening is off."""
        import shapely

        at = self.outline.shell
        strips = [self.strip(k, at[k - 1], at[k]) for k in sides_of(self.outline)]
        inner = [shapely.Polygon(ring).buffer(self.hole.reach_mm) for ring in self.shape.interiors]
        found: Polygon = self.shape - shapely.union_all([*strips, *inner])
        return found

    @cached_property
    def sides(self) -> tuple[int, ...]:
        """The numbers of its straight sides."""
        return tuple(sides_of(self.outline))

    def core_in(self, piece: Prism, axis: int) -> Polygon:
        """Return what is open in a piece however the opening, seen along an axis, is off.

        Across a leaning piece it is cut in `STRIPS` steps, each as narrow as it is at either end.
        """
        if self.hole.prism.is_box or piece.is_box or piece.axis == axis:
            return self.core
        from shapely.affinity import translate

        k = PLANE[axis].index(3 - piece.axis - axis)
        step = (self.shape.bounds[k + 2] - self.shape.bounds[k]) / STRIPS
        found: Polygon = self.core
        for off in (-step, step):
            found = found & translate(self.core, *((off, 0.0) if k == 0 else (0.0, off)))
        return found

    def hidden(self, other: Polygon) -> Iterator[tuple[int, Point, Point]]:
        """Yield the stretches of sides that lie inside another opening as drawn."""
        import shapely

        inside = other.buffer(-LENGTH_EPS_MM)
        for k in sides_of(self.outline):
            line = shapely.LineString([self.outline.shell[k - 1], self.outline.shell[k]])
            for part in shapely.get_parts(line & inside):
                if part.length > LENGTH_EPS_MM:
                    start, end = shapely.get_coordinates(part)[[0, -1]].tolist()
                    yield k, (start[0], start[1]), (end[0], end[1])


def corners_of(shape: Polygon) -> tuple[Point, ...]:
    return tuple((float(a), float(b)) for a, b in shape.exterior.coords[:-1])


def _both(one: Deviation) -> tuple[float, float]:
    return one.dimension.plus_mm or 0.0, -(one.dimension.minus_mm or 0.0)


def _limits(one: Deviation) -> Iterator[float]:
    yield from (off for off in _both(one) if off)
