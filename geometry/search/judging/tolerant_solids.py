"""What may be off in the solids of options: each solid once, at all places where it stands."""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.pose import Vec
from geometry.search.judging.tolerant_faces import Faces
from geometry.search.judging.tolerant_kind import Kind
from geometry.search.judging.units import ROLES, Lists


@dataclass(frozen=True, eq=False)
class Tolerant:
    """Solids at many places and the options that are made of them.

    Place `n` is `kinds[kind[n]]` shifted by `shift[n]`; option `k` is made of the places
    `numbers[starts[k] : starts[k + 1]]`.
    """

    faces: Faces
    kind: Indices
    shift: Floats
    numbers: Indices
    starts: Indices

    @classmethod
    def of(cls, options: Iterable[Iterable[tuple[Kind, Vec]]]) -> Tolerant:
        """Gather the solids of options, each place once."""
        gathering = Gathering()
        for option in options:
            gathering.add(option)
        return gathering.tolerant()

    def __len__(self) -> int:
        return len(self.kind)

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """The solids where they first stood."""
        return self.faces.kinds

    @property
    def size(self) -> int:
        """How many options there are."""
        return len(self.starts) - 1

    def some(self, keep: Indices) -> Tolerant:
        """Return some of the options; places are kept."""
        some = Lists(self.numbers, self.starts).some(keep)
        return Tolerant(self.faces, self.kind, self.shift, some.numbers, some.starts)

    def only(self, keep: Indices) -> Tolerant:
        """Return some of the options, with the places that they still need."""
        some = self.some(keep)
        used, numbers = np.unique(some.numbers, return_inverse=True)
        return Tolerant(
            self.faces, self.kind[used], self.shift[used], numbers.astype(np.intp), some.starts
        )

    @classmethod
    def joined(cls, parts: Sequence[Tolerant]) -> Tolerant:
        """Return the options of several together, one after the other."""
        return cls.of(
            [(p.kinds[p.kind[n]], vec_of(p.shift[n])) for n in p.numbers[start:stop].tolist()]
            for p in parts
            for start, stop in zip(p.starts[:-1], p.starts[1:], strict=True)
        )

    @cached_property
    def role(self) -> Indices:
        """The number of the role of the solid at each place."""
        roles = np.array([ROLES.index(k.solid.role) for k in self.kinds], dtype=np.intp)
        found: Indices = roles[self.kind]
        return found

    @cached_property
    def outer(self) -> Bools:
        """Which places are on the outer side of a plate."""
        found: Bools = np.array([k.outer for k in self.kinds], dtype=bool)[self.kind]
        return found

    @cached_property
    def far(self) -> Floats:
        """The bounds that the solid at each place never passes, shape (n, 6)."""
        far = np.array([k.far for k in self.kinds], dtype=np.float64).reshape(len(self.kinds), 6)
        found: Floats = far[self.kind] + np.tile(self.shift, 2)
        return found

    @cached_property
    def bounds(self) -> Floats:
        """The bounds of the solid at each place, shape (n, 6)."""
        own = np.array([k.solid.bounds for k in self.kinds], dtype=np.float64)
        found: Floats = own.reshape(len(self.kinds), 6)[self.kind] + np.tile(self.shift, 2)
        return found

    @cached_property
    def keys(self) -> frozenset[tuple[str, str]]:
        """What may be off in any of them."""
        return frozenset(one.key for kind in self.kinds for one in kind.deviations)

    @cached_property
    def owners(self) -> tuple[Indices, Indices]:
        """The options of which each place is a part, place by place, and where each begins."""
        option = np.repeat(np.arange(self.size), np.diff(self.starts))
        order = np.argsort(self.numbers, kind="stable")
        starts = np.searchsorted(self.numbers[order], np.arange(len(self) + 1))
        return option[order].astype(np.intp), starts.astype(np.intp)

    def any_of(self, marks: Bools, rows: Indices) -> Bools:
        """Return for each option, column by column, whether a place in `rows` that it holds is
        marked; `marks` has one row for each of these places.
        """
        out = np.zeros((self.size, marks.shape[1]), dtype=bool)
        held, option = self._held(rows)
        order = np.argsort(option, kind="stable")
        option = option[order]
        heads = np.flatnonzero(np.diff(option, prepend=-1))
        if len(heads):
            out[option[heads]] = np.bitwise_or.reduceat(marks[held[order]], heads, axis=0)
        return out

    def any_with(self, marks: Bools, rows: Indices) -> Bools:
        """Return for each place in `rows`, column by column, whether an option that holds it is
        marked; `marks` has one row for each option.
        """
        out = np.zeros((len(rows), marks.shape[1]), dtype=bool)
        held, option = self._held(rows)
        heads = np.flatnonzero(np.diff(held, prepend=-1))
        if len(heads):
            out[held[heads]] = np.bitwise_or.reduceat(marks[option], heads, axis=0)
        return out

    def _held(self, rows: Indices) -> tuple[Indices, Indices]:
        """Return for some places, by their number in `rows`, each option that holds them."""
        options, starts = self.owners
        counts = starts[rows + 1] - starts[rows]
        held = np.repeat(np.arange(len(rows)), counts)
        within = np.arange(len(held)) - np.repeat(np.cumsum(counts) - counts, counts)
        return held, options[starts[rows][held] + within]


class Gathering:
    """Gathers the solids of options one after the other, each place once."""

    def __init__(self) -> None:
        self._kinds: dict[Kind, int] = {}
        self._places: dict[tuple[int, Vec], int] = {}
        self._numbers = array("i")
        self._starts = array("q", [0])

    def add(self, option: Iterable[tuple[Kind, Vec]]) -> None:
        """Take in the solids of the next option, each with its shift."""
        for kind, shift in option:
            key = (self._kinds.setdefault(kind, len(self._kinds)), shift)
            self._numbers.append(self._places.setdefault(key, len(self._places)))
        self._starts.append(len(self._numbers))

    def tolerant(self) -> Tolerant:
        """Return all that were gathered."""
        shifts = [shift for _, shift in self._places]
        return Tolerant(
            Faces(tuple(self._kinds)),
            np.array([kind for kind, _ in self._places], dtype=np.intp),
            np.array(shifts, dtype=np.float64).reshape(len(shifts), 3),
            np.array(self._numbers, dtype=np.intp),
            np.array(self._starts, dtype=np.intp),
        )


def vec_of(row: Floats) -> Vec:
    return (float(row[0]), float(row[1]), float(row[2]))
