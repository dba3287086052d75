"""Pairs of faces and the margin that each must keep: which fall short in the worst case.

A face is a prism of a solid.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.worst_bounds import sure_pairs
from geometry.search.judging.worst_boxes import box_worst, near_boxes
from geometry.search.judging.worst_faces import falls_short
from geometry.search.listing.option_rows import Numbers

Seen = dict[bytes, bool]
"""Whether pairs of faces fall short, by what tells them from all that are not alike."""


@dataclass(frozen=True, eq=False)
class FacePairs:
    """Prisms `p` at places `i` of `a` with prisms `q` at places `j` of `b`.

    Prisms are rows of the faces of each. There may be millions of pairs.
    """

    a: Tolerant
    b: Tolerant
    i: Numbers
    j: Numbers
    p: Numbers
    q: Numbers
    need: Floats

    @staticmethod
    def counts(a: Tolerant, b: Tolerant, i: Indices, j: Indices) -> Indices:
        """Return how many pairs of prisms the solids at some pairs of places have."""
        a.faces.fill(a.kind[i])
        b.faces.fill(b.kind[j])
        found: Indices = a.faces.count[a.kind[i]] * b.faces.count[b.kind[j]]
        return found

    @classmethod
    def of(cls, a: Tolerant, b: Tolerant, i: Indices, j: Indices, need: Floats) -> FacePairs:
        """Return all pairs of prisms of the solids at some pairs of places."""
        mine, theirs = a.faces, b.faces
        counts = cls.counts(a, b, i, j)
        many = theirs.count[b.kind[j]]
        pair = np.repeat(np.arange(len(i)), counts)
        within = np.arange(len(pair)) - np.repeat(np.cumsum(counts) - counts, counts)
        at, beside = np.divmod(within, many[pair])
        i, j = i[pair], j[pair]
        p, q = mine.start[a.kind[i]] + at, theirs.start[b.kind[j]] + beside
        some: tuple[Numbers, Numbers, Numbers, Numbers] = (
            i.astype(np.int32),
            j.astype(np.int32),
            p.astype(np.int32),
            q.astype(np.int32),
        )
        return cls(a, b, *some, need[pair])

    def with_more(self, others: Sequence[FacePairs]) -> FacePairs:
        """Return these and others between the same options, one after the other."""
        every = (self, *others)
        joined: dict[str, Any] = {
            k: np.concatenate([getattr(one, k) for one in every]) for k in _ROWS
        }
        return replace(self, **joined)

    def some(self, keep: Bools | Indices) -> FacePairs:
        """Return some of them."""
        kept = {k: getattr(self, k)[keep] for k in _ROWS}
        return replace(self, **kept)

    def parts(self, count: int) -> Iterator[FacePairs]:
        """Yield them, so many at a time."""
        every = np.arange(len(self.i))
        for start in range(0, len(every), count):
            yield self.some(every[start : start + count])

    def by_arrays(self) -> tuple[Bools, Bools]:
        """Return which fall short for sure, and which are to be measured one by one."""
        a, b = self.a.faces, self.b.faces
        plain = a.plain[self.p] & b.plain[self.q]
        shared = bool(self.a.keys & self.b.keys)
        if shared:
            # What moves both is no sum of what it does to either.
            plain[:] = False
        short = np.zeros(len(self.i), dtype=bool)
        boxes = np.flatnonzero(plain)
        boxes = boxes[near_boxes(self.some(boxes))]
        gap, worst = box_worst(self.some(boxes))
        need = self.need[boxes]
        short[boxes] = (gap >= need - LENGTH_EPS_MM) & (worst < need - LENGTH_EPS_MM)
        left = ~plain
        rows = np.flatnonzero(left)
        falls, keeps = sure_pairs(self.some(left))
        if not shared:
            short[rows[falls]] = True
            keeps |= falls
        left[rows[keeps]] = False
        return short, left

    def one_by_one(self, seen: Seen) -> Bools:
        """Return which fall short, each measured as the check does; `seen` keeps what was.

        What is alike, and stands alike to what it faces, is measured once, but where one dimension
        moves both.
        """
        a, b = self.a, self.b
        out = np.zeros(len(self.i), dtype=bool)
        by = (b.shift[self.j] - a.shift[self.i]).round(6) + 0.0
        for n, key in enumerate(self._alike(by)):
            if key not in seen:
                i, j, p, q = (int(rows[n]) for rows in (self.i, self.j, self.p, self.q))
                place, other = int(a.faces.place[p]), int(b.faces.place[q])
                x, y, z = by[n].tolist()
                one, two = a.kinds[a.kind[i]], b.kinds[b.kind[j]]
                seen[key] = falls_short(one, place, two, other, (x, y, z), float(self.need[n]))
            out[n] = seen[key]
        return out

    def _alike(self, by: Floats) -> Iterator[bytes]:
        """Yield what tells each pair from all that are not alike; their places are `by` apart.

        There may be hundreds of thousands, so it is as short as it can be.
        """
        a, b = self.a, self.b
        if a.keys & b.keys:
            places = a.faces.place[self.p], b.faces.place[self.q]
            told = np.column_stack([a.kind[self.i], b.kind[self.j], *places, by])
        else:
            apart = b.faces.core[self.q, :3] - a.faces.core[self.p, :3] + by
            likes = (
                [faces.likeness(row) for row in rows.tolist()]
                for faces, rows in ((a.faces, self.p), (b.faces, self.q))
            )
            told = np.column_stack([*likes, self.need, apart.round(6) + 0.0])
        return (row.tobytes() for row in told.astype(np.float64))


_ROWS = ("i", "j", "p", "q", "need")
