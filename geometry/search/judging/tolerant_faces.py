"""The prisms of the solids of options as arrays, with how far each may stand out or come nearer."""

from __future__ import annotations

from array import array
from hashlib import blake2b

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.judging.tolerant_kind import DIGEST_BYTES
from geometry.search.judging.tolerant_kinds import BOX, Kinds
from geometry.search.listing.option_rows import Numbers
from geometry.search.long_work import Steps, run_through
from geometry.stackup.faces import NOISE_MM

KINDS_A_STEP = 100
"""So many kinds are filled in at once, about a thousandth of a second each."""

UNKNOWN = -1
"""Stands for a likeness that nobody asked for yet."""

_OUTWARD = np.array([-1.0, -1.0, -1.0, 1.0, 1.0, 1.0, 1.0])
"""Signs with which changes of least and greatest places, and of the radius, make a prism larger."""


class Faces:
    """The prisms of some kinds of solids, one after the other, filled in as they are asked for.

    Those of kind `k` are the rows `start[k]` to `start[k] + count[k]`, and `role`, `far` and
    `solid_bounds` are those of the kind itself. `core` and `radius` are the
    block that is rounded across `axis` to make a prism, `round` tells which are such blocks
    however much they are off, `plain` which of them are boxes, and `square` those of which each
    dimension takes what it takes along each axis, added up. Once filled in, `out` has how far each
    face of the block may stand out too far, `grow` how much the radius may be too large, `reach`
    how far any point of the prism may be from where it is drawn (mm), and `sway` the squares of
    what each dimension adds to that.
    """

    def __init__(self, kinds: Kinds) -> None:
        self.kinds = kinds
        self.role, self.far, self.solid_bounds = kinds.role, kinds.far, kinds.bounds
        self.count = kinds.count
        self.start: Indices = np.cumsum(self.count) - self.count
        total = int(self.count.sum())
        self.kind: Indices = np.repeat(np.arange(len(kinds)), self.count)
        self.place: Indices = np.arange(total) - self.start[self.kind]
        self.bounds, self.axis = kinds.prism_bounds, kinds.prism_axes
        self.round, self.plain, self.square = (np.zeros(total, dtype=bool) for _ in range(3))
        self.core, self.out = self.bounds.copy(), np.zeros((total, 6))
        self.radius, self.grow, self.reach, self.sway = (np.zeros(total) for _ in range(4))
        self._filled = np.zeros(len(kinds), dtype=bool)
        self._like: Indices = np.full(total, UNKNOWN)
        self._likes: dict[bytes, int] = {}
        self._shifts = _Shifts(total)

    def fill(self, kinds: Indices) -> None:
        """Fill in what may be off in some kinds."""
        run_through(self.filling(kinds))

    def filling(self, kinds: Indices) -> Steps[None]:
        """Fill in what may be off in some kinds, some of them in each step."""
        wanted = np.zeros(len(self.kinds), dtype=bool)
        wanted[kinds] = True
        new = np.flatnonzero(wanted & ~self._filled)
        for start in range(0, len(new), KINDS_A_STEP):
            some = new[start : start + KINDS_A_STEP]
            self._fill(some.tolist())
            self._filled[some] = True
            yield min(1.0, (start + KINDS_A_STEP) / len(new))

    def _fill(self, numbers: list[int]) -> None:
        kinds = [self.kinds[k] for k in numbers]
        rows = np.concatenate(
            [np.arange(self.start[k], self.start[k] + self.count[k]) for k in numbers]
        )
        cores = np.concatenate([kind.cores for kind in kinds])
        self.core[rows], self.radius[rows] = cores[:, :6], cores[:, 6]
        self.round[rows] = np.concatenate([kind.round for kind in kinds])
        self.plain[rows] = self.round[rows] & (self.axis[rows] == BOX)
        shifts = _together([kind.shifts for kind in kinds])
        outward = np.maximum(shifts * _OUTWARD, 0.0)
        losses = outward.max(axis=2, initial=0.0).sum(axis=1)
        self.out[rows], self.grow[rows] = losses[:, :6], losses[:, 6]
        self.square[rows] = _square(shifts, outward)
        own = np.flatnonzero(self.plain[rows])
        self._shifts.keep(rows[own], shifts[own, :, :, :6])
        off = np.abs(shifts)
        far = np.maximum(off[..., :3], off[..., 3:6])
        by = (np.sqrt((far**2).sum(axis=-1)) + off[..., 6]).max(axis=2, initial=0.0)
        # A corner between two sides that are not square may go farther than each of them.
        bent = np.concatenate([kind.bent_mm for kind in kinds])
        self.reach[rows] = np.where(self.round[rows], by.sum(axis=1), bent)
        self.sway[rows] = (by**2).sum(axis=1)

    def likeness(self, row: int) -> int:
        """Return the same number for prisms that differ in nothing but where they stand."""
        if self._like[row] == UNKNOWN:
            k = int(self.kind[row])
            for place, like in enumerate(self.kinds[k].likenesses):
                told = repr((k, place) if like is None else like).encode()
                digest = blake2b(told, digest_size=DIGEST_BYTES).digest()
                number = self._likes.setdefault(digest, len(self._likes))
                self._like[self.start[k] + place] = number
        return int(self._like[row])

    def shifts(self, rows: Indices | Numbers) -> Floats:
        """Return how the bounds of plain prisms change by dimension, zeros after.

        Shape (rows, dimensions, 2, 6); dimensions that change nothing are left out.
        """
        return self._shifts.of(rows)


