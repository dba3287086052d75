"""Signed gaps of many solids at once: prisms as arrays, one pass over all pairs.

Boxes, circles and stadiums of one axis are measured in numpy; polygons against prisms of their
axis in one call of shapely. Only pairs of different axes are taken one by one, and only while
their bounds could still beat what the two solids already have.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from geometry.measures.broadphase import Floats, Indices, near_pairs
from geometry.measures.clearance import prism_gap
from geometry.measures.overlap import least_way_out, parting_shift
from geometry.measures.planar import core
from geometry.measures.prism import PLANE, Poly, Prism, Rect, Round
from geometry.measures.shifts import Bounded, Surroundings, bounded
from geometry.measures.tolerance import LENGTH_EPS_MM

Solids = Sequence[Sequence[Prism]]

BOX, ROUND, POLY = 0, 1, 2
KINDS = {Rect: BOX, Round: ROUND, Poly: POLY}


@dataclass(frozen=True, slots=True)
class PrismTable:
    """The prisms of many solids in arrays; row k of `first` is where those of solid k
    start, row k of `members` lists them.

    `edges` (of solids, shape (6, n)) and `prism_edges` (shape (m, 6)) hold least places and minus
    greatest ones.

    `core` holds, for round outlines, the bounds without the radius. `axis` is -1 for boxes,
    which may be turned to any axis.
    """

    solids: Solids
    prisms: list[Prism]
    first: Indices
    counts: Indices
    members: list[Indices]
    bounds: Floats
    whole: Floats
    edges: Floats
    prism_edges: Floats
    is_box: npt.NDArray[np.bool_]
    core: Floats
    radius: Floats
    axis: npt.NDArray[np.int8]
    kind: npt.NDArray[np.int8]

    @classmethod
    def of(cls, solids: Solids) -> PrismTable:
        """Build the table; solids without prisms are refused with a ValueError."""
        prisms = [p for solid in solids for p in solid]
        counts = [len(solid) for solid in solids]
        if not all(counts):
            raise ValueError("a solid has no prisms")
        first = np.zeros(len(counts) + 1, dtype=np.intp)
        np.cumsum(counts, out=first[1:])
        bounds = np.array([p.bounds for p in prisms], dtype=np.float64).reshape(-1, 6)
        kind = np.array([KINDS[type(p.outline)] for p in prisms], dtype=np.int8)
        inner, radius = bounds.copy(), np.zeros(len(prisms))
        for k in np.flatnonzero(kind == ROUND).tolist():
            _core_row(prisms[k], inner[k])
            radius[k] = prisms[k].outline.r  # type: ignore[union-attr]
        whole = np.empty((len(counts), 6))
        if counts:
            whole[:, :3] = np.minimum.reduceat(bounds[:, :3], first[:-1])
            whole[:, 3:] = np.maximum.reduceat(bounds[:, 3:], first[:-1])
        members = np.split(np.arange(len(prisms)), first[1:-1])
        axis = np.array([p.axis for p in prisms], dtype=np.int8)
        axis[kind == BOX] = -1
        return cls(
            solids=solids,
            prisms=prisms,
            first=first,
            counts=np.diff(first),
            members=members,
            bounds=bounds,
            whole=whole,
            edges=np.ascontiguousarray(np.concatenate((whole[:, :3], -whole[:, 3:]), axis=1).T),
            prism_edges=np.concatenate((bounds[:, :3], -bounds[:, 3:]), axis=1),
            is_box=kind == BOX,
            core=inner,
            radius=radius,
            axis=axis,
            kind=kind,
        )


def _core_row(prism: Prism, row: Floats) -> None:
    c = core(prism.outline)  # type: ignore[arg-type]
    i, j = PLANE[prism.axis]
    row[[i, j, i + 3, j + 3]] = c.a0, c.b0, c.a1, c.b1


def gaps_of(
    solid: Sequence[Prism], table: PrismTable, limit_mm: float, skip: int | None = None
) -> dict[int, float]:
    """Return the signed gaps (mm) of one solid to those of a table that are below a limit.

    `skip` is a solid of the table that is left out: the place from which this one is moved.
    """
    every = [p.bounds for p in solid]
    x0, y0, z0, x1, y1, z1 = zip(*every, strict=True)
    # Edges are least places and minus greatest ones, so one sum gives the gaps on both sides.
    reach = np.array([[max(x1)], [max(y1)], [max(z1)], [-min(x0)], [-min(y0)], [-min(z0)]])
    near_enough = np.logical_and.reduce(table.edges <= reach + limit_mm, axis=0)
    rows: list[int] = near_enough.nonzero()[0].tolist()
    if skip in rows:
        rows.remove(skip)
    if not rows:
        return {}
    columns = np.concatenate([table.members[k] for k in rows])
    facing = np.array([[(-b[3], -b[4], -b[5], b[0], b[1], b[2])] for b in every])
    gaps = facing + table.prism_edges[columns]
    outside = np.maximum(gaps[:, :, :3], gaps[:, :, 3:])
    np.maximum(outside, 0.0, out=outside)
    outside *= outside
    gap = np.sqrt(np.add.reduce(outside, axis=2))
    boxes = table.is_box[columns] & np.array([[p.is_box] for p in solid])
    nearest = np.minimum.reduce(np.where(boxes, gap, inf), axis=0).tolist()
    found: list[float] = []
    owner: list[int] = []
    for k in rows:
        count = len(table.solids[k])
        found.append(min(nearest[len(owner) : len(owner) + count]))
        owner += [len(found) - 1] * count
    bent: npt.NDArray[np.bool_] = (gap <= limit_mm) & ~boxes
    if bent.any():
        p, q = np.nonzero(bent)
        pairs = zip(gap[p, q].tolist(), p.tolist(), q.tolist(), strict=True)
        for least, mine, theirs in sorted(pairs):
            k = owner[theirs]
            if least < found[k]:
                prism = table.prisms[columns[theirs]]
                found[k] = min(found[k], prism_gap(solid[mine], prism))
    out = {}
    for k, mm in zip(rows, found, strict=True):
        if mm <= LENGTH_EPS_MM:
            shift = parting_shift(solid, table.solids[k])
            out[k] = mm if shift is None else -shift.mm
        elif mm < limit_mm:
            out[k] = mm
    return out


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
    n = len(pairs)
    pair, p, q = _prism_pairs(table, pairs)
    own, other = table.bounds[p], table.bounds[q]
    lo, hi = other[:, :3] - own[:, 3:], other[:, 3:] - own[:, :3]
    outside = np.maximum(np.maximum(lo, -hi), 0.0)
    gap = np.sqrt(np.einsum("ij,ij->i", outside, outside))
    boxes = table.is_box[p] & table.is_box[q]
    best = np.full(n, inf)
    np.minimum.at(best, pair[boxes], gap[boxes])
    rest = np.flatnonzero(~boxes & (gap <= limit_mm))
    rest = rest[gap[rest] < best[pair[rest]]]
    if len(rest):
        _others(best, table, p[rest], q[rest], pair[rest], gap[rest])
    deep = (lo < -LENGTH_EPS_MM).all(axis=1) & (hi > LENGTH_EPS_MM).all(axis=1)
    at = np.flatnonzero(deep & (best <= LENGTH_EPS_MM)[pair])
    _part(best, table, pairs, _Met(pair[at], p[at], q[at], lo[at], hi[at], boxes[at]))
    best[best > limit_mm] = inf
    return best


class _Met(NamedTuple):
    """Pairs of prisms whose bounds overlap, by the pair of their solids; shifts from `lo` to `hi`
    along x, y and z bring their bounds together."""

    pair: Indices
    p: Indices
    q: Indices
    lo: Floats
    hi: Floats
    boxes: npt.NDArray[np.bool_]


def _part(best: Floats, table: PrismTable, pairs: Indices, met: _Met) -> None:
    """Put minus the parting shift in place of the clearance of solids that share room."""
    least, most = np.zeros((len(best), 3)), np.zeros((len(best), 3))
    np.minimum.at(least, met.pair[met.boxes], met.lo[met.boxes])
    np.maximum.at(most, met.pair[met.boxes], met.hi[met.boxes])
    bent: dict[int, list[tuple[Prism, Prism]]] = {}
    for k in np.flatnonzero(~met.boxes).tolist():
        both = table.prisms[met.p[k]], table.prisms[met.q[k]]
        bent.setdefault(int(met.pair[k]), []).append(both)
    chosen = np.unique(met.pair)
    known: dict[int, Bounded] = {}
    for k, i, j, lo, hi in zip(
        chosen.tolist(), *pairs[chosen].T.tolist(), least[chosen].tolist(), most[chosen].tolist(),
        strict=True,
    ):  # fmt: skip
        for solid in (i, j):
            if solid not in known:
                known[solid] = bounded(table.solids[solid])
        around = Surroundings(known[i], known[j], lo, hi, bent.get(k, ()))
        shift = least_way_out(around)
        if shift is not None:
            best[k] = -shift.mm


def _prism_pairs(table: PrismTable, pairs: Indices) -> tuple[Indices, Indices, Indices]:
    """Return for every pair of prisms of every pair of solids: its pair, and both prisms."""
    i, j = pairs[:, 0], pairs[:, 1]
    wide = table.counts[j]
    counts = table.counts[i] * wide
    pair = np.repeat(np.arange(len(pairs)), counts)
    within = np.arange(len(pair)) - np.repeat(np.cumsum(counts) - counts, counts)
    row, column = np.divmod(within, wide[pair])
    return pair, table.first[i][pair] + row, table.first[j][pair] + column


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
    for at in np.flatnonzero(kind == POLY).tolist():
        outline = table.prisms[rows[at]].outline
        assert isinstance(outline, Poly)
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
