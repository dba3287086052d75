"""Which options keep their margin as drawn, but not once every dimension is off.

The same figures as the check of the worst case has (`geometry.stackup`): each dimension is put to
its limits, and what the gap loses adds up. What a dimension does to a solid does not depend on what
stands elsewhere, so a pair of solids decides for itself and tables stay a proof. Arrays decide
boxes, and tell of most other faces that they keep their margin for sure; what is left is measured
face by face as the check does.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.judging.levels import within_reach
from geometry.search.judging.steps import Steps, told_as
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.worst_pairs import FacePairs

ROWS_AT_ONCE = 300
PLACES_AT_ONCE = 2**20
"""So many rows and pairs of places are looked at at once, some ten bytes each."""
PAIRS_AT_ONCE = 40_000
"""So many pairs of faces are looked at at once, about a kilobyte each."""
MEASURED_AT_ONCE = 200


def short_options(
    a: Tolerant,
    b: Tolerant,
    margins: Floats,
    known: Bools | None = None,
    skip: Bools | None = None,
    seen: dict[object, bool] | None = None,
) -> Steps[Bools]:
    """Return which options of two zones fall short in the worst case, shape (a.size, b.size).

    `margins` as from `role_margins`; `known` marks pairs of options that conflict anyway, which
    stay marked; `skip` pairs of places that are not looked at. `seen` keeps what was measured of
    solids, for other options of the same two. Done in steps.
    """
    out = np.zeros((a.size, b.size), dtype=bool) if known is None else known.copy()
    later: list[FacePairs] = []
    for span, i, j, need in _doubtful(a, b, margins, skip, out):
        yield span[0] / 2
        if not len(i):
            continue
        for at, (one, places) in enumerate(((a, i), (b, j))):
            told = partial(_share, span, at)
            yield from told_as(one.faces.filling(one.kind[places]), told)
        faces = np.cumsum(FacePairs.counts(a, b, i, j))
        for part in np.split(np.arange(len(i)), _cuts(faces // PAIRS_AT_ONCE)):
            pairs = FacePairs.of(a, b, i[part], j[part], need[part])
            short, left = pairs.by_arrays()
            _mark(out, a, b, pairs.i[short], pairs.j[short])
            later.append(pairs.some(left))
            yield span[1] / 2
    seen = {} if seen is None else seen
    for done, pairs in enumerate(later):
        for some in pairs.parts(MEASURED_AT_ONCE):
            still = some.some(_open(out, a, b, some.i, some.j))
            short = still.one_by_one(seen)
            _mark(out, a, b, still.i[short], still.j[short])
            yield (1 + done / len(later)) / 2
    return out


Span = tuple[float, float]


def _share(span: Span, at: int, filled: float) -> float:
    """Return how much is done when what may be off in one of two sides is filled in so far."""
    return (span[0] + (span[1] - span[0]) * (at + filled) / 2) / 2


def _cuts(group: Indices) -> Indices:
    """Return where another group begins."""
    return np.flatnonzero(np.diff(group)) + 1


def _mark(out: Bools, a: Tolerant, b: Tolerant, i: Indices, j: Indices) -> None:
    """Mark the pairs of options that hold some pairs of places."""
    if not len(i):
        return
    rows, at = np.unique(i, return_inverse=True)
    columns, beside = np.unique(j, return_inverse=True)
    short = np.zeros((len(rows), len(columns)), dtype=bool)
    short[at, beside] = True
    options, mine = a.any_of(short, rows)
    others, marked = b.any_of(np.ascontiguousarray(mine.T), columns)
    out[np.ix_(options, others)] |= marked.T


def _open(out: Bools, a: Tolerant, b: Tolerant, i: Indices, j: Indices) -> Bools:
    """Return which pairs of places are held by any pair of options that does not conflict yet."""
    rows, at = np.unique(i, return_inverse=True)
    columns, beside = np.unique(j, return_inverse=True)
    mine = a.all_with(out, rows)
    closed = b.all_with(np.ascontiguousarray(mine.T), columns)
    return ~closed[beside, at]


def _doubtful(
    a: Tolerant, b: Tolerant, margins: Floats, skip: Bools | None, out: Bools
) -> Iterator[tuple[Span, Indices, Indices, Floats]]:
    """Yield pairs of places that come nearer than their margin when all is off, and the margin.

    Before them how much was looked at until then, and will be with them (0 to 1). As in the check,
    what the bounds that nothing passes keep apart is not looked at.
    """
    reach_mm = float(np.nanmax(margins))
    mine = np.flatnonzero(within_reach(a.far, b.far, reach_mm))
    theirs = np.flatnonzero(within_reach(b.far, a.far[mine], reach_mm))
    step = max(1, min(ROWS_AT_ONCE, PLACES_AT_ONCE // max(1, len(theirs))))
    for start in range(0, len(mine), step):
        rows = mine[start : start + step]
        at, beside = np.nonzero(_near(a.far[rows], b.far[theirs], reach_mm))
        i, j = rows[at], theirs[beside]
        need = margins[a.role[i], b.role[j]]
        apart = np.maximum(b.far[j, :3] - a.far[i, 3:], a.far[i, :3] - b.far[j, 3:])
        least = np.sqrt((np.maximum(apart, 0.0) ** 2).sum(axis=1))
        doubtful = ~np.isnan(need) & ((least <= 0.0) | (least < need - LENGTH_EPS_MM))
        if skip is not None:
            doubtful &= ~skip[i, j]
        i, j, need = i[doubtful], j[doubtful], need[doubtful]
        still = _open(out, a, b, i, j)
        done = start / len(mine), min(1.0, (start + step) / len(mine))
        yield done, i[still], j[still], need[still]


def _near(mine: Floats, theirs: Floats, reach_mm: float) -> Bools:
    """Return which bounds come within reach of each other along every axis."""
    near = np.ones((len(mine), len(theirs)), dtype=bool)
    for k in range(3):
        near &= theirs[None, :, k] <= mine[:, None, k + 3] + reach_mm
        near &= mine[:, None, k] <= theirs[None, :, k + 3] + reach_mm
    return near
