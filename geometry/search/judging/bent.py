"""Pairs of prisms of which not both are boxes: closed forms where they decide, else exact measures.

Closed forms there are for circles against boxes, two circles of one axis, circles of crossed axes,
and plates with holes that no hole concerns. They decide only what is farther than a thousandth of
a millimetre from turning over.
"""

from __future__ import annotations

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.clearance import clearance
from geometry.measures.overlap import parting_shift
from geometry.measures.pose import Way
from geometry.measures.prism import PLANE, Prism
from geometry.measures.shifts import pair_shifts
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.judging.units import BLOCKED, CLEAR, TIGHT, Levels, Units
from geometry.search.solving.bits import keys_of

UNDECIDED = 9
NEAR_VERDICT_MM = 1e-3
"""Closed forms decide only what is farther than this from turning over."""


Known = dict[bytes, int]
"""Levels of pairs that were measured, by what is alike and stands alike."""

MOST_KNOWN = 2**16
"""So many of them are kept, some 200 bytes each; then it is begun anew."""


def bent_levels(
    a: Units, b: Units, i: Indices, j: Indices, need: Floats, known: Known | None = None
) -> Levels:
    """Return the levels of some pairs in which not both are boxes.

    `known` is what was measured of the same `a` and `b`, or of others of the same shapes.
    """
    out = np.full(len(i), UNDECIDED, dtype=np.uint8)
    if not len(i):
        return out
    grow = np.maximum(np.nan_to_num(need), 0.0) + NEAR_VERDICT_MM
    boxed_a = like_boxes(a, i, b.bounds[j], grow)
    boxed_b = like_boxes(b, j, a.bounds[i], grow)
    both = np.flatnonzero(boxed_a & boxed_b)
    out[both] = _box_levels(a.bounds[i[both]], b.bounds[j[both]], need[both])
    for axis in range(3):
        for one, other, p, q, boxed in ((a, b, i, j, boxed_b), (b, a, j, i, boxed_a)):
            mine, theirs = one.prisms.circles[p], other.prisms.circles[q]
            two_rounds = (mine[:, 0] == axis) & (theirs[:, 0] == axis)
            round_box = (mine[:, 0] == axis) & boxed
            pick = np.flatnonzero((round_box | two_rounds) & (out == UNDECIDED))
            out[pick] = _round_levels(one, other, p[pick], q[pick], axis, boxed[pick], need[pick])
            crossed = (mine[:, 0] == axis) & (theirs[:, 0] > axis) & (out == UNDECIDED)
            pick = np.flatnonzero(crossed)
            out[pick] = _crossed_levels(one, other, p[pick], q[pick], axis, need[pick])
    open_ones = np.flatnonzero(out == UNDECIDED)
    if len(open_ones):
        known = {} if known is None else known
        if len(known) > MOST_KNOWN:
            known.clear()
        p, q = i[open_ones], j[open_ones]
        apart = (b.bounds[q, :3] - a.bounds[p, :3]).round(9) + 0.0
        alike = np.column_stack((a.prisms.likeness[p], b.prisms.likeness[q], need[open_ones]))
        keys = keys_of(np.hstack((alike, apart)).view(np.uint8))
        for n, key in zip(open_ones.tolist(), keys, strict=True):
            if key not in known:
                known[key] = prism_level(a.prisms[i[n]], b.prisms[j[n]], float(need[n]))
            out[n] = known[key]
    return out


def like_boxes(units: Units, rows: Indices, near: Floats, grow: Floats) -> Bools:
    """Return which units are as good as their bounds to something with bounds `near`, grown.

    Boxes are; so is a rectangular plate with holes where no hole comes that near.
    """
    out = units.is_box[rows].copy()
    for k in np.unique(rows[~out]).tolist():
        holes = units.prisms.holes(k)
        if holes is None:
            continue
        mine = np.flatnonzero(rows == k)
        u, v = PLANE[units.prisms.axis[k]]
        low = near[mine][:, [u, v]] - grow[mine][:, None]
        high = near[mine][:, [u + 3, v + 3]] + grow[mine][:, None]
        meets = (low[:, None, :] < holes[None, :, 2:]) & (high[:, None, :] > holes[None, :, :2])
        meets_both = np.logical_and.reduce(meets, axis=2)
        out[mine] = ~np.logical_or.reduce(meets_both, axis=1)
    return out


