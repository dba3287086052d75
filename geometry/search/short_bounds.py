"""Between which figures the shortfall of every pair of options lies, by interval tests alone.

Shortfall is the gap to keep less the gap that is there, minus the parting shift where room is
shared; negative where more is left than asked for. Growing a prism never adds to its gap, so the
largest box inside each gives the least that may be missing, and its bounds give the most, but
where prisms of one solid would have to be parted together. Dimensions are as drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from geometry.measures.broadphase import Bools, Floats
from geometry.measures.prism import PLANE, Prism
from geometry.search.judging.units import Ints, Makeup, Units

OPTIONS_AT_ONCE = 200
UNITS_AT_ONCE = 2**20
"""So many options, and pairs of their units, are bounded at once, so that little memory is taken
however many there are."""

NOTHING = -np.inf
"""What is missing where nothing is judged."""


@dataclass(frozen=True)
class PairBounds:
    """Pairs of options by number, shape (n, 2), and what at least and by bounds is missing (mm).

    The pair first of which the least may be missing.
    """

    pairs: Ints
    least_mm: Floats
    most_mm: Floats


def nearest_pairs(
    a: Makeup, b: Makeup, margins: Floats, wanted: Bools, maybe: Bools, count: int
) -> PairBounds:
    """Return so many of the wanted pairs, those first of which the least may be missing.

    Left out are those that bounds show to be clear, but for those that `maybe` are not all the
    same. `wanted` and `maybe` have the shape (a.size, b.size).
    """
    b_inside = _inside(b.units)
    kept = PairBounds(np.zeros((0, 2), dtype=np.intp), np.zeros(0), np.zeros(0))
    pairs_of_units = len(a.numbers) * len(b.units)
    step = max(1, min(OPTIONS_AT_ONCE, UNITS_AT_ONCE * a.size // max(1, pairs_of_units)))
    for start in range(0, a.size, step):
        rows = np.arange(start, min(start + step, a.size), dtype=np.intp)
        some = a.some(rows)
        most = _short_mm(some, b, some.units.bounds, b.units.bounds, margins)
        pairs = np.argwhere(wanted[rows] & ((most > 0.0) | maybe[rows]))
        least = _short_mm(some, b, _inside(some.units), b_inside, margins)
        first, second = pairs.T
        kept = PairBounds(
            np.concatenate([kept.pairs, pairs + np.array([start, 0])]),
            np.concatenate([kept.least_mm, least[first, second]]),
            np.concatenate([kept.most_mm, most[first, second]]),
        )
        order = np.lexsort((kept.most_mm, kept.least_mm))[:count]
        kept = PairBounds(kept.pairs[order], kept.least_mm[order], kept.most_mm[order])
    return kept


def _short_mm(a: Makeup, b: Makeup, inner: Floats, others: Floats, margins: Floats) -> Floats:
    need = margins[a.units.role[:, None], b.units.role[None, :]]
    short = need - _gaps(inner, others)
    short[np.isnan(short)] = NOTHING
    rows_of_a = _most(short, a.numbers, a.starts)
    return _most(np.ascontiguousarray(rows_of_a.T), b.numbers, b.starts).T


def _gaps(a: Floats, b: Floats) -> Floats:
    """Return the signed gap of every pair of boxes; NaN where one of them is."""
    apart = np.full((len(a), len(b)), -np.inf)
    squared = np.zeros(apart.shape)
    for k in range(3):
        gap = np.maximum(b[None, :, k] - a[:, None, k + 3], a[:, None, k] - b[None, :, k + 3])
        np.maximum(apart, gap, out=apart)
        squared += np.maximum(gap, 0.0) ** 2
    return np.where(apart < 0.0, apart, np.sqrt(squared))


def _most(short: Floats, numbers: Ints, starts: Ints) -> Floats:
    out = np.full((len(starts) - 1, short.shape[1]), NOTHING)
    filled = np.flatnonzero(np.diff(starts))
    if len(filled):
        out[filled] = np.maximum.reduceat(short[numbers], starts[:-1][filled], axis=0)
    return out


def _inside(units: Units) -> Floats:
    """Return a box inside each prism, shape (n, 6); NaN where none is known."""
    if not len(units):
        return np.zeros((0, 6))
    return np.array([_box_inside(prism) for prism in units.prisms], dtype=np.float64)


def _box_inside(prism: Prism) -> tuple[float, ...]:
    if prism.core is None:
        return (np.nan,) * 6
    # The square in a circle, and between two circles what joins their squares.
    box, half = list(prism.core[:6]), prism.core[6] / sqrt(2.0)
    for axis in PLANE[prism.axis]:
        box[axis], box[axis + 3] = box[axis] - half, box[axis + 3] + half
    return tuple(box)
