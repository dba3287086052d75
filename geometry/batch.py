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

from geometry.broadphase import Floats, Indices, near, near_pairs
from geometry.clearance import prism_gap
from geometry.overlap import least_way_out
from geometry.planar import core
from geometry.prism import PLANE, Poly, Prism, Rect
from geometry.shifts import Line
from geometry.tolerance import LENGTH_EPS_MM

Solids = Sequence[Sequence[Prism]]

BOX, ROUND, POLY = 0, 1, 2


@dataclass(frozen=True, slots=True)
class PrismTable:
    """The prisms of many solids in arrays; row k of `first` is where those of solid k
    start, row k of `members` lists them.

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
        kind = np.array([_kind(p) for p in prisms], dtype=np.int8)
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
            solids, prisms, first, np.diff(first), members, bounds, whole, inner, radius, axis, kind
        )


def _kind(prism: Prism) -> int:
    if isinstance(prism.outline, Rect):
        return BOX
    return POLY if isinstance(prism.outline, Poly) else ROUND


def _core_row(prism: Prism, row: Floats) -> None:
    c = core(prism.outline)  # type: ignore[arg-type]
    i, j = PLANE[prism.axis]
    row[[i, j, i + 3, j + 3]] = c.a0, c.b0, c.a1, c.b1


def gaps_of(solid: Sequence[Prism], table: PrismTable, limit_mm: float) -> dict[int, float]:
    """Return the signed gaps (mm) of one solid to those of a table that are below a limit."""
    every = [p.bounds for p in solid]
    whole = tuple(map(min, *(b[:3] for b in every), every[0][:3])) + tuple(
        map(max, *(b[3:] for b in every), every[0][3:])
    )
    rows = near(whole, table.whole, limit_mm)
    if not len(rows):
        return {}
    columns = np.concatenate([table.members[k] for k in rows.tolist()])
    counts = table.counts[rows]
    starts = np.cumsum(counts) - counts
    own, other = np.array(every)[:, None, :], table.bounds[columns]
    ahead, behind = other[:, :3] - own[:, :, 3:], own[:, :, :3] - other[:, 3:]
    apart = np.maximum(ahead, behind)
    square = np.square(np.maximum(apart, 0.0)).sum(axis=2)
    kinds = np.array([_kind(p) for p in solid], dtype=np.int8)[:, None] + table.kind[columns]
    gap = np.sqrt(square)
    best = np.minimum.reduceat(np.where(kinds == 2 * BOX, gap, inf).min(axis=0), starts).tolist()
    owner = np.repeat(np.arange(len(rows)), counts)
    _others_one_by_one(best, solid, table.prisms, columns, owner, gap, kinds, limit_mm)
    inside = apart < -LENGTH_EPS_MM
    deep = inside.sum(axis=2)
    shares = np.maximum.reduceat(deep.max(axis=0), starts) == 3
    shares &= np.array(best) <= LENGTH_EPS_MM
    if shares.any():
        p, q = np.nonzero((deep >= 2) & shares[owner])
        met = _Met(
            [solid[k] for k in p.tolist()],
            [table.prisms[k] for k in columns[q].tolist()],
            kinds[p, q] == 2 * BOX,
            owner[q],
            ahead[p, q],
            behind[p, q],
            inside[p, q],
        )
        _part(best, met)
    return {k: b for k, b in zip(rows.tolist(), best, strict=True) if b < limit_mm}


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
    ahead, behind = other[:, :3] - own[:, 3:], own[:, :3] - other[:, 3:]
    apart = np.maximum(ahead, behind)
    outside = np.maximum(apart, 0.0)
    gap = np.sqrt(np.einsum("ij,ij->i", outside, outside))
    boxes = (table.kind[p] + table.kind[q]) == 2 * BOX
    best = np.full(n, inf)
    np.minimum.at(best, pair[boxes], gap[boxes])
    rest = np.flatnonzero(~boxes & (gap <= limit_mm))
    rest = rest[gap[rest] < best[pair[rest]]]
    if len(rest):
        _others(best, table, p[rest], q[rest], pair[rest], gap[rest])
    inside = apart < -LENGTH_EPS_MM
    deep = inside.sum(axis=1)
    shares = np.zeros(n, dtype=bool)
    shares[pair[deep == 3]] = True
    shares &= best <= LENGTH_EPS_MM
    at = np.flatnonzero((deep >= 2) & shares[pair])
    if len(at):
        met = _Met(
            [table.prisms[k] for k in p[at].tolist()],
            [table.prisms[k] for k in q[at].tolist()],
            boxes[at],
            pair[at],
            ahead[at],
            behind[at],
            inside[at],
        )
        parted = best.tolist()
        _part(parted, met)
        best = np.array(parted)
    best[best > limit_mm] = inf
    return best


class _Met(NamedTuple):
    """Pairs of prisms that overlap on two axes at least, of solids that may share room.

    Shifts along axis k between `ahead[k]` and `-behind[k]` bring their bounds together.
    """

    p: list[Prism]
    q: list[Prism]
    boxes: npt.NDArray[np.bool_]
    pair: Indices
    ahead: Floats
    behind: Floats
    inside: npt.NDArray[np.bool_]


def _part(best: list[float], met: _Met) -> None:
    """Put minus the parting shift in place of 0 for solids that share room."""
    every: dict[int, tuple[Line, Line, Line]] = {}
    rows = zip(
        met.pair.tolist(),
        met.p,
        met.q,
        met.boxes.tolist(),
        met.ahead.tolist(),
        met.behind.tolist(),
        met.inside.tolist(),
        strict=True,
    )
    for pair, p, q, boxes, ahead, behind, inside in rows:
        lines = every.get(pair)
        if lines is None:
            lines = every[pair] = (Line(0), Line(1), Line(2))
        x, y, z = inside
        for k, counts in enumerate((y and z, x and z, x and y)):
            if counts and boxes:
                lines[k].known.append((ahead[k], -behind[k]))
            elif counts:
                lines[k].waiting.append((ahead[k], -behind[k], p, q))
    for pair, lines in every.items():
        shift = least_way_out(lines)
        if shift is not None:
            best[pair] = -shift.mm


def _others_one_by_one(
    best: list[float],
    solid: Sequence[Prism],
    prisms: Sequence[Prism],
    columns: Indices,
    owner: Indices,
    gap: Floats,
    kinds: npt.NDArray[np.int8],
    limit_mm: float,
) -> None:
    """Lower `best` by pairs that are not two boxes, nearest bounds first."""
    p, q = np.nonzero((kinds != 2 * BOX) & (gap <= np.minimum(np.array(best)[owner], limit_mm)))
    if not len(p):
        return
    rows = zip(gap[p, q].tolist(), p.tolist(), columns[q].tolist(), owner[q].tolist(), strict=True)
    for least, own, other, k in sorted(rows):
        if least < best[k]:
            best[k] = min(best[k], prism_gap(solid[own], prisms[other]))


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
    return np.hypot(np.maximum(flat, 0.0), along)


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
    return np.hypot(np.maximum(flat, 0.0), np.maximum(along, 0.0))


_FIRST = np.array([PLANE[k][0] for k in range(3)])
_SECOND = np.array([PLANE[k][1] for k in range(3)])


def _shapes(
    table: PrismTable, rows: Indices, axis: npt.NDArray[np.int8]
) -> npt.NDArray[np.object_]:
    """Return outlines across `axis` as shapely geometries; round ones as their cores."""
    import shapely

    out = np.empty(len(rows), dtype=np.object_)
    kind = table.kind[rows]
    for k in np.flatnonzero(kind == POLY).tolist():
        out[k] = table.prisms[rows[k]].outline.polygon  # type: ignore[union-attr]
    flat = np.flatnonzero(kind != POLY)
    if len(flat):
        inner, first, second = table.core[rows[flat]], _FIRST[axis[flat]], _SECOND[axis[flat]]
        k = np.arange(len(flat))
        a0, b0, a1, b1 = (
            inner[k, first],
            inner[k, second],
            inner[k, first + 3],
            inner[k, second + 3],
        )
        line = (a0 == a1) | (b0 == b1)
        out[flat[~line]] = shapely.box(a0[~line], b0[~line], a1[~line], b1[~line])
        ends = np.stack([a0, b0, a1, b1], axis=1)[line].reshape(-1, 2, 2)
        out[flat[line]] = shapely.linestrings(ends)
    return out