class _Shifts:
    """How bounds of prisms change by dimension, (2, 6) numbers each; what is alike is held once."""

    def __init__(self, rows: int) -> None:
        self._known: dict[bytes, int] = {}
        self._numbers = array("i")
        self._start: Indices = np.zeros(rows, dtype=np.intp)
        self._count: Indices = np.zeros(rows, dtype=np.intp)

    def keep(self, rows: Indices, shifts: Floats) -> None:
        """Take in the shifts of some prisms, shape (rows, dimensions, 2, 6)."""
        row, dimension = np.nonzero(shifts.any(axis=(2, 3)))
        self._count[rows] = np.bincount(row, minlength=len(rows))
        ends = len(self._numbers) + np.cumsum(self._count[rows])
        self._start[rows] = ends - self._count[rows]
        known = self._known
        for one in shifts[row, dimension]:
            self._numbers.append(known.setdefault(one.tobytes(), len(known)))

    def of(self, rows: Indices | Numbers) -> Floats:
        """Return the shifts of some prisms, with zeros after."""
        every = np.frombuffer(b"".join(self._known), dtype=np.float64).reshape(-1, 2, 6)
        counts = self._count[rows]
        out = np.zeros((len(rows), int(counts.max(initial=0)), 2, 6))
        numbers = np.array(self._numbers, dtype=np.intp)
        for d in range(out.shape[1]):
            some = np.flatnonzero(counts > d)
            out[some, d] = every[numbers[self._start[rows[some]] + d]]
        return out


def _together(shifts: list[Floats]) -> Floats:
    """Return shifts of some prisms each, shape (prisms, dimensions, 2, n), with zeros after."""
    most = max((one.shape[1] for one in shifts), default=0)
    out = np.zeros((sum(map(len, shifts)), most, 2, shifts[0].shape[3] if shifts else 6))
    row = 0
    for one in shifts:
        out[row : row + len(one), : one.shape[1]] = one
        row += len(one)
    return out


def _square(shifts: Floats, outward: Floats) -> Bools:
    """Return of which prisms every dimension moves faces along one axis, or grows at one limit.

    What it takes from a gap is then what it takes along each axis, added up.
    """
    off = np.abs(shifts).max(axis=2, initial=0.0)
    axes = np.maximum(off[..., :3], off[..., 3:6]) > NOISE_MM
    along_one = axes.sum(axis=2) + (off[..., 6] > NOISE_MM) <= 1
    plus, minus = np.moveaxis(outward, 2, 0)
    grown = (minus <= plus + NOISE_MM).all(axis=2) | (plus <= minus + NOISE_MM).all(axis=2)
    found: Bools = (along_one | grown).all(axis=1)
    return found
