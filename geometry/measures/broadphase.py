"""Which solids can be near each other: bounding intervals of all of them in one array."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np
import numpy.typing as npt

from geometry.measures.prism import Bounds

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]


class Bounded(Protocol):
    """Anything with bounding intervals: a prism, a solid."""

    @property
    def bounds(self) -> Bounds:
        """Least x, y, z, then greatest x, y, z."""
        ...


def bounds_array(solids: Sequence[Bounded]) -> Floats:
    """Return the bounds of `solids` as an array of shape (n, 6)."""
    return np.array([s.bounds for s in solids], dtype=np.float64).reshape(len(solids), 6)


def near(bounds: Bounds, array: Floats, margin_mm: float = 0.0) -> Indices:
    """Return the rows of `array` whose bounds come within `margin_mm` of `bounds` on every axis."""
    meets = array[:, 0] <= bounds[3] + margin_mm
    meets &= array[:, 3] >= bounds[0] - margin_mm
    meets &= array[:, 1] <= bounds[4] + margin_mm
    meets &= array[:, 4] >= bounds[1] - margin_mm
    meets &= array[:, 2] <= bounds[5] + margin_mm
    meets &= array[:, 5] >= bounds[2] - margin_mm
    return np.flatnonzero(meets)


def near_pairs(array: Floats, margin_mm: float = 0.0) -> npt.NDArray[np.intp]:
    """Return all pairs of rows within `margin_mm` of each other, shape (m, 2), i < j, sorted.

    Rows are put into square bins of the y-z plane and swept along x in each, so no table of all
    pairs is ever built. A row lies in every bin that it touches; a pair is kept only in the
    first bin that both touch.
    """
    n = len(array)
    if n < 2:
        return np.empty((0, 2), dtype=np.intp)
    low = array[:, :3] - margin_mm / 2
    high = array[:, 3:] + margin_mm / 2
    first, last, width = _bins(low, high)
    row, bin_y, bin_z = _spread(first, last)
    order = np.lexsort((low[row, 0], bin_y * width + bin_z))
    row, bin_y, bin_z = row[order], bin_y[order], bin_z[order]
    key = bin_y * width + bin_z
    # Sweep along x: after each row come, in its bin, those that start before it ends.
    start = low[row, 0]
    rank = np.arange(len(row))
    ends = np.searchsorted(key, key, side="right")
    stops = _search_within(start, high[row, 0], rank + 1, ends)
    counts = stops - rank - 1
    left = np.repeat(rank, counts)
    right = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts) + left + 1
    i, j = row[left], row[right]
    keep = (
        (low[i, 1] <= high[j, 1])
        & (low[j, 1] <= high[i, 1])
        & (low[i, 2] <= high[j, 2])
        & (low[j, 2] <= high[i, 2])
        & (np.maximum(first[i, 0], first[j, 0]) == bin_y[left])
        & (np.maximum(first[i, 1], first[j, 1]) == bin_z[left])
    )
    i, j = i[keep], j[keep]
    pairs = np.stack([np.minimum(i, j), np.maximum(i, j)], axis=1)
    return pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]


def _bins(low: Floats, high: Floats) -> tuple[Indices, Indices, int]:
    """Return first and last bin of each row on y and z, shape (n, 2), and the bins per side.

    A bin is twice the middle extent wide, so that most rows touch one or two.
    """
    # numpy's own `median` would load its masked arrays.
    middle = np.sort(high[:, 1:] - low[:, 1:], axis=0)[len(low) // 2]
    size = np.maximum(2.0 * middle, 1e-3)
    origin = low[:, 1:].min(axis=0)
    reach = high[:, 1:].max(axis=0) - origin
    # No more bins than rows: rows of very mixed sizes must not be spread over millions.
    size = np.maximum(size, reach / max(1.0, np.sqrt(len(low))))
    first = np.floor((low[:, 1:] - origin) / size).astype(np.intp)
    last = np.floor((high[:, 1:] - origin) / size).astype(np.intp)
    return first, last, int(last.max()) + 1


def _spread(first: Indices, last: Indices) -> tuple[Indices, Indices, Indices]:
    """Return rows and their bins, one entry for each bin that a row touches."""
    span = last - first + 1
    count = span[:, 0] * span[:, 1]
    row = np.repeat(np.arange(len(first)), count)
    within = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    return row, first[row, 0] + within // span[row, 1], first[row, 1] + within % span[row, 1]


def _search_within(values: Floats, wanted: Floats, lo: Indices, hi: Indices) -> Indices:
    """Return for each k the first place in values[lo[k]:hi[k]] (ascending) above wanted[k]."""
    lo, hi = lo.copy(), hi.copy()
    while True:
        active = lo < hi
        if not active.any():
            return lo
        middle = (lo + hi) // 2
        below = active & (values[np.minimum(middle, len(values) - 1)] <= wanted)
        lo = np.where(below, middle + 1, lo)
        hi = np.where(active & ~below, middle, hi)
