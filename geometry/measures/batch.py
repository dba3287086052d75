"""Signed gaps of many solids at once: prisms as arrays, one pass over all pairs.

Boxes, circles and stadiums of one axis are measured in numpy; polygons against prisms of their
axis in one call of shapely. Only pairs of different axes are taken one by one, and only while
their bounds could still beat what the two solids already have.
"""

from __future__ import annotations

from math import inf
from typing import cast

import numpy as np
import numpy.typing as npt

from geometry.measures.batch_parting import Facing, part_all
from geometry.measures.broadphase import Floats, Indices
from geometry.measures.clearance import prism_gap
from geometry.measures.prism import PLANE, Poly, make_polygons
from geometry.measures.prism_table import POLY, PrismTable


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