def _box_levels(p: Floats, q: Floats, need: Floats) -> Levels:
    """Return the levels of boxes pair by pair, as `interval_levels` does for all pairs."""
    apart = np.maximum(q[:, :3] - p[:, 3:], p[:, :3] - q[:, 3:])
    gap = np.sqrt((np.maximum(apart, 0.0) ** 2).sum(axis=1))
    out = np.zeros(len(p), dtype=np.uint8)
    out[gap < np.maximum(need - LENGTH_EPS_MM, 0.0)] = TIGHT
    out[apart.max(axis=1, initial=-np.inf) < -LENGTH_EPS_MM] = BLOCKED
    return out


def _round_levels(
    one: Units, other: Units, p: Indices, q: Indices, axis: int, boxed: Bools, need: Floats
) -> Levels:
    """Return levels of circles across an axis with boxes, or circles across the same axis."""
    p_bounds, q_bounds = one.bounds[p], other.bounds[q]
    centre, far = one.prisms.circles[p], other.prisms.circles[q]
    away = []
    for plane, column in zip(PLANE[axis], (1, 2), strict=True):
        at = centre[:, column]
        to_box = np.maximum(q_bounds[:, plane] - at, at - q_bounds[:, plane + 3])
        away.append(np.where(boxed, np.maximum(to_box, 0.0), at - far[:, column]))
    flat = np.hypot(away[0], away[1]) - centre[:, 3] - np.where(boxed, 0.0, far[:, 3])
    along = np.maximum(
        q_bounds[:, axis] - p_bounds[:, axis + 3], p_bounds[:, axis] - q_bounds[:, axis + 3]
    )
    return _flat_levels(flat, along, need)


def _crossed_levels(
    one: Units, other: Units, p: Indices, q: Indices, axis: int, need: Floats
) -> Levels:
    """Return levels of circles across an axis with circles across other axes.

    Along the third axis each is as wide as the chord at which it comes nearest to the other's
    interval: they share room when the chords' halves reach farther than the centres are apart.
    """
    out = np.full(len(p), UNDECIDED, dtype=np.uint8)
    for across in {1, 2} - {axis}:
        rows = np.flatnonzero(other.prisms.circles[q, 0] == across)
        mine, theirs = one.prisms.circles[p[rows]], other.prisms.circles[q[rows]]
        third = 3 - axis - across
        side, mid = _coordinates(mine, axis, across), _coordinates(mine, axis, third)
        their_side = _coordinates(theirs, across, axis)
        their_mid = _coordinates(theirs, across, third)
        mine_off = _outside(side, other.bounds[q[rows]], across)
        theirs_off = _outside(their_side, one.bounds[p[rows]], axis)
        apart = np.abs(mid - their_mid)
        chords = [
            np.sqrt(np.maximum(circle[:, 3] ** 2 - off**2, 0.0))
            for circle, off in ((mine, mine_off), (theirs, theirs_off))
        ]
        reach = (mine_off < mine[:, 3]) & (theirs_off < theirs[:, 3])
        level = np.full(len(rows), UNDECIDED, dtype=np.uint8)
        level[reach & (apart < chords[0] + chords[1] - NEAR_VERDICT_MM)] = BLOCKED
        facing = (mine_off == 0.0) & (theirs_off == 0.0)
        gap = apart - mine[:, 3] - theirs[:, 3]
        wanted = need[rows]
        level[facing & (gap > np.maximum(wanted, 0.0) + NEAR_VERDICT_MM)] = CLEAR
        level[facing & (gap > NEAR_VERDICT_MM) & (gap < wanted - NEAR_VERDICT_MM)] = TIGHT
        out[rows] = level
    return out


def _coordinates(circles: Floats, axis: int, wanted: int) -> Floats:
    """Return one world coordinate of the centres of circles across an axis."""
    found: Floats = circles[:, 1 + PLANE[axis].index(wanted)]
    return found


def _outside(at: Floats, bounds: Floats, axis: int) -> Floats:
    """Return how far coordinates lie outside the intervals of bounds on an axis."""
    off: Floats = np.maximum(np.maximum(bounds[:, axis] - at, at - bounds[:, axis + 3]), 0.0)
    return off


