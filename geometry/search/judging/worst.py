"""Which options keep their margin as drawn, but not once every dimension is off.

The same figures as the check of the worst case has (`geometry.stackup`): each dimension is put to
its limits, and what the gap loses adds up. What a dimension does to a solid does not depend on what
stands elsewhere, so a pair of solids decides for itself and tables stay a proof. Faces of boxes
that face each other lose by the face, and box corners dimension by dimension, for many pairs at
once; round parts, and walls of several pieces, are measured pair by pair as the check does.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.judging.tolerant_solids import Bools, Tolerant
from geometry.search.judging.units import Ints
from geometry.search.judging.worst_boxes import Faces, box_worst
from geometry.search.judging.worst_faces import falls_short

ROWS_AT_ONCE = 300
PAIRS_AT_ONCE = 100_000


def short_options(
    a: Tolerant,
    b: Tolerant,
    margins: Floats,
    known: Bools | None = None,
    skip: Bools | None = None,
) -> Bools:
    """Return which options of two zones fall short in the worst case, shape (a.size, b.size).

    `margins` as from `role_margins`; `known` marks pairs of options that conflict anyway, of which
    the answer may be left out; `skip` pairs of places that are not looked at.
    """
    out = np.zeros((a.size, b.size), dtype=bool) if known is None else known.copy()
    shared = bool(a.keys & b.keys)
    later: list[_Pairs] = []
    for i, j, need in _doubtful(a, b, margins, skip):
        for start in range(0, len(i), PAIRS_AT_ONCE):
            part = slice(start, start + PAIRS_AT_ONCE)
            pairs = _Pairs(a, b, i[part], j[part], need[part], shared, {})
            short, left = pairs.by_boxes()
            _mark(out, a, b, pairs.i[short], pairs.j[short])
            later.append(pairs.some(left))
    found: dict[object, bool] = {}
    for pairs in later:
        still = pairs.some(_still_open(out, a, b, pairs.i, pairs.j))
        short = replace(still, known=found).one_by_one()
        _mark(out, a, b, still.i[short], still.j[short])
    return out


def _mark(out: Bools, a: Tolerant, b: Tolerant, i: Ints, j: Ints) -> None:
    """Mark the pairs of options that hold some pairs of places."""
    if not len(i):
        return
    rows, at = np.unique(i, return_inverse=True)
    columns, beside = np.unique(j, return_inverse=True)
    short = np.zeros((len(rows) + 1, len(columns) + 1), dtype=bool)
    short[at, beside] = True
    mine = a.any_of(short, rows)
    out |= b.any_of(np.ascontiguousarray(mine.T), columns).T


def _still_open(out: Bools, a: Tolerant, b: Tolerant, i: Ints, j: Ints) -> Bools:
    """Return which pairs of places belong to any pair of options that does not conflict yet."""
    if not len(i):
        return np.zeros(0, dtype=bool)
    columns, beside = np.unique(j, return_inverse=True)
    options, starts = b.owners
    theirs = [options[starts[n] : starts[n + 1]] for n in columns.tolist()]
    mine_of, mine_starts = a.owners
    still = np.zeros(len(i), dtype=bool)
    for row in np.unique(i).tolist():
        mine = mine_of[mine_starts[row] : mine_starts[row + 1]]
        free = np.any(~out[mine], axis=0)
        asked = np.flatnonzero(i == row)
        still[asked] = [bool(free[theirs[n]].any()) for n in beside[asked].tolist()]
    return still


def _doubtful(
    a: Tolerant, b: Tolerant, margins: Floats, skip: Bools | None
) -> Iterator[tuple[Ints, Ints, Floats]]:
    """Yield pairs of places that come nearer than their margin when all is off, and the margin."""
    for start in range(0, len(a), ROWS_AT_ONCE):
        rows = slice(start, start + ROWS_AT_ONCE)
        need = margins[a.role[rows][:, None], b.role[None, :]]
        squared = np.zeros(need.shape)
        for k in range(3):
            gap = b.far[None, :, k] - a.far[rows][:, None, k + 3]
            np.maximum(gap, a.far[rows][:, None, k] - b.far[None, :, k + 3], out=gap)
            squared += np.maximum(gap, 0.0) ** 2
        least = np.sqrt(squared)
        doubtful = ~np.isnan(need) & ((least <= 0.0) | (least < need - LENGTH_EPS_MM))
        if skip is not None:
            doubtful &= ~skip[rows]
        i, j = np.nonzero(doubtful)
        if len(i):
            yield i + start, j, need[i, j]


@dataclass(frozen=True, eq=False)
class _Met:
    """Pairs of prisms `p`, `q` of pairs of solids by number.

    `whole` tells walls of which all pieces count as one face, `single` where one prism faces one.
    """

    a: Faces
    b: Faces
    pair: Ints
    p: Ints
    q: Ints
    need: Floats
    plain: Bools
    whole: Bools
    single: Bools


@dataclass(frozen=True, eq=False)
class _Pairs:
    """Pairs of places with the margin that each must keep."""

    a: Tolerant
    b: Tolerant
    i: Ints
    j: Ints
    need: Floats
    shared: bool
    known: dict[object, bool]

    def some(self, keep: Bools) -> _Pairs:
        """Return some of them."""
        return replace(self, i=self.i[keep], j=self.j[keep], need=self.need[keep])

    def by_boxes(self) -> tuple[Bools, Bools]:
        """Return which fall short by their boxes, and which others are to be measured."""
        met = self.met()
        rows = np.flatnonzero(met.plain)
        gap, worst = np.full(len(met.pair), np.inf), np.full(len(met.pair), np.inf)
        gap[rows], worst[rows] = box_worst(
            met.a, met.b, met.p[rows], met.q[rows], met.need[rows], met.single[rows]
        )
        short = (worst < met.need - LENGTH_EPS_MM) & (gap >= met.need - LENGTH_EPS_MM)
        out, left = (np.zeros(len(self.i), dtype=bool) for _ in range(2))
        out[met.pair[short & ~met.whole]] = True
        left[met.pair[~met.plain]] = True
        # A wall falls short where its nearest piece does; else all its pieces are to be measured.
        pick = np.flatnonzero(met.whole & met.plain)
        if len(pick):
            _, group = np.unique(
                met.pair[pick] * (met.p.max() + 1) + met.p[pick], return_inverse=True
            )
            nearest = np.full(group.max() + 1, np.inf)
            np.minimum.at(nearest, group, gap[pick])
            sure = short[pick] & (gap[pick] <= nearest[group] + LENGTH_EPS_MM)
            out[met.pair[pick[sure]]] = True
            left[met.pair[pick[short[pick]]]] = True
        return out, left & ~out

    def one_by_one(self) -> Bools:
        """Return which fall short, each measured as the check does."""
        out = np.zeros(len(self.i), dtype=bool)
        if not len(self.i):
            return out
        met = self.met()
        for n in range(len(met.pair)):
            k = int(met.pair[n])
            if not out[k]:
                place = None if met.whole[n] else int(met.b.place[met.q[n]])
                out[k] = self._exact(k, int(met.a.place[met.p[n]]), place)
        return out

    def met(self) -> _Met:
        """Return all pairs of prisms of the pairs of solids."""
        faces_a, faces_b = Faces.of(self.a, self.i), Faces.of(self.b, self.j)
        counts = faces_a.count[self.i] * faces_b.count[self.j]
        pair = np.repeat(np.arange(len(self.i)), counts)
        within = np.arange(len(pair)) - np.repeat(np.cumsum(counts) - counts, counts)
        many = faces_b.count[self.j][pair]
        p = faces_a.start[self.i][pair] + within // many
        q = faces_b.start[self.j][pair] + within % many
        whole = np.array([k.whole for k in self.b.kinds], dtype=bool)[self.b.kind][self.j][pair]
        plain = faces_a.plain[p] & faces_b.plain[q]
        if self.shared:
            plain[:] = False
        return _Met(
            faces_a, faces_b, pair, p, q, self.need[pair], plain, whole, ~whole | (many == 1)
        )

    def _exact(self, k: int, place: int, other: int | None) -> bool:
        a, b = self.a, self.b
        i, j = int(self.i[k]), int(self.j[k])
        x, y, z = (b.shift[j] - a.shift[i]).round(6).tolist()
        key = (a.kind[i], place, b.kind[j], other, x, y, z)
        if key not in self.known:
            one, two = a.kinds[a.kind[i]], b.kinds[b.kind[j]]
            need = float(self.need[k])
            self.known[key] = falls_short(one, place, two, other, (x, y, z), need)
        return self.known[key]
