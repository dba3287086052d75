"""Which faces keep their margin for sure, however much is off: what gaps lose at most, by arrays.

A gap of two rounded blocks that are apart is the greatest, over all ways, of how far they stand
apart along a way, which every dimension changes in proportion. So it is convex in all dimensions:
it loses nothing faster than at first, and at first each dimension takes what it moves the two
faces towards each other along the shortest way between them. How much slower it loses it soon is
bounded too: a shift s across a way of length d makes it longer by no more than s^2 / (2 d).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from geometry.measures.broadphase import Bools, Floats
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.judging.tolerant_kinds import BOX
from geometry.stackup.figures import BEGIN

if TYPE_CHECKING:
    from geometry.search.judging.worst_pairs import FacePairs

SURE_MM = 1e-5
"""What is nearer than this to turning over is measured as the check does."""


def sure_pairs(pairs: FacePairs) -> tuple[Bools, Bools]:
    """Return which pairs fall short for sure, and which do not: what is neither, is to be measured.

    Those that do not keep their margin, or lack it as drawn already.
    """
    a, b, p, q, need = pairs.a.faces, pairs.b.faces, pairs.p, pairs.q, pairs.need
    gap, way, exact = _ways(pairs)
    worst = gap - (way * _towards(pairs)).sum(axis=1)
    keeps: Bools = gap - (a.reach[p] + b.reach[q]) >= need
    keeps |= exact & ((gap < need - SURE_MM) | (worst >= need))
    # Rates are measured over the beginning of each tolerance, where gaps lose a little less.
    bend = BEGIN * (a.sway[p] + b.sway[q]) / np.maximum(gap, SURE_MM)
    short: Bools = exact & a.square[p] & b.square[q]
    short &= (gap > need - LENGTH_EPS_MM / 2) & (worst + bend < need - SURE_MM)
    return short, keeps


def least_missing(pairs: FacePairs) -> Floats:
    """Return what at least is missing to what pairs need (mm) that keep it as drawn; 0 for unknown.

    What is measured of them in the worst case is no less, by the same bounds as what falls short
    for sure.
    """
    a, b, p, q, need = pairs.a.faces, pairs.b.faces, pairs.p, pairs.q, pairs.need
    if pairs.a.keys & pairs.b.keys:
        return np.zeros(len(need))
    gap, way, exact = _ways(pairs)
    worst = gap - (way * _towards(pairs)).sum(axis=1)
    bend = BEGIN * (a.sway[p] + b.sway[q]) / np.maximum(gap, SURE_MM)
    sure = exact & a.square[p] & b.square[q] & (gap > need - LENGTH_EPS_MM / 2)
    at_most = np.maximum(worst + bend, 0.0)
    return np.where(sure, np.maximum(need - at_most - SURE_MM, 0.0), 0.0)


def _ways(pairs: FacePairs) -> tuple[Floats, Floats, Bools]:
    """Return gaps, the shortest ways across them, shape (n, 7), and which of them are exact.

    Others are no more than the gaps. A way has its share of each axis, where faces at the least
    place of `a` look at `b`, then where those at the greatest do, and across the axis of rounding.
    """
    a, b, p, q = pairs.a.faces, pairs.b.faces, pairs.p, pairs.q
    mine = a.bounds[p] + np.tile(pairs.a.shift[pairs.i], 2)
    theirs = b.bounds[q] + np.tile(pairs.b.shift[pairs.j], 2)
    axis = np.maximum(a.axis[p], b.axis[q])
    exact = a.round[p] & b.round[q]
    exact &= (a.axis[p] == b.axis[q]) | (np.minimum(a.axis[p], b.axis[q]) == BOX)
    mine[exact] += (a.core[p] - a.bounds[p])[exact]
    theirs[exact] += (b.core[q] - b.bounds[q])[exact]
    rounding = np.where(exact, a.radius[p] + b.radius[q], 0.0)
    behind, ahead = mine[:, :3] - theirs[:, 3:], theirs[:, :3] - mine[:, 3:]
    apart = np.maximum(np.maximum(behind, ahead), 0.0)
    every = np.arange(len(p))
    along = apart[every, axis]
    across = np.sqrt(np.maximum((apart**2).sum(axis=1) - along**2, 0.0))
    flat = np.maximum(across - rounding, 0.0)
    gap = np.hypot(flat, along)
    exact &= gap > SURE_MM
    with np.errstate(divide="ignore", invalid="ignore"):
        share = apart * (flat / across / gap)[:, None]
        share[every, axis] = along / gap
        way = np.hstack(
            (share * (behind > ahead), share * (ahead >= behind), (flat / gap)[:, None])
        )
    return gap, np.nan_to_num(way), exact


def _towards(pairs: FacePairs) -> Floats:
    """Return how far all that may be off brings faces towards each other, shape (n, 7).

    Along each axis where faces at the least place of `a` look at `b`, then where those at the
    greatest do, and by the radii.
    """
    a, b, p, q = pairs.a.faces, pairs.b.faces, pairs.p, pairs.q
    theirs = np.hstack((b.out[q], b.grow[q][:, None]))
    found: Floats = np.hstack((a.out[p], a.grow[p][:, None])) + theirs[:, [3, 4, 5, 0, 1, 2, 6]]
    return found
