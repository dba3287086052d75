"""Levels of many units against each other, and from them what conflicts of options of two zones."""

from __future__ import annotations

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.judging.bent import bent_levels
from geometry.search.judging.steps import Steps
from geometry.search.judging.units import CLEAR, Levels, Makeup, Units, interval_levels
from geometry.search.solving.pair_table import Gathering, PairTable

ROWS_AT_ONCE = 400
PAIRS_AT_ONCE = 2**20
"""So many rows and pairs of units are measured at once, some tens of bytes each pair."""
PAIRS_A_STEP = 2**20
"""So many pairs of units are measured between two words of how far it has come."""


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
    step = max(1, min(ROWS_AT_ONCE, PAIRS_AT_ONCE // max(1, len(b))))
    for start in range(0, len(a), step):
        rows = slice(start, start + step)
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


def option_conflicts(a: Makeup, b: Makeup, margins: Floats, most: int) -> Steps[PairTable]:
    """Return in steps which options of two zones have a level above `most`."""
    near_a, near_b = _facing(a.units, b.units, float(np.nanmax(margins)))
    mine, theirs = a.units.some(near_a), b.units.some(near_b)
    near = yield from _unit_conflicts(mine, theirs, margins, most)
    every = near.among((near_a, near_b), (len(a.units), len(b.units)))
    for makeup in (a, b):
        for made_of in (makeup.pieces, makeup.options):
            every = every.of_several(made_of.numbers, made_of.starts)
        every = every.turned()
    return every


def _unit_conflicts(a: Units, b: Units, margins: Floats, most: int) -> Steps[PairTable]:
    """Return in steps which units have a level above `most`; of the more of them some at once."""
    turned = len(a) < len(b)
    count, others = max(len(a), len(b)), min(len(a), len(b))
    gathering = Gathering(others)
    step = max(1, PAIRS_A_STEP // max(1, others))
    for start in range(0, count, step):
        some = np.arange(start, min(start + step, count), dtype=np.intp)
        if turned:
            levels = pair_levels(a, b.some(some), margins).T
        else:
            levels = pair_levels(a.some(some), b, margins)
        gathering.add(levels > most)
        yield min(1.0, (start + step) / count)
    table = gathering.table()
    return table.turned() if turned else table


def _facing(a: Units, b: Units, reach_mm: float) -> tuple[Indices, Indices]:
    """Return which units of two zones may be in reach of any of the other zone."""
    rows, columns = np.arange(len(a)), np.arange(len(b))
    for _ in range(2):
        mine, theirs = a.bounds[rows], b.bounds[columns]
        rows = rows[within_reach(mine, theirs, reach_mm)]
        columns = columns[within_reach(theirs, mine, reach_mm)]
    return rows, columns


def within_reach(some: Floats, others: Floats, reach_mm: float) -> Bools:
    """Return which of some bounds come within reach of the bounds around all others."""
    if not len(others):
        return np.zeros(len(some), dtype=bool)
    low, high = others[:, :3].min(axis=0) - reach_mm, others[:, 3:].max(axis=0) + reach_mm
    near: Bools = ((some[:, :3] <= high) & (some[:, 3:] >= low)).all(axis=1)
    return near
