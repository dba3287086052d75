"""Polygons cut into convex pieces at their own corners.

Pieces are told by the numbers of their corners, so that they stay those of the polygon when its
corners move. Hollows and holes are filled with triangles (ears are cut off one by one; holes are
joined to the shell by a bridge each), which are put together again while they stay convex; from
memory: Hertel and Mehlhorn, "Fast triangulation of simple polygons", 1983.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from math import atan2, radians

from geometry.measures.prism import Outline, Poly, Rect

FLAT = radians(3.0)
"""A corner that is hollow by no more is taken for flat, as are those of circles as polygons."""

BACK = radians(179.9)
"""A way that turns by more goes back where it came from."""

Point = tuple[float, float]
Ring = tuple[int, ...]
"""Corners by their numbers, counter-clockwise."""


def corners(outline: Outline) -> tuple[Point, ...]:
    """Return the corners of an outline in the order in which pieces number them; none of rounds."""
    if isinstance(outline, Rect):
        a0, b0, a1, b1 = outline.bounds()
        return (a0, b0), (a1, b0), (a1, b1), (a0, b1)
    if not isinstance(outline, Poly):
        return ()
    return tuple(at for ring in (outline.shell, *outline.holes) for at in ring)


def convex_pieces(outline: Outline) -> tuple[Ring, ...]:
    """Return the pieces of an outline by the numbers of their corners.

    None where it is convex, or where its rings touch each other so that no ears are found.
    """
    if not isinstance(outline, Poly):
        return ()
    return _pieces(outline if outline.root is None else outline.root[0])


@lru_cache(maxsize=256)
def _pieces(outline: Poly) -> tuple[Ring, ...]:
    """Cut a polygon; kept, for the same ones are asked for again in each layout."""
    at = corners(outline)
    first = 0
    rings: list[Ring] = []
    for ring in (outline.shell, *outline.holes):
        numbers = tuple(range(first, first + len(ring)))
        first += len(ring)
        # The shell runs counter-clockwise, holes clockwise.
        rings.append(numbers if (_area(at, numbers) > 0) != bool(rings) else numbers[::-1])
    if not outline.holes and _is_convex(at, rings[0], rings[0]):
        return ()
    triangles = _triangles(at, _bridged(at, rings))
    if any(_area(at, one) < 0 for one in triangles):
        # Rings that touch each other.
        return ()
    return tuple(_put_together(at, triangles))


def _area(at: Sequence[Point], ring: Sequence[int]) -> float:
    return sum(_cross(at[ring[0]], at[i], at[j]) for i, j in pairwise(ring))


def _cross(a: Point, b: Point, c: Point) -> float:
    """Return twice the area of a triangle; positive counter-clockwise."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _turn(a: Point, b: Point, c: Point) -> float:
    """Return by how much a way turns left at `b`; negative to the right."""
    along = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1])
    return atan2(_cross(a, b, c), along)


def _is_convex(at: Sequence[Point], ring: Ring, asked: Sequence[int]) -> bool:
    """Whether a ring has no hollow at some of its corners."""
    before = dict(zip(ring, (ring[-1], *ring[:-1]), strict=True))
    after = dict(zip(ring, (*ring[1:], ring[0]), strict=True))
    return all(-FLAT <= _turn(at[before[k]], at[k], at[after[k]]) <= BACK for k in asked)


def _bridged(at: Sequence[Point], rings: Sequence[Ring]) -> list[int]:
    """Return the shell with every hole joined to it by a way there and back."""
    loop, holes = list(rings[0]), sorted(rings[1:], key=lambda ring: -max(at[k][0] for k in ring))
    for place, hole in enumerate(holes):
        start = max(range(len(hole)), key=lambda k: at[hole[k]])
        turned = [*hole[start:], *hole[:start]]
        edges = [
            pair
            for ring in (loop, *holes[place:])
            for pair in zip(ring, (*ring[1:], ring[0]), strict=True)
        ]
        here = turned[0]
        ends = sorted(range(len(loop)), key=lambda k: _apart(at[loop[k]], at[here]))
        k = next(k for k in ends if _is_seen(at, loop, k, here, edges))
        loop[k : k + 1] = [loop[k], *turned, here, loop[k]]
    return loop


def _apart(a: Point, b: Point) -> float:
    return (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2


def _is_seen(
    at: Sequence[Point], loop: Sequence[int], k: int, here: int, edges: Sequence[tuple[int, int]]
) -> bool:
    """Whether a straight line from a corner of a loop to another point meets no edge between."""
    own, before, after = loop[k], loop[k - 1], loop[(k + 1) % len(loop)]
    a, b = at[own], at[here]
    inward = (_cross(at[before], a, b) > 0, _cross(a, at[after], b) > 0)
    hollow = _cross(at[before], a, at[after]) < 0
    if not (any(inward) if hollow else all(inward)):
        return False
    return not any(
        _cross(a, b, at[i]) * _cross(a, b, at[j]) <= 0
        and _cross(at[i], at[j], a) * _cross(at[i], at[j], b) <= 0
        for i, j in edges
        if not {at[i], at[j]} & {a, b}
    )


def _triangles(at: Sequence[Point], loop: list[int]) -> list[Ring]:
    """Cut ears off a loop until nothing is left."""
    left, out = list(loop), []
    while len(left) > 3:
        k = next((k for k in range(len(left)) if _is_ear(at, left, k)), 0)
        out.append((left[k - 1], left[k], left[(k + 1) % len(left)]))
        del left[k]
    return [*out, (left[0], left[1], left[2])]


def _is_ear(at: Sequence[Point], loop: Sequence[int], k: int) -> bool:
    """Whether a corner can be cut off: it is not hollow, and no other stands in its triangle."""
    a, b, c = at[loop[k - 1]], at[loop[k]], at[loop[(k + 1) % len(loop)]]
    if _cross(a, b, c) < 0 or _turn(a, b, c) > BACK:
        return False
    return not any(
        min(_cross(a, b, p), _cross(b, c, p), _cross(c, a, p)) >= 0
        for p in (at[other] for other in loop)
        if p not in (a, b, c)
    )


def _put_together(at: Sequence[Point], pieces: Sequence[Ring]) -> list[Ring]:
    """Join pieces over common edges while what comes of it is convex."""
    left = list(pieces)
    joined = True
    while joined:
        joined = False
        beside = {edge: k for k, ring in enumerate(left) for edge in _edges(ring)}
        for (i, j), k in beside.items():
            other = beside.get((j, i), k)
            if other != k:
                whole = _united(left[k], left[other], i, j)
                if len(set(whole)) == len(whole) and _is_convex(at, whole, (i, j)):
                    left[k] = whole
                    del left[other]
                    joined = True
                    break
    return left


def _edges(ring: Ring) -> zip[tuple[int, int]]:
    return zip(ring, (*ring[1:], ring[0]), strict=True)


def _united(one: Ring, other: Ring, i: int, j: int) -> Ring:
    """Return two rings as one: the first runs from `i` to `j`, the other back."""
    at_j, at_i = one.index(j), other.index(i)
    return (*one[at_j:], *one[:at_j], *(*other[at_i:], *other[:at_i])[1:-1])
