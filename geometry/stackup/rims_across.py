"""Parts of leaning pieces of a wall at openings that are cut across the axis of the piece.

Such openings are cut as small boxes inside them (`geometry.openings`), so no piece has an edge of
theirs. But where an opening is off its boxes go with it: a round one carries all of them and makes
them larger alike, a straight side of another those at it. So the part of a piece that is near to an
opening goes as the opening does there, on a leaning face along that. In a piece with an opening
along its axis besides, the edge of that one counts as drawn, which is not on the safe side.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from geometry.measures.clearance import bounds_gap
from geometry.measures.prism import PLANE, Outline, Poly, Prism, Rect, Round, view
from geometry.measures.rings import flat_outlines, inner_polygon
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.opening_edges import side_line, sides_of
from geometry.stackup.rim_parts import BESIDE_MM, ROUND_MM, Cluster, Hole, Rim
from geometry.walls import BEYOND_MM

Span = tuple[float, float]
Point = tuple[float, float]

ALL: Span = (-BEYOND_MM, BEYOND_MM)


def cluster_across(piece: Prism, holes: Sequence[Hole]) -> Cluster | None:
    """Return the parts of a piece at openings that lie across its axis; None where none does."""
    across = [
        hole
        for hole in holes
        if not (piece.is_box or hole.prism.is_box or hole.prism.axis == piece.axis)
        and bounds_gap(piece.bounds, hole.prism.bounds) <= BESIDE_MM
    ]
    if not across:
        return None
    reach_mm = sum(hole.reach_mm for hole in across)
    return Cluster(piece.bounds, reach_mm, partial(rims_across, piece, across))


def rims_across(piece: Prism, holes: Sequence[Hole]) -> Iterator[Rim]:
    """Yield the parts of a piece at openings that lie across its axis, and what is left of it."""
    left = [piece]
    for hole in holes:
        third = 3 - piece.axis - hole.prism.axis
        b = hole.prism.bounds
        along = (b[piece.axis] - ROUND_MM, b[piece.axis + 3] + ROUND_MM)
        across = (b[third] - ROUND_MM, b[third + 3] + ROUND_MM)
        for part in (near for one in left for near in between(one, third, along, across)):
            yield Rim(part, (hole,), _recut(part, third), _within(piece, part, third))
        left = [part for one in left for part in _beside(one, third, along, across)]
    for part in left:
        third = 3 - piece.axis - holes[0].prism.axis
        yield Rim(part, (), lambda _, cut, __: cut, _within(piece, part, third))


def between(piece: Prism, third: int, along: Span, across: Span) -> Iterator[Prism]:
    """Yield what of a piece lies between levels along its axis and along a third one."""
    lo, hi = max(piece.lo, along[0]), min(piece.hi, along[1])
    if hi - lo <= LENGTH_EPS_MM:
        return
    if across[0] <= piece.bounds[third] and piece.bounds[third + 3] <= across[1]:
        yield Prism(piece.axis, piece.outline, lo, hi)
        return
    import shapely

    ends = [ALL, ALL]
    ends[PLANE[piece.axis].index(third)] = across
    (a0, a1), (b0, b1) = ends
    for outline in flat_outlines(inner_polygon(piece.outline) & shapely.box(a0, b0, a1, b1)):
        yield Prism(piece.axis, outline, lo, hi)


def _beside(piece: Prism, third: int, along: Span, across: Span) -> Iterator[Prism]:
    """Yield what of a piece does not lie between such levels."""
    yield from between(piece, third, (ALL[0], along[0]), ALL)
    yield from between(piece, third, (along[1], ALL[1]), ALL)
    yield from between(piece, third, along, (ALL[0], across[0]))
    yield from between(piece, third, along, (across[1], ALL[1]))


def _recut(part: Prism, third: int) -> Callable[[Hole, Prism, float], Prism]:
    """Return what tells a part beside an opening from how that is cut."""

    def recut(hole: Hole, cut: Prism, _: float) -> Prism:
        along, across = _moves(part, third, hole.prism, cut)
        lo, hi = along(part.lo), along(part.hi)
        return Prism(part.axis, _on_its_faces(part, third, across), lo, hi) if lo < hi else part

    return recut


def _moves(
    part: Prism, third: int, drawn: Prism, cut: Prism
) -> tuple[Callable[[float], float], Callable[[float], float]]:
    """Return how an opening that is cut otherwise moves places beside it along two axes."""
    if isinstance(drawn.outline, Round):
        return tuple(  # type: ignore[return-value]
            _stretched((drawn.bounds[k], drawn.bounds[k + 3]), (cut.bounds[k], cut.bounds[k + 3]))
            for k in (part.axis, third)
        )
    now, then = view(drawn, drawn.axis), view(cut, cut.axis)
    plane = PLANE[drawn.axis]
    corners = [
        (x, y)
        for x in (part.bounds[plane[0]], part.bounds[plane[0] + 3])
        for y in (part.bounds[plane[1]], part.bounds[plane[1] + 3])
    ]

    def outside(number: int) -> float:
        a, b, far = side_line(now, number)
        return min(a * x + b * y for x, y in corners) - far

    # The straight side that a part lies at is that beyond which it lies farthest.
    side = max(sides_of(now), key=outside)
    a, b, far = side_line(now, side)
    x, y = min(corners, key=lambda at: a * at[0] + b * at[1])
    c, d, farther = side_line(then, side)
    off = (farther - c * x - d * y) - (far - a * x - b * y)
    by = {plane[0]: a * off, plane[1]: b * off}
    return (lambda mm: mm + by[part.axis]), (lambda mm: mm + by[third])


def _stretched(now: Span, then: Span) -> Callable[[float], float]:
    scale = (then[1] - then[0]) / (now[1] - now[0])
    return lambda mm: then[0] + (mm - now[0]) * scale


def _on_its_faces(part: Prism, third: int, across: Callable[[float], float]) -> Outline:
    """Return the outline of a part when places go along a third axis, on its faces."""
    k = PLANE[part.axis].index(third)
    if isinstance(part.outline, Rect):
        a0, b0, a1, b1 = part.outline.bounds()
        return (
            Rect(across(a0), b0, across(a1), b1) if k == 0 else Rect(a0, across(b0), a1, across(b1))
        )
    assert isinstance(part.outline, Poly)
    ring = part.outline.shell
    moved = []
    for n, at in enumerate(ring):
        others = [ring[n - 1], ring[(n + 1) % len(ring)]]
        beside = max(others, key=lambda other: abs(other[k] - at[k]))
        rise = beside[k] - at[k]
        slope = (beside[1 - k] - at[1 - k]) / rise if abs(rise) > LENGTH_EPS_MM else 0.0
        there = across(at[k])
        out = at[1 - k] + slope * (there - at[k])
        moved.append((there, out) if k == 0 else (out, there))
    return Poly(tuple(moved))


def _within(piece: Prism, part: Prism, third: int) -> Callable[[Prism], Prism]:
    """Return what tells a part of a piece from what the piece becomes."""

    def open_at(own: Span, whole: Span) -> Span:
        return (ALL[0] if own[0] == whole[0] else own[0], ALL[1] if own[1] == whole[1] else own[1])

    b, whole = part.bounds, piece.bounds
    along = open_at((part.lo, part.hi), (piece.lo, piece.hi))
    across = open_at((b[third], b[third + 3]), (whole[third], whole[third + 3]))

    def within(moved: Prism) -> Prism:
        if moved.axis != piece.axis:
            return part
        return next(between(moved, third, along, across), part)

    return within
