"""Many prisms of few shapes, as rows of numbers; each is made when it is asked for.

A stack is listed at hundreds of slides, and a prism takes more than half a kilobyte. So a prism is
kept as the number of its shape and how far it is shifted from where that was first seen.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import sqrt

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.pose import Vec
from geometry.measures.prism import PLANE, Poly, Prism, Round, shifted

NO_SHIFT: Vec = (0.0, 0.0, 0.0)


@dataclass(frozen=True, eq=False)
class Shapes:
    """Prisms where they were first seen, and what is asked of them."""

    prisms: tuple[Prism, ...]

    @cached_property
    def cores(self) -> Floats:
        """The block that is rounded to make each, and the radius, shape (n, 7).

        NaN for polygons.
        """
        none = (np.nan,) * 7
        return np.array([p.core or none for p in self.prisms], dtype=np.float64).reshape(-1, 7)

    @cached_property
    def blocks(self) -> Floats:
        """The same, with the bounds of polygons."""
        every = [p.core or (*p.bounds, 0.0) for p in self.prisms]
        return np.array(every, dtype=np.float64).reshape(-1, 7)

    @cached_property
    def is_box(self) -> Bools:
        """Which are boxes."""
        return np.array([p.is_box for p in self.prisms], dtype=bool)

    @cached_property
    def axis(self) -> Indices:
        """The axis along which each is pushed."""
        return np.array([p.axis for p in self.prisms], dtype=np.intp)

    @cached_property
    def circles(self) -> Floats:
        """Axis, centre in the plane across it and radius of each, shape (n, 4); else axis -1."""
        out = np.full((len(self.prisms), 4), -1.0)
        for k, prism in enumerate(self.prisms):
            o = prism.outline
            if isinstance(o, Round) and o.a0 == o.a1 and o.b0 == o.b1:
                out[k] = (prism.axis, o.a0, o.b0, o.r)
        return out

    @cached_property
    def likeness(self) -> Indices:
        """A number for each, the same for prisms that differ in nothing but where they stand."""
        known: dict[object, int] = {}
        told = [known.setdefault(_likeness(prism), len(known)) for prism in self.prisms]
        return np.array(told, dtype=np.intp)

    @cached_property
    def holes(self) -> tuple[Floats | None, ...]:
        """The bounds (in the plane across it) of the holes of each that is a box but for them.

        None for all others.
        """
        return tuple(_holes(prism) for prism in self.prisms)


@dataclass(frozen=True, eq=False)
class PrismRows:
    """Prism `k` is the shape numbered `shape[k]`, moved by `shift[k]` (mm)."""

    shapes: Shapes
    shape: Indices
    shift: Floats

    @classmethod
    def joined(cls, parts: Sequence[PrismRows]) -> PrismRows:
        """Return the prisms of several together, one after the other."""
        before = np.cumsum([0, *(len(part.shapes.prisms) for part in parts)])
        return cls(
            Shapes(tuple(prism for part in parts for prism in part.shapes.prisms)),
            np.concatenate([part.shape + at for part, at in zip(parts, before, strict=False)]),
            np.concatenate([part.shift for part in parts]),
        )

    def __len__(self) -> int:
        return len(self.shape)

    def __getitem__(self, k: int) -> Prism:
        shape = self.shapes.prisms[self.shape[k]]
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
        own = self.shapes.holes[self.shape[k]]
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
