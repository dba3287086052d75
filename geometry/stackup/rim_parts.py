"""Walls parted at the edges of their openings, so that each part goes with few dimensions.

A piece of a wall as it is cut has edges of several openings, and each of these is off by itself. So
pieces are parted until each side of a part is an edge of one opening at most: boxes beside each
edge, what is round an opening by its sides, and at round ones by thirty-two directions. Parts fill
the piece again. What an opening that is off does to a part is known from how it is cut: a side of a
box stands where the opening ends, all else is what the part has without the opening, less that.

All that is off along two axes counts with the greatest share that it has anywhere on a part, so at
round openings the worst case is up to a tenth of it less (cos 5.6 + sin 5.6 degrees is 1.093)
than it can be. Ends of openings along the axis of a piece are told by `geometry.stackup.rim_ends`,
openings across it (in slanted walls) by `geometry.stackup.rims_across`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache, partial
from itertools import pairwise, product
from math import atan2, cos, hypot, pi, sin
from typing import TYPE_CHECKING

from geometry.measures.prism import PLANE, Bounds, Poly, Prism, Round, box, turned, view
from geometry.measures.rings import inner_polygon
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.deviation import Deviation
from geometry.stackup.directions import is_convex
from geometry.stackup.faces import greatest_mm
from geometry.walls import BEYOND_MM

if TYPE_CHECKING:
    from shapely import LinearRing, Polygon

ROUND_MM = 5.0
"""What is so near to an opening is parted from the rest of its piece."""

DIRECTIONS = 32
"""Into so many parts is parted what is round an opening that is not straight."""

SEAM_MM = 1e-9
"""What may come to be wall laps over a part by so much, so that no seam is left between them."""

BESIDE_MM = 1e-3
"""Openings are looked for so near to a piece."""


@dataclass(frozen=True, eq=False)
class Hole:
    """An opening as it is cut, with what may be off in it and the cut that it then is."""

    prism: Prism
    deviations: tuple[tuple[Deviation, Callable[[float], Prism]], ...]
    _cuts: dict[tuple[Deviation, float], Prism] = field(default_factory=dict)

    @cached_property
    def moving(self) -> tuple[Deviation, ...]:
        """What may be off in it."""
        return tuple(one for one, _ in self.deviations)

    @cached_property
    def reach_mm(self) -> float:
        """How far its edge may be off at most."""
        return sum(map(greatest_mm, self.moving))

    def when(self, one: Deviation, off_mm: float) -> Prism:
        """Return the cut when a dimension is off, kept for the next time."""
        if (one, off_mm) not in self._cuts:
            found = (cut(off_mm) for own, cut in self.deviations if own.key == one.key)
            self._cuts[one, off_mm] = next(found, self.prism)
        return self._cuts[one, off_mm]


Recut = Callable[[Hole, Prism, float], Prism]
"""Tells what a part becomes when one of its openings is cut otherwise by so many mm."""


@dataclass(frozen=True, eq=False)
class Rim:
    """A part of a piece of a wall, with the openings that have an edge on it.

    `recut` tells what it becomes when one of them is cut otherwise, `within` what it becomes with
    its piece.
    """

    prism: Prism
    holes: tuple[Hole, ...]
    recut: Recut
    within: Callable[[Prism], Prism]
    _seen: dict[tuple[Deviation, float], Prism] = field(default_factory=dict)

    @cached_property
    def moving(self) -> tuple[Deviation, ...]:
        """What may be off in its openings."""
        return tuple(one for hole in self.holes for one in hole.moving)

    @property
    def reach_mm(self) -> float:
        """How far its edges may be off at most."""
        return sum(hole.reach_mm for hole in self.holes)

    def when(self, one: Deviation, off_mm: float) -> Prism | None:
        """Return what it is when a dimension of an opening is off; None for any other."""
        if (one, off_mm) not in self._seen:
            hole = next((hole for hole in self.holes if one in hole.moving), None)
            if hole is None:
                return None
            self._seen[one, off_mm] = self.recut(hole, hole.when(one, off_mm), off_mm)
        return self._seen[one, off_mm]


@dataclass(frozen=True, eq=False)
class Cluster:
    """The parts of a piece at one place, made when they are asked for.

    Their edges are off by `reach_mm` at most.
    """

    bounds: Bounds
    reach_mm: float
    part: Callable[[], Iterable[Rim]]

    @cached_property
    def rims(self) -> tuple[Rim, ...]:
        """The parts."""
        return tuple(self.part())


def clusters_of(piece: Prism, near: Sequence[Hole], holes: Sequence[Hole]) -> Iterator[Cluster]:
    """Yield the parts of a piece of a wall at the openings near to it, by places.

    Those are boxes, or cut along the axis of the piece.
    """
    if piece.is_box and all(hole.prism.is_box for hole in near):
        own = [hole for hole in near if any(True for _ in _sides(piece, hole))]
        if own:
            reach = sum(hole.reach_mm for hole in own)
            yield Cluster(piece.bounds, reach, lambda: _beside(piece, own))
        return
    yield from _round_about(piece, near, holes)


# ---- boxes with box openings ----


def _sides(piece: Prism, hole: Hole) -> Iterator[int]:
    """Yield the sides of a box, 0 to 5 as its bounds, that lie along an opening."""
    a, b = piece.bounds, hole.prism.bounds
    for side in range(6):
        others = {0, 1, 2} - {side % 3}
        if abs(a[side] - b[(side + 3) % 6]) <= LENGTH_EPS_MM and all(
            min(a[k + 3], b[k + 3]) - max(a[k], b[k]) > LENGTH_EPS_MM for k in others
        ):
            yield side


def _beside(piece: Prism, holes: Sequence[Hole]) -> Iterator[Rim]:
    """Yield parts of a box, each beside a whole edge of an opening or beside none."""
    cuts = [{piece.bounds[k], piece.bounds[k + 3]} for k in range(3)]
    for hole in holes:
        for side in _sides(piece, hole):
            for k in {0, 1, 2} - {side % 3}:
                ends = (hole.prism.bounds[k], hole.prism.bounds[k + 3])
                low, high = piece.bounds[k] + LENGTH_EPS_MM, piece.bounds[k + 3] - LENGTH_EPS_MM
                cuts[k].update(mm for mm in ends if low < mm < high)
    for spans in product(*(pairwise(sorted(one)) for one in cuts)):
        part = box([lo for lo, _ in spans], [hi for _, hi in spans])
        at = {side: hole for hole in reversed(holes) for side in _sides(part, hole)}
        yield _box_rim(part, piece, at)


def _box_rim(part: Prism, piece: Prism, at: dict[int, Hole]) -> Rim:
    def recut(hole: Hole, cut: Prism, _: float) -> Prism:
        ends = list(part.bounds)
        for side in (side for side, own in at.items() if own is hole):
            ends[side] = cut.bounds[(side + 3) % 6]
        return _box_or(ends, part)

    def within(moved: Prism) -> Prism:
        if not moved.is_box:
            return moved
        ends = zip(part.bounds, piece.bounds, moved.bounds, strict=True)
        return _box_or([then if own == now else own for own, now, then in ends], part)

    return Rim(part, tuple(dict.fromkeys(at.values())), recut, within)


def _box_or(ends: Sequence[float], part: Prism) -> Prism:
    """Return the box between some bounds, or what it was where nothing is left of it."""
    if any(ends[k] >= ends[k + 3] for k in range(3)):
        return part
    return box(ends[:3], ends[3:])


# ---- all others, seen along the axis of the piece ----


def _round_about(piece: Prism, near: Sequence[Hole], holes: Sequence[Hole]) -> Iterator[Cluster]:
    """Yield what is round each opening near a piece, and what is left of it."""
    import shapely

    whole = inner_polygon(piece.outline)
    rings = {hole: ring for hole in holes if (ring := _ring(hole.prism, piece)) is not None}
    edges = [h for h in near if h in rings and shapely.dwithin(whole, rings[h], LENGTH_EPS_MM)]
    blocks = {hole: rings[hole].bounds for hole in edges}
    frames = {hole: shapely.box(*frame_of(blocks[hole], blocks.values())) for hole in edges}

    def about(hole: Hole) -> Iterator[Rim]:
        open_else = shapely.union_all([rings[other] for other in rings if other is not hole])
        cut = rings[hole] - open_else
        own = whole & frames[hole]
        # Where all round an opening is wall, all that it may leave becomes wall.
        closed = abs(own.area + cut.area - frames[hole].area) <= LENGTH_EPS_MM
        for sector in _sectors(hole, piece.axis):
            where = frames[hole] if sector is None else frames[hole] & sector
            for part in shapely.get_parts(own & where):
                if part.area > LENGTH_EPS_MM:
                    yield _rim(piece, hole, part, where if closed else cut & where, where)

    def left() -> Iterator[Rim]:
        everywhere = shapely.box(-BEYOND_MM, -BEYOND_MM, BEYOND_MM, BEYOND_MM)
        beside = everywhere - shapely.union_all(list(frames.values()))
        for part in shapely.get_parts(whole & beside):
            if part.area > LENGTH_EPS_MM:
                drawn = Prism(piece.axis, outline_of(part, part), piece.lo, piece.hi)
                yield Rim(drawn, (), lambda _, cut, __: cut, _within(piece, drawn, beside))

    i, j = PLANE[piece.axis]
    for hole in edges:
        a0, b0, a1, b1 = frames[hole].bounds
        ends = list(piece.bounds)
        ends[i], ends[j] = max(ends[i], a0), max(ends[j], b0)
        ends[i + 3], ends[j + 3] = min(ends[i + 3], a1), min(ends[j + 3], b1)
        x0, y0, z0, x1, y1, z1 = ends
        yield Cluster((x0, y0, z0, x1, y1, z1), hole.reach_mm, partial(about, hole))
    if edges:
        yield Cluster(piece.bounds, 0.0, left)


def _ring(cut: Prism, piece: Prism) -> Polygon | None:
    """Return an opening as it is cut out of a piece; None where it is not cut straight through."""
    if not cut.is_box and cut.axis != piece.axis:
        return None
    k = piece.axis
    if min(cut.bounds[k + 3], piece.hi) - max(cut.bounds[k], piece.lo) <= LENGTH_EPS_MM:
        return None
    return seen_along(cut, k)


@lru_cache(maxsize=512)
def seen_along(cut: Prism, axis: int) -> Polygon:
    """Return an opening as a polygon, kept since it is cut out of each part round it."""
    return inner_polygon(view(cut, axis))


Block = tuple[float, float, float, float]


def frame_of(own: Block, every: Iterable[Block]) -> Block:
    """Return the frame round an opening: half way to the next one where that is near."""
    ends = [own[0] - ROUND_MM, own[1] - ROUND_MM, own[2] + ROUND_MM, own[3] + ROUND_MM]
    for other in every:
        behind = [own[k] - other[k + 2] for k in (0, 1)]
        ahead = [other[k] - own[k + 2] for k in (0, 1)]
        most = max(*behind, *ahead)
        if 0.0 < most < 2 * ROUND_MM:
            for k in (0, 1):
                if behind[k] == most:
                    ends[k] = max(ends[k], own[k] - most / 2)
                elif ahead[k] == most:
                    ends[k + 2] = min(ends[k + 2], own[k + 2] + most / 2)
    return (ends[0], ends[1], ends[2], ends[3])


def _sectors(hole: Hole, axis: int) -> Iterator[Polygon | None]:
    """Yield sectors from the middle of an opening, one a straight side; None for everything.

    What has hollows is not parted.
    """
    import shapely

    outline = view(hole.prism, axis)
    if not is_convex(outline):
        yield None
        return
    a0, b0, a1, b1 = outline.bounds()
    a, b, far = (a0 + a1) / 2, (b0 + b1) / 2, 10 * hypot(a1 - a0 + 1, b1 - b0 + 1)
    corners = () if isinstance(outline, Round) else inner_polygon(outline).exterior.coords[:-1]
    angles = sorted(atan2(q - b, p - a) for p, q in corners)
    if not 0 < len(angles) <= DIRECTIONS:
        angles = [(k - 0.5) * 2 * pi / DIRECTIONS for k in range(DIRECTIONS)]
    for start, end in pairwise([*angles, angles[0] + 2 * pi]):
        rays = [(a + far * cos(t), b + far * sin(t)) for t in (start, (start + end) / 2, end)]
        yield shapely.Polygon([(a, b), *rays])


def _rim(piece: Prism, hole: Hole, part: Polygon, may_be: Polygon, where: Polygon) -> Rim:
    """Return a part beside an opening, of which `may_be` is what may come to be wall.

    Where that is not all of the sector it is no farther from the part than the opening is off.
    """
    import shapely

    drawn = Prism(piece.axis, outline_of(part, part), piece.lo, piece.hi)
    # Corners that repeat, all but the last digit, have no direction in which to grow.
    around = shapely.remove_repeated_points(part, LENGTH_EPS_MM)
    # Ends of a leaning side that another opening cuts off lie beside its line in the last digit.
    wider = may_be.buffer(SEAM_MM, join_style="mitre")

    def recut(_: Hole, then: Prism, off_mm: float) -> Prism:
        filled = may_be
        if may_be is not where:
            filled = part | (around.buffer(abs(off_mm), join_style="mitre") & wider)
        left = filled - seen_along(then, piece.axis)
        if left.area <= LENGTH_EPS_MM:
            return drawn
        return Prism(piece.axis, outline_of(left, part), piece.lo, piece.hi)

    return Rim(drawn, (hole,), recut, _within(piece, drawn, where))


def _within(piece: Prism, drawn: Prism, where: Polygon) -> Callable[[Prism], Prism]:
    """Return what tells a part of a piece from what the piece becomes."""

    def within(moved: Prism) -> Prism:
        if moved.is_box:
            moved = turned(moved, piece.axis)
        if moved.axis != piece.axis:
            return moved
        if moved.outline == piece.outline:
            return Prism(piece.axis, drawn.outline, moved.lo, moved.hi)
        own = inner_polygon(drawn.outline)
        left = inner_polygon(moved.outline) & where & own.buffer(ROUND_MM)
        if left.area <= LENGTH_EPS_MM:
            return drawn
        return Prism(piece.axis, outline_of(left, own), moved.lo, moved.hi)

    return within


def outline_of(shape: Polygon, drawn: Polygon) -> Poly:
    """Return a flat shape as an outline: of several parts that which is most of what was drawn."""
    import shapely

    if shape.geom_type != "Polygon":
        shape = max(shapely.get_parts(shape), key=lambda part: (part & drawn).area)
    shell, *holes = (_points(ring) for ring in (shape.exterior, *shape.interiors))
    return Poly(shell, tuple(holes))


def _points(ring: LinearRing) -> tuple[tuple[float, float], ...]:
    import shapely

    return tuple((a, b) for a, b in shapely.get_coordinates(ring)[:-1].tolist())
