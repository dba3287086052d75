"""Bars of wall that come between two openings which run into each other as drawn.

As drawn there is no wall; once a side of either is off inwards by more than they overlap there is,
across the way of all that passes both. What of the two sides no opening holds with all at worst is
told as a bar, as it would then stand: with it the gaps of what stands in the openings, and beside
the seam, are never told larger than they can be. Each bar knows by how far the openings overlap,
and what takes that. How far a side goes inwards is added up from what each dimension moves its
ends, which is exact for sides that stay square and a little more for others.

Sides that look less than `FACING` away from each other leave no bar but a corner of wall, as two
round openings do. Between boxes that goes with both (`geometry.stackup.rim_parts`); elsewhere parts
of walls go with one opening each, and do so beside the others as drawn. So there what two openings
have in common as drawn, and none holds at worst, counts like a bar, with an overlap of nothing.
Where openings leave nothing of a whole wall there is no bar that could come between them either.

Across a leaning piece openings are cut in steps, and of those only what is wall as drawn is a part
that goes with its opening. So near to where the sides of two openings cross, all that may come to
be wall in either counts like a bar.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations, product
from math import sqrt
from typing import TYPE_CHECKING

from catalog.enclosure import Enclosure
from geometry.measures.clearance import bounds_gap
from geometry.measures.prism import PLANE, Poly, Prism, turned, view
from geometry.measures.rings import inner_polygon
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.openings import STRIPS
from geometry.stackup.deviation import Deviation
from geometry.stackup.of_enclosure import of_walls
from geometry.stackup.opening_edges import Line, side_line, sides_of
from geometry.stackup.rim_parts import Hole
from geometry.stackup.rims_across import EVERYWHERE, clipped
from geometry.stackup.sums import Contributor, StackUp, stack_up
from geometry.walls import SIDES, build_walls

if TYPE_CHECKING:
    from shapely import Polygon

FACING = -0.5
"""Sides leave a bar between them where the product of their normals is less."""

LEAST_MM2 = 1e-6
"""What is smaller is none."""

SLICES = 16
"""A bar that leans across a slanted wall is told by so many blocks round it."""

CORNER = 2.0
"""Corners between openings go so many times as far as these are off, at most.

