"""Which faces keep their margin for sure, however much is off: what gaps lose at most, by arrays.

A gap of two rounded blocks that are apart is the greatest, over all ways, of how far they stand
apart along a way, which every dimension changes in proportion. So it is convex in all dimensions:
it loses nothing faster than at first, and at first each dimension takes what it moves the two
faces towards each other along the shortest way between them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from geometry.measures.broadphase import Bools, Floats
from geometry.search.judging.tolerant_faces import BOX

if TYPE_CHECKING:
    from geometry.search.judging.worst_pairs import FacePairs

SURE_MM = 1e-5
"""What is nearer than this to turning over is measured as the check does."""


def keep_for_sure(pairs: FacePairs) -> Bools:
    """Return which pairs need no measuring: they keep their margin, or lack it as drawn already."""
    gap, way, exact = _ways(pairs)
    reach = pairs.a.faces.reach[pairs.p] + pairs.b.faces.reach[pairs.q]
    keeps: Bools = gap - reach >= pairs.need
    keeps |= exact & (gap < pairs.need - SURE_MM)
    keeps |= exact & (gap - (way * _towards(pairs)).sum(axis=1) >= pairs.need)
    return keeps


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
