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
from geometry.search.listing.option_rows import Numbers
from geometry.search.solving.lists import Lists


@dataclass(frozen=True, eq=False)
class Tolerant:
    """Solids at many places and the options that are made of them.

    Place `n` is `kinds[kind[n]]` shifted by `shift[n]`; option `k` is made of the places
    `held[starts[k] : starts[k + 1]]`, of which there are millions.
    """

    faces: Faces
    kind: Indices
    shift: Floats
    held: Numbers
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

    @property
    def lists(self) -> Lists:
        """The places of each option."""
        return Lists(self.held, self.starts)

    def made_of(self, lists: Lists) -> Tolerant:
        """Return other options of the same solids, made of some of their places each."""
        other = Tolerant(self.faces, self.kind, self.shift, lists.numbers, lists.starts)
        return other.only(np.arange(len(lists), dtype=np.intp))

    def some(self, keep: Indices) -> Tolerant:
        """Return some of the options; places are kept."""
        some = self.lists.some(keep)
        return Tolerant(self.faces, self.kind, self.shift, some.numbers, some.starts)

    def only(self, keep: Indices) -> Tolerant:
        """Return some of the options, with the places that they still need."""
        some = self.some(keep)
        wanted = np.zeros(len(self), dtype=bool)
        wanted[some.held] = True
        place = np.cumsum(wanted, dtype=np.int32) - np.int32(1)
        return Tolerant(
            self.faces, self.kind[wanted], self.shift[wanted], place[some.held], some.starts
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
                gathering.add(places[n] for n in p.held[start:stop].tolist())
        return gathering.tolerant()

    @property
    def every(self) -> Indices:
        """The numbers of all places."""
        return np.arange(len(self), dtype=np.intp)

    @property
    def outer(self) -> Bools:
        """Which places are on the outer side of a plate."""
        found: Bools = self.kinds.outer[self.kind]
        return found

    def role(self, places: Indices) -> Indices:
        """Return the number of the role of the solid at each of some places."""
        found: Indices = self.faces.role[self.kind[places]]
        return found

    def far(self, places: Indices) -> Floats:
        """Return the bounds that the solid at each of some places never passes, shape (n, 6)."""
        found: Floats = self.faces.far[self.kind[places]] + np.tile(self.shift[places], 2)
        return found

    def bounds(self, places: Indices) -> Floats:
        """Return the bounds of the solid at each of some places, shape (n, 6)."""
        found: Floats = self.faces.solid_bounds[self.kind[places]] + np.tile(self.shift[places], 2)
        return found

    @property
    def keys(self) -> set[tuple[str, str]]:
        """What may be off in any of them."""
        return self.kinds.keys

    @cached_property
    def owners(self) -> Lists:
        """The options of which each place is a part."""
        option = np.repeat(np.arange(self.size), np.diff(self.starts))
        order = np.argsort(self.held, kind="stable")
        starts = np.searchsorted(self.held[order], np.arange(len(self) + 1))
        return Lists(option[order].astype(np.intp), starts.astype(np.intp))


MOST_SHIFTS = 2**31
"""A place is one number, of its solid and how far that is shifted, of which there are millions."""


class Gathering:
    """Gathers the solids of options one after the other, each place once."""

    def __init__(self, kinds: Kinds) -> None:
        self.kinds = kinds
        self._shifts: dict[Vec, int] = {}
        self._places: dict[int, int] = {}
        self._held, self._starts = array("i"), array("q", [0])

    def add(self, option: Iterable[tuple[int, Vec]]) -> None:
        """Take in the solids of the next option, by number, each with its shift."""
        for kind, shift in option:
            place = kind * MOST_SHIFTS + self._shifts.setdefault(shift, len(self._shifts))
            self._held.append(self._places.setdefault(place, len(self._places)))
        self._starts.append(len(self._held))

    def tolerant(self) -> Tolerant:
        """Return all that were gathered, the places in the order of their solids."""
        shifts = np.array(list(self._shifts), dtype=np.float64).reshape(-1, 3)
        places = np.fromiter(self._places, dtype=np.int64, count=len(self._places))
        order = np.argsort(places)
        number = np.empty(len(order), dtype=np.int32)
        number[order] = np.arange(len(order), dtype=np.int32)
        kind, shift = (part.astype(np.intp) for part in np.divmod(places[order], MOST_SHIFTS))
        held = number[np.array(self._held, dtype=np.int32)]
        starts = np.array(self._starts, dtype=np.intp)
        return Tolerant(Faces(self.kinds), kind, shifts[shift], held, starts)


def vec_of(row: Floats) -> Vec:
    return (float(row[0]), float(row[1]), float(row[2]))
