"""Signed gaps of many solids at once: prisms as arrays, one pass over all pairs.

Boxes, circles and stadiums of one axis are measured in numpy; polygons against prisms of their
axis in one call of shapely. Only pairs of different axes are taken one by one, and only while
their bounds could still beat what the two solids already have.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import inf
from typing import cast

import numpy as np
import numpy.typing as npt

from geometry.measures.batch_parting import Facing, part_all
from geometry.measures.broadphase import Floats, Indices, near_pairs
from geometry.measures.clearance import bounds_gap, prism_gap
from geometry.measures.overlap import least_way_out
from geometry.measures.prism import PLANE, Poly, Prism, make_polygons
from geometry.measures.prism_table import POLY, PrismTable
from geometry.measures.shifts import Surroundings, bounded
from geometry.measures.tolerance import LENGTH_EPS_MM


def gaps_of(
    solid: Sequence[Prism], table: PrismTable, limit_mm: float, skip: int | None = None
) -> dict[int, float]:
    """Return the signed gaps (mm) of one solid to those of a table that are below a limit.

    `skip` is a solid of the table that is left out: the place from which this one is moved.
    """
    rows = table.near(solid, limit_mm)
    if skip in rows:
        rows.remove(skip)
    return gaps_to(solid, table, rows, limit_mm)


def gaps_to(
    solid: Sequence[Prism], table: PrismTable, rows: Sequence[int], limit_mm: float
) -> dict[int, float]:
    """Return the signed gaps (mm) of one solid to some of a table that are below a limit."""
    if not rows:
        return {}
    first = table.first
    columns = [c for k in rows for c in range(first[k], first[k + 1])]
    owner = [k for k in rows for _ in range(first[k], first[k + 1])]
    found: dict[int, float] = {}
    touching: dict[int, list[tuple[Prism, Prism]]] = {}
    for least, mine, theirs in sorted(_near_prisms(solid, table, columns, limit_mm)):
        k = owner[theirs]
        known = found.get(k, inf)
        if least == 0.0 or least < known:
            one, other = solid[mine], table.prisms[columns[theirs]]
            if least == 0.0:
                touching.setdefault(k, []).append((one, other))
                if known == 0.0:
                    continue
            boxes = one.is_box and other.is_box
            found[k] = least if boxes else min(known, prism_gap(one, other))
    mine_bounded = bounded(solid) if touching else []
    for k, pairs in touching.items():
        if found[k] <= LENGTH_EPS_MM:
            around = Surroundings.of_touching(mine_bounded, table.bounded(k), pairs)
            shift = least_way_out(around)
            if shift is not None:
                found[k] = -shift.mm
    return {k: mm for k, mm in found.items() if mm < limit_mm}


def _near_prisms(
    solid: Sequence[Prism], table: PrismTable, columns: list[int], limit_mm: float
) -> Iterable[tuple[float, int, int]]:
    """Return the gaps of bounds up to a limit: of which prism of a solid, to which column."""
    every = [p.bounds for p in solid]
    if len(every) * len(columns) <= _FEW:
        return [
            (least, mine, theirs)
            for theirs, row in enumerate(columns)
            for mine, own in enumerate(every)
            if (least := bounds_gap(own, table.prisms[row].bounds)) <= limit_mm
        ]
    x0, y0, z0, x1, y1, z1 = zip(*every, strict=True)
    # Edges are least places and minus greatest ones, so one sum gives the gaps on both sides.
    facing = np.array((x1, y1, z1, x0, y0, z0)) * _FACING
    gaps = facing[:, :, None] + table.prism_edges.take(columns, axis=1)[:, None, :]
    outside = np.maximum(gaps[:3], gaps[3:])
    np.maximum(outside, 0.0, out=outside)
    outside *= outside
    gap = np.sqrt(np.add.reduce(outside, axis=0))
    p, q = np.nonzero(gap <= limit_mm)
    return zip(gap[p, q].tolist(), p.tolist(), q.tolist(), strict=True)


_FEW = 32
"""Fewer pairs of prisms than these are sooner looked at one by one than put in arrays."""

_FACING = np.array(((-1.0,), (-1.0,), (-1.0,), (1.0,), (1.0,), (1.0,)))


def all_gaps(table: PrismTable, limit_mm: float) -> dict[tuple[int, int], float]:
    """Return the signed gaps (mm) of all pairs of solids that are below a limit."""
    pairs = near_pairs(table.whole, limit_mm)
    gaps = signed_gaps(table, pairs, limit_mm)
    kept = gaps < limit_mm
    return dict(zip(map(tuple, pairs[kept].tolist()), gaps[kept].tolist(), strict=True))


def signed_gaps(table: PrismTable, pairs: Indices, limit_mm: float) -> Floats:
    """Return the signed gap of each pair of solids in `pairs`, shape (n, 2).

    Clearance when apart, minus the parting shift when room is shared, infinite above the limit.
    """
    pair, p, q = _prism_pairs(table, pairs)
    own, other = table.bounds[p], table.bounds[q]
    lo, hi = other[:, :3] - own[:, 3:], other[:, 3:] - own[:, :3]
    outside = np.maximum(np.maximum(lo, -hi), 0.0)
    gap = np.sqrt(np.einsum("ij,ij->i", outside, outside))
    boxes = table.is_box[p] & table.is_box[q]
    best = np.full(len(pairs), inf)
    np.minimum.at(best, pair[boxes], gap[boxes])
    rest = np.flatnonzero(~boxes & (gap <= limit_mm))
    rest = rest[gap[rest] < best[pair[rest]]]
    if len(rest):
        _others(best, table, p[rest], q[rest], pair[rest], gap[rest])
    part_all(best, table, pairs, Facing(pair, p, q, lo, hi, boxes))
    best[best > limit_mm] = inf
    return best


def _prism_pairs(table: PrismTable, pairs: Indices) -> tuple[Indices, Indices, Indices]:
    """Return for every pair of prisms of every pair of solids: its pair, and both prisms."""
    i, j = pairs[:, 0], pairs[:, 1]
    first = np.array(table.first, dtype=np.intp)
    every = np.diff(first)
    wide = every[j]
    counts = every[i] * wide
    pair = np.repeat(np.arange(len(pairs)), counts)
    within = np.arange(len(pair)) - np.repeat(np.cumsum(counts) - counts, counts)
    row, column = np.divmod(within, wide[pair])
    return pair, first[i][pair] + row, first[j][pair] + column


def _others(
    best: Floats, table: PrismTable, p: Indices, q: Indices, pair: Indices, least: Floats
) -> None:
    """Lower `best` by pairs that are not two boxes, from the cheapest kind to the dearest."""
    axis_p, axis_q = table.axis[p], table.axis[q]
    straight = (axis_p == axis_q) | (axis_p < 0) | (axis_q < 0)
    poly = (table.kind[p] == POLY) | (table.kind[q] == POLY)
    k = np.flatnonzero(straight & ~poly)
    if len(k):
        gap = _round_gaps(table, p[k], q[k])
        np.minimum.at(best, pair[k], gap)
    k = np.flatnonzero(straight & poly & (least < best[pair]))
    if len(k):
        gap = _poly_gaps(table, p[k], q[k])
        np.minimum.at(best, pair[k], gap)
    k = np.flatnonzero(~straight & (least < best[pair]))
    for at in k[np.argsort(least[k])].tolist():
        if least[at] < best[pair[at]]:
            gap_mm = prism_gap(table.prisms[p[at]], table.prisms[q[at]])
            best[pair[at]] = min(best[pair[at]], gap_mm)


def _round_gaps(table: PrismTable, p: Indices, q: Indices) -> Floats:
    """Return the distances of pairs of one axis, boxes or round: cores apart, less the radii."""
    own, other = table.core[p], table.core[q]
    apart = np.maximum(other[:, :3] - own[:, 3:], own[:, :3] - other[:, 3:])
    np.maximum(apart, 0.0, out=apart)
    axis = np.maximum(table.axis[p], table.axis[q])
    rows = np.arange(len(p))
    along = apart[rows, axis]
    apart[rows, axis] = 0.0
    flat = np.sqrt(np.einsum("ij,ij->i", apart, apart)) - table.radius[p] - table.radius[q]
    gaps: Floats = np.hypot(np.maximum(flat, 0.0), along)
    return gaps


def _poly_gaps(table: PrismTable, p: Indices, q: Indices) -> Floats:
    """Return the distances of pairs of one axis with a polygon in them."""
    import shapely

    axis = np.maximum(table.axis[p], table.axis[q])
    flat = shapely.distance(_shapes(table, p, axis), _shapes(table, q, axis))
    flat -= table.radius[p] + table.radius[q]
    rows = np.arange(len(p))
    own, other = table.bounds[p], table.bounds[q]
    along = np.maximum(
        other[rows, axis] - own[rows, axis + 3], own[rows, axis] - other[rows, axis + 3]
    )
    gaps: Floats = np.hypot(np.maximum(flat, 0.0), np.maximum(along, 0.0))
    return gaps


_FIRST = np.array([PLANE[k][0] for k in range(3)])
_SECOND = np.array([PLANE[k][1] for k in range(3)])


def _shapes(
    table: PrismTable, rows: Indices, axis: npt.NDArray[np.int8]
) -> npt.NDArray[np.object_]:
    """Return outlines across `axis` as shapely geometries; round ones as their cores."""
    import shapely

    out = np.empty(len(rows), dtype=np.object_)
    kind = table.kind[rows]
    polys = np.flatnonzero(kind == POLY)
    outlines = [cast("Poly", table.prisms[k].outline) for k in rows[polys].tolist()]
    make_polygons(outlines)
    for at, outline in zip(polys.tolist(), outlines, strict=True):
        out[at] = outline.polygon
    flat = np.flatnonzero(kind != POLY)
    if len(flat):
        inner, k = table.core[rows[flat]], np.arange(len(flat))
        first, second = _FIRST[axis[flat]], _SECOND[axis[flat]]
        ends = np.stack([inner[k, side] for side in (first, second, first + 3, second + 3)], axis=1)
        thin = (ends[:, 0] == ends[:, 2]) | (ends[:, 1] == ends[:, 3])
        out[flat[~thin]] = shapely.box(*ends[~thin].T)
        out[flat[thin]] = shapely.linestrings(ends[thin].reshape(-1, 2, 2))
    return out
