"""Parting shifts of many pairs of solids at once.

The forbidden shifts of pairs of boxes are united in arrays. That gives for each of the six ends
of the forbidden interval a place that it at least reaches; with the bounds of all other pairs
of prisms united too, one beyond which it cannot lie. Where both are the same at the nearest
end nothing more need be known; only the rest is worked out pair by pair.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.prism import Prism
from geometry.measures.prism_table import PrismTable
from geometry.measures.shifts import Surroundings
from geometry.measures.tolerance import LENGTH_EPS_MM


class Facing(NamedTuple):
    """Pairs of prisms in the order of their pairs of solids; shifts from `lo` to `hi` along x, y
    and z (shape (n, 3), mm) bring their bounds together, `boxes` are pairs of two boxes."""

    pair: Indices
    p: Indices
    q: Indices
    lo: Floats
    hi: Floats
    boxes: Bools


class _Shifts(NamedTuple):
    """Intervals of shifts by cell: three cells, one an axis, for each pair of solids."""

    cell: Indices
    lo: Floats
    hi: Floats

    def of(self, chosen: Bools) -> _Shifts:
        return _Shifts(self.cell[chosen], self.lo[chosen], self.hi[chosen])


def part_all(best: Floats, table: PrismTable, pairs: Indices, facing: Facing) -> None:
    """Put minus the parting shift (mm) in place of each clearance of 0 where room is shared."""
    inside = (facing.lo < -LENGTH_EPS_MM) & (facing.hi > LENGTH_EPS_MM)
    x, y, z = inside.T
    may_share = x & y & z & (best <= LENGTH_EPS_MM)[facing.pair]
    if not may_share.any():
        return
    # numpy's own `unique` would load its masked arrays.
    chosen = np.flatnonzero(np.bincount(facing.pair[may_share]))
    place = np.full(len(best), -1)
    place[chosen] = np.arange(len(chosen))
    own = place[facing.pair]
    # Only prisms that overlap across an axis keep each other from moving along it.
    across = np.stack((y & z, x & z, x & y), axis=1)
    row, axis = (across & (own >= 0)[:, None]).nonzero()
    shifts = _Shifts(own[row] * 3 + axis, facing.lo[row, axis], facing.hi[row, axis])
    boxes, start = facing.boxes[row], inside[row, axis]

    lo, hi = np.zeros(3 * len(chosen)), np.zeros(3 * len(chosen))
    _unite(lo, hi, shifts.of(boxes & start))
    held = hi.reshape(-1, 3)[:, 0] > 0.0
    _spread(lo, hi, shifts.of(boxes & ~start & held[shifts.cell // 3]))
    sure_lo, sure_hi = lo.copy(), hi.copy()
    _unite(lo, hi, shifts.of(~boxes & start))
    _spread(lo, hi, shifts.of(~start))
    nearest = np.stack((-sure_lo, sure_hi), axis=1).reshape(-1, 6)
    at = nearest.argmin(axis=1)[:, None]
    mm = np.take_along_axis(nearest, at, axis=1)
    farthest = np.stack((-lo, hi), axis=1).reshape(-1, 6)
    done = held & (np.take_along_axis(farthest, at, axis=1) == mm)[:, 0]
    best[chosen[done]] = -mm[done, 0]
    if done.all():
        return
    bent: dict[int, list[tuple[Prism, Prism]]] = {}
    for k in np.flatnonzero(may_share & ~facing.boxes & ~done[own]).tolist():
        prisms = table.prisms[facing.p[k]], table.prisms[facing.q[k]]
        bent.setdefault(int(facing.pair[k]), []).append(prisms)
    rest = np.flatnonzero(~done)
    ends: list[list[float]] = nearest[rest].tolist()
    for k, (i, j), known in zip(
        chosen[rest].tolist(), pairs[chosen[rest]].tolist(), ends, strict=True
    ):
        around = Surroundings(table.bounded(i), table.bounded(j), known, bent.get(k, ()))
        end = around.nearest_end()
        if end is not None:
            best[k] = -around.ends[end]


def _unite(lo: Floats, hi: Floats, shifts: _Shifts) -> None:
    """Move ends outwards by intervals that hold shift 0."""
    np.minimum.at(lo, shifts.cell, shifts.lo)
    np.maximum.at(hi, shifts.cell, shifts.hi)


def _spread(lo: Floats, hi: Floats, shifts: _Shifts) -> None:
    """Move ends outwards by intervals that overlap what lies between them, until none does."""
    while len(shifts.cell):
        cell = shifts.cell
        up = (shifts.hi > hi[cell]) & (shifts.lo < hi[cell] - LENGTH_EPS_MM)
        down = (shifts.lo < lo[cell]) & (shifts.hi > lo[cell] + LENGTH_EPS_MM)
        if not (up | down).any():
            return
        np.maximum.at(hi, cell[up], shifts.hi[up])
        np.minimum.at(lo, cell[down], shifts.lo[down])
        shifts = shifts.of((shifts.hi > hi[cell]) | (shifts.lo < lo[cell]))
