"""Bars that come between two openings which are cut across each other and run into each other.

What may come to be wall in either lies in a ring along its edge, all the way along its axis. So it
comes between them where the rings meet, and that is told by blocks round it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import TYPE_CHECKING

from geometry.measures.clearance import bounds_gap
from geometry.measures.prism import PLANE, Prism
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.opening_cut import CORNER, Cut
from geometry.stackup.rim_parts import Hole
from geometry.stackup.rims_across import ALL, Span
from geometry.stackup.stack_ups import StackUp, stack_up

if TYPE_CHECKING:
    from shapely import Polygon

CELLS = 16
"""A ring is told by the blocks round what of it lies in so many cells either way."""

Cell = tuple[Span, Span]
"""From where to where a part of a ring goes, along its own coordinate and the shared one."""


def crossed_bars(
    piece: Prism, holes: Sequence[Hole], names: dict[str, str]
) -> Iterator[tuple[int, Polygon, Span, StackUp]]:
    """Yield the bars that may come in a piece of a wall.

    Each as a flat region across an axis, a span along that, and how far the openings overlap.
    """
    import shapely

    near = [hole for hole in holes if bounds_gap(piece.bounds, hole.prism.bounds) <= 0.0]
    for one, other in combinations(near, 2):
        p, q = one.prism, other.prism
        if p.is_box or q.is_box or p.axis == q.axis or bounds_gap(p.bounds, q.bounds) > 0.0:
            continue
        cuts = (Cut.of(one, p.axis), Cut.of(other, q.axis))
        by = (one for cut in cuts for one in cut.by(max(cut.sides, key=cut.inwards_mm), names))
        overlap = stack_up(0.0, by, of_openings=True)
        third = [hole for hole in near if hole is not one and hole is not other]
        for a, b, shared in _blocks(piece, *cuts):
            spans = [ALL, ALL, ALL]
            spans[p.axis], spans[q.axis], spans[3 - p.axis - q.axis] = b, a, shared
            if any(_holds(hole, piece, spans) for hole in third):
                continue
            i, j = PLANE[p.axis]
            where = shapely.box(spans[i][0], spans[j][0], spans[i][1], spans[j][1])
            yield p.axis, where, spans[p.axis], overlap


def _blocks(piece: Prism, p: Cut, q: Cut) -> Iterator[tuple[Span, Span, Span]]:
    """Yield where along the axis of the second, of the first and of both rings these meet."""
    axes = (p.hole.prism.axis, q.hole.prism.axis)
    k = 3 - sum(axes)
    far = CORNER * (p.hole.reach_mm + q.hole.reach_mm)
    rings = [cut.shape.buffer(far, join_style="mitre") - cut.core_in(piece, axis)
             for cut, axis in zip((p, q), axes, strict=True)]  # fmt: skip
    at = [PLANE[axis].index(k) for axis in axes]
    bounds = [(ring.bounds[n], ring.bounds[n + 2]) for ring, n in zip(rings, at, strict=True)]
    low = max(piece.bounds[k], *(lo for lo, _ in bounds))
    high = min(piece.bounds[k + 3], *(hi for _, hi in bounds))
    step = (high - low) / CELLS
    if step <= LENGTH_EPS_MM:
        return
    for n in range(CELLS):
        band = (low + n * step, low + (n + 1) * step)
        mine, theirs = (list(_cells(ring, m, band)) for ring, m in zip(rings, at, strict=True))
        for a, c in mine:
            for b, d in theirs:
                shared = (max(c[0], d[0]), min(c[1], d[1]))
                if shared[1] - shared[0] > LENGTH_EPS_MM:
                    yield a, b, shared


def _cells(ring: Polygon, k: int, band: Span) -> Iterator[Cell]:
    """Yield what of a ring lies in a band of one of its coordinates, cell by cell."""
    import shapely

    low, high = ring.bounds[1 - k], ring.bounds[3 - k]
    step = (high - low) / CELLS
    for n in range(CELLS):
        u, v = low + n * step, low + (n + 1) * step
        box = (band[0], u, band[1], v) if k == 0 else (u, band[0], v, band[1])
        for part in shapely.get_parts(ring & shapely.box(*box)):
            if part.area > 0.0:
                b = part.bounds
                yield (b[1 - k], b[3 - k]), (b[k], b[k + 2])


def _holds(hole: Hole, piece: Prism, spans: Sequence[Span]) -> bool:
    """Whether an opening holds all of a block however it is off."""
    import shapely

    axis = hole.prism.axis
    i, j = PLANE[axis]
    block = shapely.box(spans[i][0], spans[j][0], spans[i][1], spans[j][1])
    b, reach = hole.prism.bounds, hole.reach_mm
    along = b[axis] + reach <= spans[axis][0] and spans[axis][1] <= b[axis + 3] - reach
    return bool(along and Cut.of(hole, axis).core_in(piece, axis).contains(block))
