"""The prisms of the solids of options as arrays, with how far each may stand out or come nearer."""

from __future__ import annotations

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.search.judging.tolerant_kind import Kind
from geometry.search.judging.units import Ints

BOX = -1
"""Stands for the axis of a prism that has none of its own."""


class Faces:
    """The prisms of some kinds of solids, one after the other, filled in as they are asked for.

    Those of kind `k` are the rows `start[k]` to `start[k] + count[k]`. `core` and `radius` are the
    block that is rounded across `axis` to make a prism, `round` tells which are such blocks
    however much they are off, `plain` which of them are boxes, and `square` those of which each
    dimension takes what it takes along each axis, added up. Once filled in, `out` has how far each
    face of the block may stand out too far, `grow` how much the radius may be too large, `reach`
    how far any point of the prism may be from where it is drawn (mm), and `sway` the squares of
    what each dimension adds to that.
    """

    def __init__(self, kinds: tuple[Kind, ...]) -> None:
        self.kinds = kinds
        self.count: Ints = np.array([len(k.solid.prisms) for k in kinds], dtype=np.intp)
        self.start: Ints = np.cumsum(self.count) - self.count
        total = int(self.count.sum())
        self.kind: Ints = np.repeat(np.arange(len(kinds)), self.count)
        self.place: Ints = np.arange(total) - self.start[self.kind]
        prisms = [p for k in kinds for p in k.solid.prisms]
        self.bounds: Floats = np.array([p.bounds for p in prisms]).reshape(total, 6)
        self.axis: Ints = np.array([BOX if p.is_box else p.axis for p in prisms], dtype=np.intp)
        self.round, self.plain, self.square = (np.zeros(total, dtype=bool) for _ in range(3))
        self.core, self.out = self.bounds.copy(), np.zeros((total, 6))
        self.radius, self.grow, self.reach, self.sway = (np.zeros(total) for _ in range(4))
        self._filled = np.zeros(len(kinds), dtype=bool)

    def fill(self, kinds: Ints) -> None:
        """Fill in what may be off in some kinds."""
        wanted = np.zeros(len(self.kinds), dtype=bool)
        wanted[kinds] = True
        for k in np.flatnonzero(wanted & ~self._filled).tolist():
            kind = self.kinds[k]
            rows = slice(self.start[k], self.start[k] + self.count[k])
            self.round[rows], self.plain[rows] = kind.round, kind.plain
            self.square[rows] = kind.square
            self.core[rows], self.radius[rows] = kind.cores[:, :6], kind.cores[:, 6]
            self.out[rows], self.grow[rows] = kind.losses[:, :6], kind.losses[:, 6]
            self.reach[rows], self.sway[rows] = kind.reach, kind.sway
        self._filled |= wanted

    def shifts(self, rows: Ints) -> Floats:
        """Return how bounds change by dimension, shape (rows, dimensions, 2, 6), zeros after."""
        different, place = np.unique(rows, return_inverse=True)
        own = [self.kinds[self.kind[n]].shifts[self.place[n], :, :, :6] for n in different.tolist()]
        out = np.zeros((len(own), max(map(len, own), default=0), 2, 6))
        for n, one in enumerate(own):
            out[n, : len(one)] = one
        return out[place]
