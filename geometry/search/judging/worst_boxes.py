"""Gaps between many boxes in the worst case.

Faces that face each other lose what each may stand out too far; at corners each dimension is
measured by itself, and counts at its first rate where that is more. Those that touch, be it with an
edge, are apart along one axis at least, and by the one that leaves most.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from geometry.measures.broadphase import Bools, Floats
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.faces import NOISE_MM
from geometry.stackup.pair_gaps import NEAR_MM

if TYPE_CHECKING:
    from geometry.search.judging.worst_pairs import FacePairs


def near_boxes(pairs: FacePairs) -> Bools:
    """Return which pairs of boxes keep their margin as drawn, but not for sure in the worst case.

    A gap loses no more than how far any point of the two may be from where it is drawn.
    """
    a, b, p, q = pairs.a.faces, pairs.b.faces, pairs.p, pairs.q
    most, squared = np.full(len(p), -np.inf), np.zeros(len(p))
    for k in range(3):
        by = pairs.b.shift[pairs.j, k] - pairs.a.shift[pairs.i, k]
        ahead = b.bounds[q, k] - a.bounds[p, k + 3] + by
        apart = np.maximum(ahead, a.bounds[p, k] - b.bounds[q, k + 3] - by)
        np.maximum(most, apart, out=most)
        squared += np.maximum(apart, 0.0) ** 2
    over = np.where(most > 0.0, np.sqrt(squared), most) - pairs.need
    near: Bools = (over >= -2 * LENGTH_EPS_MM) & (over < a.reach[p] + b.reach[q] + LENGTH_EPS_MM)
    return near


def box_worst(pairs: FacePairs) -> tuple[Floats, Floats]:
    """Return the gaps of pairs of boxes as drawn and in the worst case.

    What keeps its margin for sure may lose more than it does.
    """
    a, b, p, q = pairs.a.faces, pairs.b.faces, pairs.p, pairs.q
    mine = a.bounds[p] + np.tile(pairs.a.shift[pairs.i], 2)
    theirs = b.bounds[q] + np.tile(pairs.b.shift[pairs.j], 2)
    ahead, behind = theirs[:, :3] - mine[:, 3:], mine[:, :3] - theirs[:, 3:]
    apart = np.maximum(ahead, behind)
    gap = _gap_of(apart)
    lost = np.where(
        ahead >= behind, a.out[p, 3:] + b.out[q, :3], a.out[p, :3] + b.out[q, 3:]
    )  # fmt: skip
    every = np.arange(len(p))
    straight = (apart > -NEAR_MM).sum(axis=1) == 1
    worst = gap.copy()
    worst[straight] -= lost[every, apart.argmax(axis=1)][straight]
    touching = ~straight & (gap <= LENGTH_EPS_MM)
    left = np.where(apart >= gap[:, None] - 2 * LENGTH_EPS_MM, apart - lost, -np.inf)
    worst[touching] = left.max(axis=1)[touching]
    # At corners each dimension is measured by itself, but only where it could matter at all.
    begun = (np.maximum(apart, 0.0) * lost).sum(axis=1)
    at_most = np.where(gap > LENGTH_EPS_MM, begun / np.maximum(gap, LENGTH_EPS_MM), np.inf)
    # Where each moves faces along one axis, rates add up to what all faces together lose.
    summed = ~straight & (gap > LENGTH_EPS_MM) & a.square[p] & b.square[q]
    worst[summed] -= at_most[summed]
    corner = ~(straight | touching | summed)
    corner &= (gap >= pairs.need - LENGTH_EPS_MM) & (gap - at_most < pairs.need)
    rows = np.flatnonzero(corner)
    for start in range(0, len(rows), ROWS_AT_ONCE):
        some = rows[start : start + ROWS_AT_ONCE]
        now, at = (apart[some], gap[some]), (mine[some], theirs[some])
        for by in np.moveaxis(a.shifts(p[some]), 1, 0):
            then = [_apart(at[0] + by[:, end], at[1]) for end in (0, 1)]
            worst[some] -= np.maximum(*(_corner_loss(now, after) for after in then))
        for by in np.moveaxis(b.shifts(q[some]), 1, 0):
            then = [_apart(at[0], at[1] + by[:, end]) for end in (0, 1)]
            worst[some] -= np.maximum(*(_corner_loss(now, after) for after in then))
    return gap, worst


ROWS_AT_ONCE = 4000
"""Of so many pairs at corners at once each dimension is measured."""


def _corner_loss(now: tuple[Floats, Floats], after: Floats) -> Floats:
    """Return what the gaps of boxes lose: as measured, or at the first rate where that is more.

    `now` is how far they stand apart along each axis, and their gaps; `after` the former then.
    """
    before, gap = now
    loss = np.maximum(gap - _gap_of(after), 0.0)
    begun = -((after - before) * np.maximum(before, 0.0)).sum(axis=1)
    rated = gap > LENGTH_EPS_MM
    loss[rated] = np.maximum(loss[rated], begun[rated] / gap[rated])
    return np.where(loss > NOISE_MM, loss, 0.0)


def _apart(mine: Floats, theirs: Floats) -> Floats:
    found: Floats = np.maximum(theirs[:, :3] - mine[:, 3:], mine[:, :3] - theirs[:, 3:])
    return found


def _gap_of(apart: Floats) -> Floats:
    """Return the signed gaps of boxes from how far they stand apart along each axis."""
    gap = np.sqrt((np.maximum(apart, 0.0) ** 2).sum(axis=1))
    found: Floats = np.where((apart > 0.0).any(axis=1), gap, apart.max(axis=1, initial=-np.inf))
    return found
