"""Parts of pieces of a wall at openings that are cut across the axis of the piece.

In a leaning piece such openings are cut as small boxes inside them (`geometry.openings`), so no
piece has an edge of theirs. But where an opening is off its boxes go with it: a round one carries
all of them and makes them larger alike, a straight side of another those at it. So the part of a
piece that is near to an opening goes as the opening does there, on a leaning face along that; where
it is near to several, with each of them. Openings along the axis of the piece part it further
(`geometry.stackup.rim_ends`), and the edges of these stay where another opening is off.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from itertools import pairwise

from geometry.measures.clearance import bounds_gap
from geometry.measures.prism import PLANE, Bounds, Outline, Poly, Prism, Rect, Round, turned, view
from geometry.measures.rings import flat_outlines, inner_polygon
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.opening_edges import side_line, sides_of
from geometry.stackup.rim_ends import clusters_with_ends
from geometry.stackup.rim_parts import (
    BESIDE_MM,
    Cluster,
    Hole,
    Recut,
    Rim,
    frame_of,
)
from geometry.walls import BEYOND_MM

Point = tuple[float, float]
Span = tuple[float, float]
Spans = tuple[Span, Span, Span]
"""From where to where along x, y and z."""

Move = Callable[[float], float]

ALL: Span = (-BEYOND_MM, BEYOND_MM)
EVERYWHERE: Spans = (ALL, ALL, ALL)


def parts_at(piece: Prism, holes: Sequence[Hole]) -> Sequence[Cluster]:
    """Return the parts of a piece at its openings, by places; none where it is no edge of any."""
    near = [hole for hole in holes if bounds_gap(piece.bounds, hole.prism.bounds) <= BESIDE_MM]
    axes = [hole.prism.axis for hole in near if not hole.prism.is_box]
    if piece.is_box and axes:
        piece = turned(piece, axes[0])
    across = [h for h in near if not (h.prism.is_box or h.prism.axis == piece.axis)]
    if not across:
        return tuple(clusters_with_ends(piece, near, holes))
    along = [hole for hole in near if hole not in across]
    reach_mm = sum(hole.reach_mm for hole in near)
    return (Cluster(piece.bounds, reach_mm, partial(rims_across, piece, across, along)),)


def rims_across(piece: Prism, across: Sequence[Hole], along: Sequence[Hole]) -> Iterator[Rim]:
    """Yield the parts of a piece at openings that lie across its axis, and what is left of it.

    All of them at the openings `along` its axis too.
    """
    for spans, holes in _blocks(piece, across, along):
        for part in clipped(piece, spans):
            within = _within(spans, part)
            clusters = tuple(clusters_with_ends(part, along, along))
            if not clusters:
                yield Rim(part, holes, _carried(part, ()), within)
            for inner in (rim for cluster in clusters for rim in cluster.rims):
                yield _nested(piece.axis, holes, inner, within)


def _nested(axis: int, holes: Sequence[Hole], inner: Rim, within: Callable[[Prism], Prism]) -> Rim:
    """Return a part of a part that some openings across its axis carry."""
    own = turned(inner.prism, axis) if inner.prism.is_box else inner.prism
    carried = _carried(own, inner.holes)

    def recut(hole: Hole, cut: Prism, off_mm: float) -> Prism:
        return (inner.recut if hole in inner.holes else carried)(hole, cut, off_mm)

    def inside(moved: Prism) -> Prism:
        return inner.within(within(moved))

    return Rim(inner.prism, (*holes, *inner.holes), recut, inside)


# ---- blocks of room near openings ----


def _blocks(
    piece: Prism, across: Sequence[Hole], along: Sequence[Hole]
) -> Iterator[tuple[Spans, tuple[Hole, ...]]]:
    """Yield blocks of room that fill it, with the openings to which each is near."""
    blocks: list[tuple[Spans, tuple[Hole, ...]]] = [(EVERYWHERE, ())]
    for hole in across:
        axes = (piece.axis, 3 - piece.axis - hole.prism.axis)
        others = [one for one in (*across, *along) if one is not hole and _beside(hole, one, axes)]
        (a0, b0, a1, b1), k, third = _frame(hole, others, axes), *axes
        found = []
        for spans, own in blocks:
            for part, inside in _parted(spans, {k: (a0, a1), third: (b0, b1)}):
                if all(hi > b and lo < c for (lo, hi), b, c in _against(part, piece.bounds)):
                    found.append((part, (*own, hole) if inside else own))
        blocks = found
    yield from blocks


def _against(spans: Spans, bounds: Bounds) -> Iterator[tuple[Span, float, float]]:
    return zip(spans, bounds[:3], bounds[3:], strict=True)


def _beside(hole: Hole, other: Hole, axes: tuple[int, int]) -> bool:
    """Whether another opening is cut where one is, as one goes along that."""
    k = 3 - sum(axes)
    a, b = hole.prism.bounds, other.prism.bounds
    return min(a[k + 3], b[k + 3]) > max(a[k], b[k])


def _frame(
    hole: Hole, others: Sequence[Hole], axes: tuple[int, int]
) -> tuple[float, float, float, float]:
    def block(one: Hole) -> tuple[float, float, float, float]:
        b, (k, third) = one.prism.bounds, axes
        return b[k], b[third], b[k + 3], b[third + 3]

    return frame_of(block(hole), map(block, others))


def _parted(spans: Spans, frame: dict[int, Span]) -> Iterator[tuple[Spans, bool]]:
    """Yield what of a block lies in a frame, and blocks that fill the rest."""
    left = list(spans)
    for k, (low, high) in frame.items():
        lo, hi = left[k]
        for span in ((lo, min(low, hi)), (max(high, lo), hi)):
            if span[1] - span[0] > LENGTH_EPS_MM:
                beside = [*left[:k], span, *left[k + 1 :]]
                yield (beside[0], beside[1], beside[2]), False
        left[k] = (max(lo, low), min(hi, high))
        if left[k][1] - left[k][0] <= LENGTH_EPS_MM:
            return
    yield (left[0], left[1], left[2]), True


def clipped(piece: Prism, spans: Spans) -> Iterator[Prism]:
    """Yield what of a piece lies in a block."""
    (low, high), (i, j) = spans[piece.axis], PLANE[piece.axis]
    lo, hi = max(piece.lo, low), min(piece.hi, high)
    if hi - lo <= LENGTH_EPS_MM:
        return
    b = piece.bounds
    if all(spans[k][0] <= b[k] and b[k + 3] <= spans[k][1] for k in (i, j)):
        yield Prism(piece.axis, piece.outline, lo, hi)
        return
    import shapely

    block = shapely.box(spans[i][0], spans[j][0], spans[i][1], spans[j][1])
    for outline in flat_outlines(inner_polygon(piece.outline) & block):
        yield Prism(piece.axis, outline, lo, hi)


def _within(spans: Spans, part: Prism) -> Callable[[Prism], Prism]:
    """Return what tells a part of a piece from what the piece becomes."""

    def within(moved: Prism) -> Prism:
        if moved.is_box:
            moved = turned(moved, part.axis)
        if moved.axis != part.axis:
            return part
        return min(
            clipped(moved, spans),
            key=lambda one: max(abs(a - b) for a, b in zip(one.bounds, part.bounds, strict=True)),
            default=part,
        )

    return within


# ---- parts that go with an opening ----


def _carried(part: Prism, along: Sequence[Hole]) -> Recut:
    """Return what tells a part beside an opening from how that is cut.

    Its sides at openings `along` its axis stay.
    """

    stays = _edge_of([hole for hole in along if not hole.prism.is_box], part.axis)

    def recut(hole: Hole, cut: Prism, _: float) -> Prism:
        third = 3 - part.axis - hole.prism.axis
        moves = _moves(part, third, hole.prism, cut)
        by_k, by_third = (
            _but_at(_ends_at(part, along, k), move)
            for k, move in zip((part.axis, third), moves, strict=True)
        )
        lo, hi = by_k(part.lo), by_k(part.hi)
        outline = _on_its_faces(part, third, by_third, stays)
        return part if outline is None or lo >= hi else Prism(part.axis, outline, lo, hi)

    return recut


def _edge_of(holes: Sequence[Hole], axis: int) -> Callable[[Point], bool]:
    """Return the test for points at the edges of openings along an axis."""
    if not holes:
        return lambda _: False
    import shapely

    edges = shapely.union_all([inner_polygon(view(hole.prism, axis)).boundary for hole in holes])
    shapely.prepare(edges)
    return lambda at: bool(shapely.dwithin(edges, shapely.Point(at), LENGTH_EPS_MM))


def _ends_at(part: Prism, holes: Sequence[Hole], k: int) -> tuple[float, ...]:
    """Return where along an axis a part ends at openings."""
    ends = []
    for hole in holes:
        b = hole.prism.bounds
        ends += [e for e, at in ((part.bounds[k], b[k + 3]), (part.bounds[k + 3], b[k]))
                 if abs(e - at) <= LENGTH_EPS_MM]  # fmt: skip
    return tuple(ends)


def _but_at(levels: Sequence[float], move: Move) -> Move:
    """Return a move of all places but those at some levels, which stay."""
    if not levels:
        return move

    def moved(mm: float) -> float:
        return mm if any(abs(mm - at) <= LENGTH_EPS_MM for at in levels) else move(mm)

    return moved


def _moves(part: Prism, third: int, drawn: Prism, cut: Prism) -> tuple[Move, Move]:
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


def _stretched(now: Span, then: Span) -> Move:
    scale = (then[1] - then[0]) / (now[1] - now[0])
    return lambda mm: then[0] + (mm - now[0]) * scale


def _on_its_faces(
    part: Prism, third: int, across: Move, stays: Callable[[Point], bool]
) -> Outline | None:
    """Return the outline of a part when places go along a third axis, on its faces.

    None where they come to pass each other.
    """
    k = PLANE[part.axis].index(third)
    if isinstance(part.outline, Rect):
        a0, b0, a1, b1 = part.outline.bounds()
        moved = (
            Rect(across(a0), b0, across(a1), b1) if k == 0 else Rect(a0, across(b0), a1, across(b1))
        )
        return moved if moved.a0 < moved.a1 and moved.b0 < moved.b1 else None
    assert isinstance(part.outline, Poly)
    rings = (part.outline.shell, *part.outline.holes)
    levels = {at[k]: across(at[k]) for ring in rings for at in ring if not stays(at)}
    if any(levels[b] <= levels[a] for a, b in pairwise(sorted(levels))):
        return None
    shell, *holes = (_ring_on_its_faces(ring, k, levels, stays) for ring in rings)
    found = Poly(shell, tuple(holes))
    kept = any(stays(at) for ring in rings for at in ring)
    return None if kept and not inner_polygon(found).is_valid else found


def _ring_on_its_faces(
    ring: Sequence[Point], k: int, levels: Mapping[float, float], stays: Callable[[Point], bool]
) -> tuple[Point, ...]:
    moved = []
    for n, at in enumerate(ring):
        if stays(at):
            moved.append(at)
            continue
        others = [ring[n - 1], ring[(n + 1) % len(ring)]]
        beside = max(others, key=lambda other: abs(other[k] - at[k]))
        rise = beside[k] - at[k]
        slope = (beside[1 - k] - at[1 - k]) / rise if abs(rise) > LENGTH_EPS_MM else 0.0
        there = levels[at[k]]
        out = at[1 - k] + slope * (there - at[k])
        moved.append((there, out) if k == 0 else (out, there))
    return tuple(moved)
