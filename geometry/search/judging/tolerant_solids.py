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
from geometry.search.judging.tolerant_kinds import Kinds
from geometry.search.judging.units import Lists


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
        """Gather the solids of options, each place once; they are held as they are."""
        every = [list(option) for option in options]
        numbers: dict[Kind, int] = {}
        for kind, _ in (one for option in every for one in option):
            numbers.setdefault(kind, len(numbers))
        gathering = Gathering(Kinds.of(tuple(numbers)))
        for option in every:
            gathering.add((numbers[kind], shift) for kind, shift in option)
        return gathering.tolerant()

    def __len__(self) -> int:
        return len(self.kind)

    @property
    def kinds(self) -> Kinds:
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
        kinds = Kinds.joined([p.kinds for p in parts])
        before = np.cumsum([0, *(len(p.kinds) for p in parts)])
        gathering = Gathering(kinds)
        for first, p in zip(before.tolist(), parts, strict=False):
            places = [
                (kind + first, vec_of(shift))
                for kind, shift in zip(p.kind.tolist(), p.shift, strict=True)
            ]
            for start, stop in zip(p.starts[:-1], p.starts[1:], strict=True):
                gathering.add(places[n] for n in p.numbers[start:stop].tolist())
        return gathering.tolerant()

    @cached_property
    def role(self) -> Indices:
        """The number of the role of the solid at each place."""
        found: Indices = self.kinds.role[self.kind]
        return found

    @cached_property
    def outer(self) -> Bools:
        """Which places are on the outer side of a plate."""
        found: Bools = self.kinds.outer[self.kind]
        return found

    @cached_property
    def far(self) -> Floats:
        """The bounds that the solid at each place never passes, shape (n, 6)."""
        found: Floats = self.kinds.far[self.kind] + np.tile(self.shift, 2)
        return found

    @cached_property
    def bounds(self) -> Floats:
        """The bounds of the solid at each place, shape (n, 6)."""
        found: Floats = self.kinds.bounds[self.kind] + np.tile(self.shift, 2)
        return found

    @property
    def keys(self) -> set[tuple[str, str]]:
        """What may be off in any of them."""
        return self.kinds.keys

    @cached_property
    def owners(self) -> tuple[Indices, Indices]:
        """The options of which each place is a part, place by place, and where each begins."""
        option = np.repeat(np.arange(self.size), np.diff(self.starts))
        order = np.argsort(self.numbers, kind="stable")
        starts = np.searchsorted(self.numbers[order], np.arange(len(self) + 1))
        return option[order].astype(np.intp), starts.astype(np.intp)

    def any_of(self, marks: Bools, rows: Indices) -> tuple[Indices, Bools]:
        """Return the options that hold any place in `rows`, and for each of them, column by column,
        whether such a place is marked; `marks` has one row for each of these places.
        """
        held, option = self._held(rows)
        order = np.argsort(option, kind="stable")
        option = option[order]
        heads = np.flatnonzero(np.diff(option, prepend=-1))
        if not len(heads):
            return option, np.zeros((0, marks.shape[1]), dtype=bool)
        return option[heads], np.bitwise_or.reduceat(marks[held[order]], heads, axis=0)

    def _held(self, rows: Indices) -> tuple[Indices, Indices]:
        """Return for some places, by their number in `rows`, each option that holds them."""
        options, starts = self.owners
        counts = starts[rows + 1] - starts[rows]
        held = np.repeat(np.arange(len(rows)), counts)
        within = np.arange(len(held)) - np.repeat(np.cumsum(counts) - counts, counts)
        return held, options[starts[rows][held] + within]


class Gathering:
    """Gathers the solids of options one after the other, each place once."""

    def __init__(self, kinds: Kinds) -> None:
        self.kinds = kinds
        self._places: dict[tuple[int, Vec], int] = {}
        self._numbers = array("i")
        self._starts = array("q", [0])

    def add(self, option: Iterable[tuple[int, Vec]]) -> None:
        """Take in the solids of the next option, by number, each with its shift."""
        for place in option:
            self._numbers.append(self._places.setdefault(place, len(self._places)))
        self._starts.append(len(self._numbers))

    def tolerant(self) -> Tolerant:
        """Return all that were gathered."""
        shifts = [shift for _, shift in self._places]
        return Tolerant(
            Faces(self.kinds),
            np.array([kind for kind, _ in self._places], dtype=np.intp),
            np.array(shifts, dtype=np.float64).reshape(len(shifts), 3),
            np.array(self._numbers, dtype=np.intp),
            np.array(self._starts, dtype=np.intp),
        )


def vec_of(row: Floats) -> Vec:
    return (float(row[0]), float(row[1]), float(row[2]))
