"""Between which figures the shortfall of every pair of options lies, by interval tests alone.

Shortfall is the gap to keep less the gap that is there, minus the parting shift where room is
shared; negative where more is left than asked for. Growing a prism never adds to its gap, so the
largest box inside each gives the least that may be missing, and its bounds give the most, but
where prisms of one solid would have to be parted together. Dimensions are as drawn.
"""

from __future__ import annotations

from math import sqrt

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.measures.prism import PLANE, Prism, Round
from geometry.search.judging.units import Ints, Makeup, Units

ROWS_AT_ONCE = 400

NOTHING = -np.inf
"""What is missing where nothing is judged."""


def least_short_mm(a: Makeup, b: Makeup, margins: Floats) -> Floats:
    """Return what at least is missing (mm) of every pair of options, shape (a.size, b.size)."""
    return _short_mm(a, b, _inside(a.units), _inside(b.units), margins)


def most_short_mm(a: Makeup, b: Makeup, margins: Floats) -> Floats:
    """Return what bounds say is missing (mm) of every pair of options; not above 0: they are clear.

    Shape (a.size, b.size).
    """
    return _short_mm(a, b, a.units.bounds, b.units.bounds, margins)


def _short_mm(a: Makeup, b: Makeup, inner: Floats, others: Floats, margins: Floats) -> Floats:
    short = np.full((len(a.units), len(b.units)), NOTHING)
    for start in range(0, len(a.units), ROWS_AT_ONCE):
        rows = slice(start, start + ROWS_AT_ONCE)
        need = margins[a.units.role[rows][:, None], b.units.role[None, :]]
        missing = need - _gaps(inner[rows], others)
        short[rows] = np.where(np.isnan(missing), NOTHING, missing)
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
    if prism.is_box:
        return prism.bounds
    outline = prism.outline
    if not isinstance(outline, Round):
        return (np.nan,) * 6
    # The square in a circle, and between two circles what joins their squares.
    half = outline.r / sqrt(2.0)
    box = [0.0] * 6
    for axis, low, high in zip(
        PLANE[prism.axis], (outline.a0, outline.b0), (outline.a1, outline.b1), strict=True
    ):
        box[axis], box[axis + 3] = low - half, high + half
    box[prism.axis], box[prism.axis + 3] = prism.lo, prism.hi
    return tuple(box)
