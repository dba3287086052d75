"""Faces that decide a depth or a gap: prisms with hollows as their convex pieces.

Where a thing has steps, the depth to it jumps when its edge comes to stand before another step, and
what single dimensions do to it does not add up. To a convex piece it goes without a jump, and the
faster the farther, so that it does; its other pieces are faces of their own, which may come in
(`geometry.stackup.beside_the_way`). On a slope both ends of which are off more may be lost than
what each takes by itself: see `geometry.stackup.combined_effects`. In a hollow two faces may be
about as near, and of the gap to the farther single dimensions seem to take nothing; a piece is but
one of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from math import hypot, isfinite, sqrt

from geometry.measures.convex_pieces import Point, Ring, convex_pieces, corners
from geometry.measures.prism import PLANE, Poly, Prism, turned
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.deviation import Deviation
from geometry.stackup.faces import Face, Solids, faces
from geometry.stackup.pair_gaps import PairMeasure
from geometry.walls import WALL_NAMES


@dataclass(frozen=True)
class PieceFace(Face):
    """A convex piece of a face, by the numbers of its corners."""

    whole: Face
    ring: Ring
    _seen: dict[tuple[Deviation, float], Prism] = field(default_factory=dict, compare=False)

    @cached_property
    def prism(self) -> Prism:
        """The piece as drawn."""
        return piece_of(self.whole.prism, self.ring)

    def when(self, one: Deviation, off_mm: float) -> Prism:
        """Return the piece when a dimension is off, kept for the next time."""
        if (one, off_mm) not in self._seen:
            after = self.whole.when(one, off_mm)
            self._seen[one, off_mm] = moved_piece(self.whole.prism, after, self.ring, off_mm)
        return self._seen[one, off_mm]

    @property
    def at_edges(self) -> tuple[Deviation, ...]:
        """What may be off in the openings of which the whole has an edge."""
        return self.whole.at_edges


def piece_of(whole: Prism, ring: Ring) -> Prism:
    """Return a piece of a prism by the numbers of its corners."""
    return _of_corners(whole, corners(whole.outline), ring)


def moved_piece(before: Prism, after: Prism, ring: Ring, off_mm: float) -> Prism:
    """Return what becomes of a piece of a prism that a dimension changes, off by so much.

    Its corners are where those of the whole are. One that the whole has no more within reach of
    the dimension is that of a seam, and stays.
    """
    if after == before:
        return piece_of(before, ring)
    if after.is_box:
        after = turned(after, before.axis)
    reach_mm = sqrt(2.0) * abs(off_mm) + LENGTH_EPS_MM
    then = corners(after.outline)
    return _of_corners(after, _followed(corners(before.outline), then, ring, reach_mm), ring)


def _of_corners(whole: Prism, at: Sequence[Point], ring: Ring) -> Prism:
    return Prism(whole.axis, Poly(tuple(at[k] for k in ring)), whole.lo, whole.hi)


@dataclass(frozen=True)
class PartFace(Face):
    """What of another face lies between two levels of a coordinate across its axis."""

    whole: Face
    across: int
    low: float
    high: float

    @cached_property
    def prism(self) -> Prism:
        """The part as drawn."""
        return self._of(self.whole.prism)

    def when(self, one: Deviation, off_mm: float) -> Prism:
        """Return the part when a dimension is off; as it was where nothing is left of it."""
        moved = self.whole.when(one, off_mm)
        return self.prism if moved == self.whole.prism else self._of(moved)

    def _of(self, whole: Prism) -> Prism:
        if not isinstance(whole.outline, Poly):
            return whole
        ring = whole.outline.shell
        k = PLANE[whole.axis].index(self.across)
        for sign, end in ((1, self.low), (-1, -self.high)):
            ring = _beyond(ring, k, sign, end)
        return Prism(whole.axis, Poly(ring), whole.lo, whole.hi) if len(ring) > 2 else whole


def part_between(face: Face, across: int, low: float, high: float) -> Face | None:
    """Return what of a face lies between two levels; None where nothing does.

    Of polygons without hollows across another axis; all others count as they are.
    """
    bounds, prism = face.prism.bounds, face.prism
    if bounds[across] >= high or bounds[across + 3] <= low:
        return None
    inside = bounds[across] >= low and bounds[across + 3] <= high
    if inside or prism.axis == across or not isinstance(prism.outline, Poly):
        return face
    if not isinstance(face, PieceFace) and convex_pieces(prism.outline):
        return face
    return PartFace(face.solid, face.place, face, across, low, high)


def _beyond(ring: tuple[Point, ...], k: int, sign: int, end: float) -> tuple[Point, ...]:
    """Return what of a ring without hollows lies where `sign` times a coordinate is over `end`."""
    out: list[Point] = []
    for a, b in zip(ring, (*ring[1:], *ring[:1]), strict=True):
        u, v = sign * a[k] - end, sign * b[k] - end
        if u >= 0.0:
            out.append(a)
        if u * v < 0.0:
            t = u / (u - v)
            out.append((a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
    return tuple(out)


def convex_faces(solids: Solids, axis: int) -> Iterator[Face]:
    """Yield the faces of solids, those that have hollows across an axis as their pieces."""
    for face in faces(solids):
        yield from pieces_of(face, axis)


def pieces_of(face: Face, axis: int | None) -> Iterator[Face]:
    """Yield a face, or its pieces where it has hollows, as one sees it across an axis if given."""
    rings = () if face.prism.axis == axis else convex_pieces(face.prism.outline)
    if not rings:
        yield face
    for ring in rings:
        yield PieceFace(face.solid, face.place, face, ring)


def measured_faces(
    p: Face, q: Face, measure: PairMeasure, off_mm: float
) -> Iterator[tuple[float, Face, Face]]:
    """Yield two faces with their measure, or their pieces where hollows may count in it.

    Those along a way where one is on its way to the other. Of gaps those that may come to be the
    least, off by `off_mm` at most.
    """
    gap = measure.mm(p.prism, q.prism)
    way = measure.way
    axis = None if way is None else way.axis
    flat = axis is None and not (_has_hollows(p) or _has_hollows(q))
    whole = flat or gap < 0.0 or len(measure.axes(p.prism, q.prism)) == 1
    if whole or (axis is None and any(counts_as_whole_too(one.solid) for one in (p, q))):
        yield gap, p, q
    if not whole and isfinite(gap):
        for here, there in product(pieces_of(p, axis), tuple(pieces_of(q, axis))):
            if axis is not None or measure.bound(here.prism, there.prism) <= gap + off_mm:
                yield measure.mm(here.prism, there.prism), here, there


def counts_as_whole_too(solid: Solid) -> bool:
    """Whether prisms with hollows count as they are besides their pieces.

    Those of walls: where an opening cuts them otherwise they get corners that no piece has.
    """
    return solid.owner in WALL_NAMES


def _has_hollows(face: Face) -> bool:
    return bool(convex_pieces(face.prism.outline))


def _followed(
    before: Sequence[Point], after: Sequence[Point], ring: Ring, reach_mm: float
) -> Sequence[Point]:
    """Return the corners of a ring as they are after a change, by the numbers they had before."""

    def apart(a: Point, b: Point) -> float:
        return hypot(a[0] - b[0], a[1] - b[1])

    if len(before) == len(after) and all(apart(before[k], after[k]) <= reach_mm for k in ring):
        return after
    out = list(before)
    for k in ring:
        near = min(after, key=lambda at: apart(before[k], at))
        out[k] = near if apart(before[k], near) <= reach_mm else before[k]
    return out
