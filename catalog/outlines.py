"""Whether an outline is a simple polygon, in plain Python.

Coordinates are rounded to a grid of a millionth of a millimetre and compared as whole numbers, so
the answer is exact on that grid.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

GRID_PER_MM = 1_000_000

_Spot = tuple[int, int]


class _Edge(NamedTuple):
    least_a: int
    most_a: int
    least_b: int
    most_b: int
    ring: int
    place: int
    start: _Spot
    end: _Spot


def outline_fault(
    outline: Sequence[tuple[float, float]],
    holes: Sequence[Sequence[tuple[float, float]]] = (),
) -> tuple[str, str] | None:
    """Return the field path of what is wrong with a polygon and what it is; None when it is sound.

    Sound means: no edge touches another but at the point that neighbours share, no point twice in
    a row, every hole inside the outline and apart from the other holes. Lengths in mm.
    """
    rings = [_on_grid(ring) for ring in (outline, *holes)]
    names = ["outline_mm", *(f"holes_mm[{k}]" for k in range(len(holes)))]
    for name, ring in zip(names, rings, strict=True):
        problem = _ring_fault(ring)
        if problem:
            return name, problem
    for one, other in _near_edges(rings):
        if _are_neighbours(one, other, rings) or not _meet(one, other):
            continue
        if one.ring == other.ring:
            return names[one.ring], (
                "crosses or touches itself: the edge from point "
                f"{min(one.place, other.place)} and the edge from point "
                f"{max(one.place, other.place)} meet"
            )
        inner, outer = max(one.ring, other.ring), min(one.ring, other.ring)
        return names[inner], f"crosses or touches {names[outer]}"
    return _nesting_fault(names, rings)


def _on_grid(ring: Sequence[tuple[float, float]]) -> list[_Spot]:
    return [(round(a * GRID_PER_MM), round(b * GRID_PER_MM)) for a, b in ring]


def _ring_fault(ring: list[_Spot]) -> str | None:
    """Return what is wrong between points that follow each other: repeats, spikes."""
    count = len(ring)
    for k in range(count):
        if ring[k] == ring[k - 1]:
            return (
                f"point {k} repeats point {k - 1}"
                if k
                else "the last point repeats the first; the outline closes by itself"
            )
    for k in range(count):
        before, here, after = ring[k - 1], ring[k], ring[(k + 1) % count]
        step = (here[0] - before[0], here[1] - before[1])
        next_step = (after[0] - here[0], after[1] - here[1])
        goes_back = step[0] * next_step[0] + step[1] * next_step[1] < 0
        if goes_back and _turn(before, here, after) == 0:
            return f"turns straight back at point {k}"
    return None


def _turn(a: _Spot, b: _Spot, c: _Spot) -> int:
    """Return twice the signed area of a triangle: 0 when its corners lie on one line."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _near_edges(rings: list[list[_Spot]]) -> Iterator[tuple[_Edge, _Edge]]:
    """Yield the pairs of edges whose bounding rectangles meet."""
    edges = sorted(
        _edge(which, k, ring[k], ring[(k + 1) % len(ring)])
        for which, ring in enumerate(rings)
        for k in range(len(ring))
    )
    for k, edge in enumerate(edges):
        _, most_a, least_b, most_b, *_ = edge
        for other in edges[k + 1 :]:
            if other[0] > most_a:
                break
            if other[2] <= most_b and other[3] >= least_b:
                yield edge, other


def _edge(ring: int, place: int, start: _Spot, end: _Spot) -> _Edge:
    a, b = sorted((start[0], end[0])), sorted((start[1], end[1]))
    return _Edge(a[0], a[1], b[0], b[1], ring, place, start, end)


def _are_neighbours(one: _Edge, other: _Edge, rings: list[list[_Spot]]) -> bool:
    apart = abs(one.place - other.place)
    return one.ring == other.ring and apart in (1, len(rings[one.ring]) - 1)


def _meet(one: _Edge, other: _Edge) -> bool:
    """Whether two edges share a point, their ends counted."""
    a, b, c, d = one.start, one.end, other.start, other.end
    sides = (_turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b))
    if _sign(sides[0]) * _sign(sides[1]) < 0 and _sign(sides[2]) * _sign(sides[3]) < 0:
        return True
    ends = ((c, a, b), (d, a, b), (a, c, d), (b, c, d))
    return any(side == 0 and _within(*end) for side, end in zip(sides, ends, strict=True))


def _sign(value: int) -> int:
    return (value > 0) - (value < 0)


def _within(spot: _Spot, a: _Spot, b: _Spot) -> bool:
    """Whether a spot on the line through a and b lies between them."""
    return all(min(a[k], b[k]) <= spot[k] <= max(a[k], b[k]) for k in (0, 1))


def _nesting_fault(names: list[str], rings: list[list[_Spot]]) -> tuple[str, str] | None:
    """Return what is wrong with rings that are known not to cross."""
    for k in range(1, len(rings)):
        if not _encloses(rings[0], rings[k][0]):
            return names[k], "lies outside outline_mm"
    for j, k in combinations(range(1, len(rings)), 2):
        if _encloses(rings[j], rings[k][0]) or _encloses(rings[k], rings[j][0]):
            return names[k], f"lies inside {names[j]}, or that inside it"
    return None


def _encloses(ring: list[_Spot], spot: _Spot) -> bool:
    """Whether a spot that is not on the ring lies inside it (a ray along the first coordinate)."""
    inside = False
    for k in range(len(ring)):
        low, high = sorted((ring[k - 1], ring[k]), key=lambda p: p[1])
        if low[1] <= spot[1] < high[1] and _turn(low, high, spot) > 0:
            inside = not inside
    return inside
