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
from typing import TYPE_CHECKING

from catalog.enclosure import Enclosure
from geometry.measures.clearance import bounds_gap
from geometry.measures.prism import PLANE, Poly, Prism, turned
from geometry.measures.rings import inner_polygon
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.crossed_bars import crossed_bars
from geometry.stackup.deviation import Deviation
from geometry.stackup.enclosure_deviations import of_walls
from geometry.stackup.opening_cut import CORNER, Cut, corners_of
from geometry.stackup.opening_edges import Line, side_line
from geometry.stackup.rim_parts import Hole
from geometry.stackup.rims_across import ALL, EVERYWHERE, Span, clipped
from geometry.stackup.stack_ups import StackUp, stack_up
from geometry.walls import SIDES, build_walls

if TYPE_CHECKING:
    from shapely import Polygon

FACING = -0.5
"""Sides leave a bar between them where the product of their normals is less."""

LEAST_MM2 = 1e-6
"""What is smaller is none."""

SLICES = 16
"""A bar that leans across a slanted wall is told by so many blocks round it."""

Point = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Bar:
    """A bar of wall as it would stand with its openings at worst, and their `overlap` as drawn.

    It is what of a piece of the wall without openings lies in a flat region `where` across `axis`,
    and there in a `span` along that.
    """

    overlap: StackUp
    wall: Solid
    place: int
    axis: int
    where: Polygon
    span: Span
    moves: dict[tuple[str, str], Deviation]
    _seen: dict[tuple[tuple[str, str], float], Prism] = field(default_factory=dict)

    @cached_property
    def prism(self) -> Prism:
        """The bar where the faces of the wall are as drawn."""
        found = _within(self.wall.prisms[self.place], self.axis, self.where, self.span)
        assert found is not None
        return found

    def when(self, one: Deviation, off_mm: float) -> Prism:
        """Return the bar when a dimension of the wall is off."""
        key = (one.key, off_mm)
        if key not in self._seen:
            own = self.moves.get(one.key)
            moved = None if own is None else own.moved(self.wall, off_mm)
            found = moved and _within(moved[self.place], self.axis, self.where, self.span)
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
                if _within(piece, axis, part, ALL) is not None:
                    yield Bar(overlap, solid, place, axis, part, ALL, moves)
        for axis, where, span, overlap in crossed_bars(piece, holes, names):
            if _within(piece, axis, where, span) is not None:
                yield Bar(overlap, solid, place, axis, where, span, moves)


def _flat_bars(
    wall: str, piece: Prism, holes: Sequence[Hole], names: dict[str, str]
) -> Iterator[tuple[int, Polygon, StackUp]]:
    """Yield bars that may come in a piece of a wall, as seen along an axis."""
    near = [hole for hole in holes if bounds_gap(piece.bounds, hole.prism.bounds) <= 0.0]
    boxes = piece.is_box and all(hole.prism.is_box for hole in near)
    cuts: dict[tuple[Hole, int], Cut] = {}
    for pair in combinations(near, 2):
        axis = _axis_of(wall, piece, pair)
        apart = bounds_gap(pair[0].prism.bounds, pair[1].prism.bounds) > 0.0
        if axis is None or apart or not all(_goes_through(hole, piece, axis) for hole in pair):
            continue
        for hole in near:
            if (hole, axis) not in cuts and _goes_through(hole, piece, axis):
                cuts[hole, axis] = Cut.of(hole, axis)
        others = [cut for (hole, k), cut in cuts.items() if k == axis and hole not in pair]
        p, q = (cuts[hole, axis] for hole in pair)
        cores = [cut.core_in(piece, axis) for cut in (p, q, *others)]
        steps = not piece.is_box and piece.axis != axis
        for where, overlap in _between(p, q, cores, names, boxes=boxes, steps=steps):
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


def _between(
    p: Cut,
    q: Cut,
    cores: Sequence[Polygon],
    names: dict[str, str],
    *,
    boxes: bool,
    steps: bool,
) -> Iterator[tuple[Polygon, StackUp]]:
    """Yield the flat bars that may come between two openings, with how far these overlap there.

    `cores` are what stays open. Corners count too, but where all that is cut there are `boxes`, and
    where openings are cut in `steps` all that is near to where the sides of both cross.
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
        if steps:
            near = p.shape.boundary & q.shape.boundary
            far = CORNER * (p.hole.reach_mm + q.hole.reach_mm)
            every.append((p.shape | q.shape) & near.buffer(far))
    if not every:
        return
    left = shapely.union_all(every) - shapely.union_all(cores)
    for part in shapely.get_parts(left):
        if part.geom_type == "Polygon" and part.area > LEAST_MM2:
            at_it = [overlap for strips, overlap in found if strips.intersects(part)]
            if not at_it:
                by = [*p.by(p.farthest(part), names), *q.by(q.farthest(part), names)]
                at_it = [stack_up(0.0, by, of_openings=True)]
            yield part, min(at_it, key=lambda overlap: overlap.worst_mm)


Stretch = tuple[int, Point, Point]


def _overlap(p: Cut, one: Stretch, q: Cut, other: Stretch, names: dict[str, str]) -> StackUp | None:
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


def _within(piece: Prism, axis: int, where: Polygon, span: Span) -> Prism | None:
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
        lo, hi = max(piece.lo, span[0]), min(piece.hi, span[1])
        outline = Poly(corners_of(whole), tuple(map(_ring, whole.interiors)))
        return Prism(axis, outline, lo, hi) if hi - lo > LENGTH_EPS_MM else None
    (i, j), (a0, b0, a1, b1) = PLANE[axis], where.bounds
    spans = list(EVERYWHERE)
    spans[i], spans[j], spans[axis] = (a0, a1), (b0, b1), span
    found = next(clipped(piece, (spans[0], spans[1], spans[2])), None)
    if found is None or not found.is_box:
        return found
    outline = inner_polygon(found.outline)
    return Prism(found.axis, Poly(corners_of(outline)), found.lo, found.hi)


def _ring(ring: object) -> tuple[Point, ...]:
    import shapely

    return tuple((float(a), float(b)) for a, b in shapely.get_coordinates(ring)[:-1])
