"""Levels of many units against each other, and from them those of options of two zones."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from geometry.measures.broadphase import Floats
from geometry.search.judging.bent import bent_levels
from geometry.search.judging.units import CLEAR, Ints, Levels, Makeup, Units, interval_levels

ROWS_AT_ONCE = 400


def pair_levels(a: Units, b: Units, margins: Floats, touching: object = False) -> Levels:
    """Return the level of every pair, shape (len(a), len(b)).

    `margins` as from `role_margins`; `touching` is True, or an array of truth values that spreads
    to that shape, where two may touch because they belong to one joint.
    """
    return _levels(a, b, margins, touching, exact=True)


def box_levels(a: Units, b: Units, margins: Floats, touching: object = False) -> Levels:
    """Return the level of every pair of boxes; clear for all pairs that are not boxes both."""
    return _levels(a, b, margins, touching, exact=False)


def _levels(a: Units, b: Units, margins: Floats, touching: object, *, exact: bool) -> Levels:
    out = np.zeros((len(a), len(b)), dtype=np.uint8)
    joint = np.broadcast_to(np.asarray(touching, dtype=bool), out.shape)
    for start in range(0, len(a), ROWS_AT_ONCE):
        rows = slice(start, start + ROWS_AT_ONCE)
        need = np.where(joint[rows], 0.0, margins[a.role[rows][:, None], b.role[None, :]])
        need[np.isnan(margins[a.role[rows][:, None], b.role[None, :]])] = np.nan
        level = interval_levels(a.bounds[rows], b.bounds, need)
        boxes = a.is_box[rows][:, None] & b.is_box[None, :]
        if exact:
            i, j = np.nonzero((level > CLEAR) & ~boxes)
            level[i, j] = bent_levels(a, b, i + start, j, need[i, j])
        else:
            level[~boxes] = CLEAR
        out[rows] = level
    return out


def option_levels(a: Makeup, b: Makeup, margins: Floats) -> Levels:
    """Return the level of every pair of options of two zones, shape (a.size, b.size)."""
    near_a, near_b = _facing(a.units, b.units, float(np.nanmax(margins)))
    # The last row and column stand for all units that are out of reach.
    units = np.zeros((len(near_a) + 1, len(near_b) + 1), dtype=np.uint8)
    units[:-1, :-1] = pair_levels(a.units.some(near_a), b.units.some(near_b), margins)
    rows = a.worst_of(units, near_a)
    return b.worst_of(np.ascontiguousarray(rows.T), near_b).T


def _facing(a: Units, b: Units, reach_mm: float) -> tuple[Ints, Ints]:
    """Return which units of two zones may be in reach of any of the other zone."""
    rows, columns = np.arange(len(a)), np.arange(len(b))
    for _ in range(2):
        if not len(rows) or not len(columns):
            break
        mine, theirs = a.bounds[rows], b.bounds[columns]
        rows = rows[_within(mine, theirs, reach_mm)]
        columns = columns[_within(theirs, mine, reach_mm)]
    return rows, columns


def _within(some: Floats, others: Floats, reach_mm: float) -> npt.NDArray[np.bool_]:
    low, high = others[:, :3].min(axis=0) - reach_mm, others[:, 3:].max(axis=0) + reach_mm
    near: npt.NDArray[np.bool_] = ((some[:, :3] <= high) & (some[:, 3:] >= low)).all(axis=1)
    return near