They go farther only where sides cross at less than 60 degrees.
"""

Point = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Bar:
    """A bar of wall as it would stand with its openings at worst, and their `overlap` as drawn.

    It is what of a piece of the wall without openings lies in a flat region `where` across `axis`.
    """

    overlap: StackUp
    wall: Solid
    place: int
    axis: int
    where: Polygon
    moves: dict[tuple[str, str], Deviation]
    _seen: dict[tuple[tuple[str, str], float], Prism] = field(default_factory=dict)

    @cached_property
    def prism(self) -> Prism:
        """The bar where the faces of the wall are as drawn."""
        found = _within(self.wall.prisms[self.place], self.axis, self.where)
        assert found is not None
        return found

    def when(self, one: Deviation, off_mm: float) -> Prism:
        """Return the bar when a dimension of the wall is off."""
        key = (one.key, off_mm)
        if key not in self._seen:
            own = self.moves.get(one.key)
            moved = None if own is None else own.moved(self.wall, off_mm)
            found = moved and _within(moved[self.place], self.axis, self.where)
            self._seen[key] = found or self.prism
        return self._seen[key]


def bars_of(enclosure: Enclosure, wall: str, holes: Sequence[Hole]) -> Iterator[Bar]:
    """Yield the bars that may come in a wall of an enclosure, by its id."""
    if all(bounds_gap(a.prism.bounds, b.prism.bounds) > 0.0 for a, b in combinations(holes, 2)):
        return
    closed = enclosure.but(openings=())
    solid = next((one for one in build_walls(closed).solids if one.id == wall), None)
    if solid is None:
        return
    names = {opening.id: opening.name for opening in enclosure.openings}
    moves = {one.key: one for one in of_walls(closed)}
    for place, piece in enumerate(solid.prisms):
        for axis, where, overlap in _flat_bars(wall, piece, holes, names):
            for part in _slices(where, slanted=not piece.is_box and piece.axis != axis):
                if _within(piece, axis, part) is not None:
                    yield Bar(overlap, solid, place, axis, part, moves)


def _flat_bars(
    wall: str, piece: Prism, holes: Sequence[Hole], names: dict[str, str]
) -> Iterator[tuple[int, Polygon, StackUp]]:
    """Yield bars that may come in a piece of a wall, as seen along an axis."""
    near = [hole for hole in holes if bounds_gap(piece.bounds, hole.prism.bounds) <= 0.0]
    boxes = piece.is_box and all(hole.prism.is_box for hole in near)
    cuts: dict[tuple[Hole, int], _Cut] = {}
    for pair in combinations(near, 2):
        axis = _axis_of(wall, piece, pair)
        apart = bounds_gap(pair[0].prism.bounds, pair[1].prism.bounds) > 0.0
        if axis is None or apart or not all(_goes_through(hole, piece, axis) for hole in pair):
            continue
        for hole in near:
            if (hole, axis) not in cuts and _goes_through(hole, piece, axis):
                cuts[hole, axis] = _Cut.of(hole, axis)
        others = [cut for (hole, k), cut in cuts.items() if k == axis and hole not in pair]
        p, q = (cuts[hole, axis] for hole in pair)
        slanted = not piece.is_box and piece.axis != axis
        steps = PLANE[axis].index(3 - piece.axis - axis) if slanted else None
        for where, overlap in _between(p, q, others, names, boxes=boxes, steps=steps):
            yield axis, where, overlap


def _axis_of(wall: str, piece: Prism, pair: Sequence[Hole]) -> int | None:
    """Return the axis along which two openings are cut; None where they are cut across each other.

    Boxes are cut through their wall, or where a piece of a step is thinnest.
    """
    axes = {hole.prism.axis for hole in pair if not hole.prism.is_box}
    if len(axes) > 1:
        return None
    b = piece.bounds
    thinnest = min((0, 1, 2), key=lambda k: b[k + 3] - b[k])
    through = next((k for k, low, high in SIDES if wall in (low, high)), thinnest)
    return axes.pop() if axes else through


def _goes_through(hole: Hole, piece: Prism, axis: int) -> bool:
    """Whether an opening is cut along an axis where a piece of a wall is."""
    a, b = hole.prism.bounds, piece.bounds
    within = min(a[axis + 3], b[axis + 3]) - max(a[axis], b[axis]) > LENGTH_EPS_MM
    return within and (hole.prism.is_box or hole.prism.axis == axis)


@dataclass(frozen=True, eq=False)
class _Cut:
    """An opening as one sees it along an axis, and how its sides go with what may be off in it.

    `shifts` has where the corners go at either limit of each dimension, if corners stay the same.
    """

    hole: Hole
    outline: Poly
    shape: Polygon
    shifts: dict[tuple[Deviation, float], tuple[Point, ...] | None]
    _inwards: dict[int, float] = field(default_factory=dict)

    @classmethod
    def of(cls, hole: Hole, axis: int) -> _Cut:
        """Return an opening as seen along an axis."""
        shape = inner_polygon(view(hole.prism, axis))
        drawn = _corners(shape)
        shifts: dict[tuple[Deviation, float], tuple[Point, ...] | None] = {}
        for one in hole.moving:
            for off in _limits(one):
                then = _corners(inner_polygon(view(hole.when(one, off), axis)))
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

    def core_across(self, k: int) -> Polygon:
        """Return what is open too where the opening is cut in steps, one above the other along k.

        Of `STRIPS` steps each is as narrow as the opening is at either end of it.
        """
        if self.hole.prism.is_box:
            return self.core
        from shapely.affinity import translate

        bounds = self.shape.bounds
        step = (bounds[k + 2] - bounds[k]) / STRIPS
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


def _corners(shape: Polygon) -> tuple[Point, ...]:
    return tuple((float(a), float(b)) for a, b in shape.exterior.coords[:-1])


def _both(one: Deviation) -> tuple[float, float]:
    return one.dimension.plus_mm or 0.0, -(one.dimension.minus_mm or 0.0)


def _limits(one: Deviation) -> Iterator[float]:
    yield from (off for off in _both(one) if off)


def _between(
    p: _Cut,
    q: _Cut,
    others: Sequence[_Cut],
    names: dict[str, str],
    *,
    boxes: bool,
    steps: int | None,
) -> Iterator[tuple[Polygon, StackUp]]:
    """Yield the flat bars that may come between two openings, with how far these overlap there.

    Corners too, but where all that is cut there are `boxes`. `steps` tells, of a leaning piece,
    along which coordinate openings are cut in steps: there all counts that is near to where the
    sides of both cross.
    """
    import shapely

    mine, theirs = list(p.hidden(q.shape)), list(q.hidden(p.shape))
    found: list[tuple[Polygon, StackUp]] = []
    for one, other in product(mine, theirs):
        overlap = _overlap(p, one, q, other, names)
        if overlap is not None and overlap.worst_mm < -LENGTH_EPS_MM:
            found.append((p.strip(*one) | q.strip(*other), overlap))
    every = [strips for strips, _ in found]
    if not boxes and p.shape.intersects(q.shape):
        every.append(p.shape & q.shape)
        if steps is not None:
            near = p.shape.boundary & q.shape.boundary
            far = CORNER * (p.hole.reach_mm + q.hole.reach_mm)
            every.append((p.shape | q.shape) & near.buffer(far))
    if not every:
        return
    cores = [c.core if steps is None else c.core_across(steps) for c in (p, q, *others)]
    left = shapely.union_all(every) - shapely.union_all(cores)
    for part in shapely.get_parts(left):
        if part.geom_type == "Polygon" and part.area > LEAST_MM2:
            at_it = [overlap for strips, overlap in found if strips.intersects(part)]
            if not at_it:
                by = [*p.by(p.farthest(part), names), *q.by(q.farthest(part), names)]
                at_it = [stack_up(0.0, by, of_openings=True)]
            yield part, min(at_it, key=lambda overlap: overlap.worst_mm)


Stretch = tuple[int, Point, Point]


def _overlap(
    p: _Cut, one: Stretch, q: _Cut, other: Stretch, names: dict[str, str]
) -> StackUp | None:
    """Return how far two openings overlap at two sides if that can be lost.

    None where these do not look away from each other.
    """
    lines = side_line(p.outline, one[0]), side_line(q.outline, other[0])
    if lines[0][0] * lines[1][0] + lines[0][1] * lines[1][1] > FACING:
        return None
    ends = [
        *(_inside_mm(at, lines[1]) for at in one[1:]),
        *(_inside_mm(at, lines[0]) for at in other[1:]),
    ]
    nominal = max(0.0, min(ends))
    if nominal >= p.inwards_mm(one[0]) + q.inwards_mm(other[0]):
        return None
    by = (*p.by(one[0], names), *q.by(other[0], names))
    return stack_up(nominal, by, of_openings=True)


def _inside_mm(at: Point, line: Line) -> float:
    return line[2] - line[0] * at[0] - line[1] * at[1]


def _slices(where: Polygon, *, slanted: bool) -> Iterator[Polygon]:
    """Yield a region, or the blocks round its slices where it leans in a slanted wall."""
    import shapely

    a0, b0, a1, b1 = where.bounds
    if not slanted:
        yield where
        return
    count = 1 if where.area * 2 > (a1 - a0) * (b1 - b0) else SLICES
    k = 0 if a1 - a0 > b1 - b0 else 1
    step = (where.bounds[k + 2] - where.bounds[k]) / count
    for n in range(count):
        low, high = where.bounds[k] + n * step, where.bounds[k] + (n + 1) * step
        band = shapely.box(low, b0, high, b1) if k == 0 else shapely.box(a0, low, a1, high)
        part = where & band
        if part.area > LEAST_MM2 / SLICES:
            yield shapely.box(*part.bounds)


def _within(piece: Prism, axis: int, where: Polygon) -> Prism | None:
    """Return what of a piece lies in a flat region across an axis, as a polygon; None for nothing.

    Of a slanted one what lies in the block round that.
    """
    import shapely

    if piece.is_box:
        piece = turned(piece, axis)
    if piece.axis == axis:
        parts = [
            part
            for part in shapely.get_parts(inner_polygon(piece.outline) & where)
            if part.area > LEAST_MM2 / SLICES
        ]
        if not parts:
            return None
        whole = max(parts, key=lambda part: part.area)
        return Prism(axis, Poly(_corners(whole), tuple(map(_ring, whole.interiors))),
                     piece.lo, piece.hi)  # fmt: skip
    (i, j), (a0, b0, a1, b1) = PLANE[axis], where.bounds
    spans = list(EVERYWHERE)
    spans[i], spans[j] = (a0, a1), (b0, b1)
    found = next(clipped(piece, (spans[0], spans[1], spans[2])), None)
    if found is None or not found.is_box:
        return found
    outline = inner_polygon(found.outline)
    return Prism(found.axis, Poly(_corners(outline)), found.lo, found.hi)


def _ring(ring: object) -> tuple[Point, ...]:
    import shapely

    return tuple((float(a), float(b)) for a, b in shapely.get_coordinates(ring)[:-1])
