"""Many prisms of few shapes, as rows of numbers; each is made when it is asked for.

A stack is listed at hundreds of slides, and a prism takes more than half a kilobyte. So a prism is
kept as the number of its shape and how far it is shifted from where that was first seen, and a
shape, but for polygons, as the numbers that make it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import sqrt

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.pose import Vec
from geometry.measures.prism import PLANE, Poly, Prism, Rect, Round, shifted

NO_SHIFT: Vec = (0.0, 0.0, 0.0)


@dataclass(frozen=True, eq=False)
class Shapes:
    """Prisms where they were first seen, as rows of numbers, and what is asked of them.

    `cores` are the block that is rounded to make each, and the radius, shape (n, 7), NaN for
    polygons; these are kept as they are, by number. `blocks` are the same, with the bounds of
    polygons; `axis` is that along which each is pushed, and `is_box` tells which are boxes.
    """

    cores: Floats
    blocks: Floats
    axis: Indices
    is_box: Bools
    polygons: Mapping[int, Prism]

    @classmethod
    def of(cls, prisms: Sequence[Prism]) -> Shapes:
        """Return prisms as rows of numbers."""
        none = (np.nan,) * 7
        blocks = [p.core or (*p.bounds, 0.0) for p in prisms]
        return cls(
            np.array([p.core or none for p in prisms], dtype=np.float64).reshape(-1, 7),
            np.array(blocks, dtype=np.float64).reshape(-1, 7),
            np.array([p.axis for p in prisms], dtype=np.intp),
            np.array([p.is_box for p in prisms], dtype=bool),
            {k: prism for k, prism in enumerate(prisms) if isinstance(prism.outline, Poly)},
        )

    @classmethod
    def joined(cls, parts: Sequence[Shapes]) -> Shapes:
        """Return the prisms of several together, one after the other."""
        before = np.cumsum([0, *map(len, parts)]).tolist()
        return cls(
            np.concatenate([part.cores for part in parts]),
            np.concatenate([part.blocks for part in parts]),
            np.concatenate([part.axis for part in parts]),
            np.concatenate([part.is_box for part in parts]),
            {
                at + k: prism
                for at, part in zip(before, parts, strict=False)
                for k, prism in part.polygons.items()
            },
        )

    def __len__(self) -> int:
        return len(self.axis)

    def __getitem__(self, k: int) -> Prism:
        if k in self.polygons:
            return self.polygons[k]
        axis = int(self.axis[k])
        *block, r = self.cores[k].tolist()
        i, j = PLANE[axis]
        ends = block[i], block[j], block[i + 3], block[j + 3]
        outline = Rect(*ends) if self.is_box[k] else Round(*ends, r)
        return Prism(axis, outline, block[axis], block[axis + 3])

    @cached_property
    def circles(self) -> Floats:
        """Axis, centre in the plane across it and radius of each, shape (n, 4); else axis -1."""
        out = np.full((len(self), 4), -1.0)
        for axis, (i, j) in enumerate(PLANE):
            alike = (self.cores[:, (i, j)] == self.cores[:, (i + 3, j + 3)]).all(axis=1)
            rows = np.flatnonzero((self.axis == axis) & alike & ~self.is_box)
            out[rows, 0], out[rows, 1:] = axis, self.cores[rows][:, (i, j, 6)]
        return out

    @cached_property
    def likeness(self) -> Indices:
        """A number for each, the same for prisms that differ in nothing but where they stand."""
        known: dict[object, int] = {}
        told = [known.setdefault(_likeness(self[k]), len(known)) for k in range(len(self))]
        return np.array(told, dtype=np.intp)

    @cached_property
    def holes(self) -> Mapping[int, Floats]:
        """The bounds (in the plane across it) of the holes of each that is a box but for them."""
        every = ((k, _holes(prism)) for k, prism in self.polygons.items())
        return {k: bounds for k, bounds in every if bounds is not None}


@dataclass(frozen=True, eq=False)
class PrismRows:
    """Prism `k` is the shape numbered `shape[k]`, moved by `shift[k]` (mm)."""

    shapes: Shapes
    shape: Indices
    shift: Floats

    @classmethod
    def joined(cls, parts: Sequence[PrismRows]) -> PrismRows:
        """Return the prisms of several together, one after the other."""
        before = np.cumsum([0, *(len(part.shapes) for part in parts)])
        return cls(
            Shapes.joined([part.shapes for part in parts]),
            np.concatenate([part.shape + at for part, at in zip(parts, before, strict=False)]),
            np.concatenate([part.shift for part in parts]),
        )

    def __len__(self) -> int:
        return len(self.shape)

    def __getitem__(self, k: int) -> Prism:
        shape = self.shapes[int(self.shape[k])]
        x, y, z = self.shift[k].tolist()
        return shape if (x, y, z) == NO_SHIFT else shifted(shape, (x, y, z))

    def __iter__(self) -> Iterator[Prism]:
        return (self[k] for k in range(len(self)))

    def some(self, keep: Indices) -> PrismRows:
        """Return some of them."""
        return PrismRows(self.shapes, self.shape[keep], self.shift[keep])

    @cached_property
    def bounds(self) -> Floats:
        """The bounds of each, shape (n, 6)."""
        return self._grown(self.shapes.blocks, 1.0)

    @cached_property
    def inside(self) -> Floats:
        """A box inside each, shape (n, 6); NaN where none is known."""
        # The square in a circle, and between two circles what joins their squares.
        return self._grown(self.shapes.cores, sqrt(2.0))

    def _grown(self, blocks: Floats, part: float) -> Floats:
        """Return blocks where they stand, grown across by their radius over some figure."""
        out: Floats = blocks[self.shape, :6] + np.tile(self.shift, 2)
        for axis in range(3):
            rows = np.flatnonzero(self.axis == axis)
            by = blocks[self.shape[rows], 6] / part
            for k in PLANE[axis]:
                out[rows, k] -= by
                out[rows, k + 3] += by
        return out

    @cached_property
    def is_box(self) -> Bools:
        """Which are boxes, which their bounds describe exactly."""
        found: Bools = self.shapes.is_box[self.shape]
        return found

    @cached_property
    def axis(self) -> Indices:
        """The axis along which each is pushed."""
        found: Indices = self.shapes.axis[self.shape]
        return found

    @property
    def likeness(self) -> Indices:
        """A number for each, the same for prisms that differ in nothing but where they stand."""
        found: Indices = self.shapes.likeness[self.shape]
        return found

    @cached_property
    def circles(self) -> Floats:
        """Axis, centre in the plane across it and radius of each, shape (n, 4); else axis -1."""
        out: Floats = self.shapes.circles[self.shape]
        for axis in range(3):
            rows = np.flatnonzero(out[:, 0] == axis)
            out[rows, 1:3] += self.shift[rows][:, list(PLANE[axis])]
        return out

    def holes(self, k: int) -> Floats | None:
        """Return the bounds (in the plane across it) of the holes of one, if it is a box but for
        them; None for all others.
        """
        own = self.shapes.holes.get(int(self.shape[k]))
        if own is None:
            return None
        by: Floats = self.shift[k, list(PLANE[self.axis[k]])]
        found: Floats = own + np.tile(by, 2)
        return found


def _likeness(prism: Prism) -> object:
    x, y, z = (-least for least in prism.bounds[:3])
    own = shifted(prism, (x, y, z))
    if isinstance(own.outline, Poly):
        rings = (own.outline.shell, *own.outline.holes)
        flat = tuple(tuple((round(a, 9), round(b, 9)) for a, b in ring) for ring in rings)
        return prism.axis, round(own.hi, 9), flat
    return prism.axis, prism.is_box, own.core and tuple(round(mm, 9) for mm in own.core)


def _holes(prism: Prism) -> Floats | None:
    o = prism.outline
    if not isinstance(o, Poly) or len(o.shell) != 4:
        return None
    sides = zip(o.shell, (*o.shell[1:], o.shell[0]), strict=True)
    if not all(p[0] == q[0] or p[1] == q[1] for p, q in sides):
        return None
    spans = [[f(p[k] for p in ring) for f in (min, max) for k in (0, 1)] for ring in o.holes]
    return np.array(spans, dtype=np.float64).reshape(len(spans), 4)