def _flat_levels(flat: Floats, along: Floats, need: Floats) -> Levels:
    """Return levels from the gap across an axis and the gap along it; some stay undecided."""
    apart = (along >= -LENGTH_EPS_MM) | (flat > NEAR_VERDICT_MM)
    shared = (along < -LENGTH_EPS_MM) & (flat < -NEAR_VERDICT_MM)
    gap = np.hypot(np.maximum(flat, 0.0), np.maximum(along, 0.0))
    out = np.full(len(flat), UNDECIDED, dtype=np.uint8)
    out[shared] = BLOCKED
    out[apart & ((need <= 0.0) | (gap > need + NEAR_VERDICT_MM))] = CLEAR
    out[apart & (need > 0.0) & (gap < need - NEAR_VERDICT_MM)] = TIGHT
    return out


def prism_level(p: Prism, q: Prism, need_mm: float) -> int:
    """Return the level of one pair by the exact measures."""
    if parting_shift((p,), (q,)) is not None:
        return BLOCKED
    if need_mm > 0 and clearance((p,), (q,), need_mm).mm < need_mm - LENGTH_EPS_MM:
        return TIGHT
    return CLEAR


def bent_reaches(a: Units, b: Units, i: Indices, j: Indices, way: Way) -> Floats:
    """Return how far some of `a` move along a direction until they meet some of `b` (mm).

    Infinite where they never meet, 0 where they share room already.
    """
    out = np.full(len(i), np.nan)
    if not len(i):
        return out
    grow = np.full(len(i), NEAR_VERDICT_MM)
    boxed_a, boxed_b = like_boxes(a, i, b.bounds[j], grow), like_boxes(b, j, a.bounds[i], grow)
    # A plate across the way only matters as it is seen along the way.
    boxed_a &= a.is_box[i] | (a.prisms.axis[i] == way.axis)
    boxed_b &= b.is_box[j] | (b.prisms.axis[j] == way.axis)
    both = boxed_a & boxed_b
    ahead = _ahead(a.bounds[i], b.bounds[j], way)
    out[both] = np.maximum(ahead[both], 0.0)
    for one, other, p, q, boxed in ((a, b, i, j, boxed_b), (b, a, j, i, boxed_a)):
        pick = np.flatnonzero((one.prisms.circles[p, 0] >= 0) & boxed & np.isnan(out))
        rounds = one.prisms.circles[p[pick]]
        out[pick] = _round_reaches(rounds, other.bounds[q[pick]], ahead[pick], way)
    for n in np.flatnonzero(np.isnan(out)).tolist():
        out[n] = _exact_reach(a.prisms[i[n]], b.prisms[j[n]], way)
    return out


def _ahead(a: Floats, b: Floats, way: Way) -> Floats:
    gap = (
        b[:, way.axis] - a[:, way.axis + 3] if way.sign > 0 else a[:, way.axis] - b[:, way.axis + 3]
    )
    found: Floats = gap
    return found


def _round_reaches(rounds: Floats, boxes: Floats, ahead: Floats, way: Way) -> Floats:
    """Return the reaches between circles and boxes whose bounds meet; NaN where not sure.

    `ahead` is the gap of their bounds along the way. Along its own axis a circle meets what it
    covers; across it, it is as wide as the chord nearest to the box's interval.
    """
    out = np.full(len(rounds), np.nan)
    for axis in range(3):
        rows = np.flatnonzero(rounds[:, 0] == axis)
        circle, box = rounds[rows], boxes[rows]
        off = [_outside(_coordinates(circle, axis, plane), box, plane) for plane in PLANE[axis]]
        if way.axis == axis:
            flat = np.hypot(off[0], off[1]) - circle[:, 3]
            mm = np.where(flat < 0, np.maximum(ahead[rows], 0.0), np.inf)
            sure = np.abs(flat) > NEAR_VERDICT_MM
        else:
            (side,) = (k for k in PLANE[axis] if k != way.axis)
            lateral = off[PLANE[axis].index(side)]
            chord = np.sqrt(np.maximum(circle[:, 3] ** 2 - lateral**2, 0.0))
            mm = ahead[rows] + circle[:, 3] - chord
            behind = mm < NEAR_VERDICT_MM
            mm = np.where(lateral < circle[:, 3], mm, np.inf)
            # What shares room already, or lies behind, is left to the exact measure.
            sure = (np.abs(lateral - circle[:, 3]) > NEAR_VERDICT_MM) & ~behind
        out[rows] = np.where(sure, mm, np.nan)
    return out


def _exact_reach(p: Prism, q: Prism, way: Way) -> float:
    spans = [s if way.sign > 0 else (-s[1], -s[0]) for s in pair_shifts(p, q, way.axis)]
    ahead = [max(s[0], 0.0) for s in spans if s[1] > LENGTH_EPS_MM]
    return min(ahead, default=np.inf)
