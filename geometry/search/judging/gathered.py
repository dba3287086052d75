"""What the options of one zone are made of, gathered as rows of numbers.

An option is made of items at one slide, and each of these of prisms. Items turn up in many stacks,
so each is gathered once for each place where it stands. Most options of a narrow room stand in
something, so they are sifted while they are gathered, and what does not stand is forgotten.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from geometry.measures.broadphase import Bools, Indices
from geometry.search.judging.units import Levels, Units, UnitSet
from geometry.search.listing.option_rows import ListedRows, Slide
from geometry.search.solving.lists import Lists


@dataclass
class _Rows:
    """The items of options, one after the other; of each whether it is the last over a cell."""

    numbers: array[int] = field(default_factory=lambda: array("i"))
    last: array[int] = field(default_factory=lambda: array("b"))
    starts: array[int] = field(default_factory=lambda: array("q", [0]))
    tight: array[int] = field(default_factory=lambda: array("b"))

    def add(self, items: Sequence[int], last: Sequence[bool], *, tight: bool) -> None:
        """Take in the next option."""
        self.numbers.extend(items)
        self.last.extend(last)
        self.starts.append(len(self.numbers))
        self.tight.append(tight)

    def extend(self, other: _Rows, options: Indices) -> None:
        """Take in some options of others."""
        some = other.items.some(options)
        self.starts.frombytes((some.starts[1:] + self.starts[-1]).astype(np.int64).tobytes())
        self.numbers.frombytes(some.numbers.tobytes())
        self.last.frombytes(other.last_of(options).astype(np.int8).tobytes())
        self.tight.frombytes(np.array(other.tight, dtype=np.int8)[options].tobytes())

    @property
    def items(self) -> Lists:
        return _lists(self.numbers, self.starts)

    def last_of(self, options: Indices) -> Bools:
        """Return which items of some options, one after the other, are the last over a cell."""
        last = Lists(np.array(self.last, dtype=np.int8), self.items.starts)
        return last.some(options).numbers.astype(bool)


@dataclass
class Gathered:
    """The options, their items and the prisms of these, each numbered as it is first seen.

    `options` are those that were sifted and stay.
    """

    options: ListedRows = field(default_factory=ListedRows)
    units: UnitSet = field(default_factory=UnitSet)
    _ways: dict[Slide, Slide] = field(default_factory=dict)
    _places: dict[object, dict[Slide, int]] = field(default_factory=dict)
    _units: array[int] = field(default_factory=lambda: array("i"))
    _unit_starts: array[int] = field(default_factory=lambda: array("q", [0]))
    _rows: _Rows = field(default_factory=_Rows)
    _new: list[tuple[int, Slide]] = field(default_factory=list)
    _new_rows: _Rows = field(default_factory=_Rows)
    _unit_levels: Levels = field(default_factory=lambda: np.zeros(0, dtype=np.uint8))

    def places(self, what: object) -> dict[Slide, int]:
        """Return the numbers of an item by how far it is slid on; `what` tells it from all others.

        A place that is not there yet is put in by `new_item`.
        """
        return self._places.setdefault(what, {})

    def new_item(self, places: dict[Slide, int], by: Slide, units: Iterable[int]) -> int:
        """Take in an item at one more place with its `units`; return its number there."""
        number = places[self._ways.setdefault(by, by)] = len(self._unit_starts) - 1
        self._units.extend(units)
        self._unit_starts.append(len(self._units))
        return number

    def keep(
        self,
        stack: int,
        to: Slide,
        items: Sequence[int],
        last: Sequence[bool],
        *,
        tight: bool,
    ) -> None:
        """Take in an option: its stack by number and its slide, its items, and which are the last.

        Of each item that is whether it is the last over a cell. `tight` tells that the rules of its
        stack call it so.
        """
        self._new.append((stack, to))
        self._new_rows.add(items, last, tight=tight)

    def forget(self) -> None:
        """Forget by what the parts of options were told apart: their rows of numbers stay."""
        self.units = UnitSet()
        self._places.clear()

    @property
    def to_sift(self) -> int:
        """How many options were taken in since they were sifted."""
        return len(self._new)

    def sift(self, levels: Callable[[Units], Levels], most: int) -> None:
        """Forget the options that were taken in with a unit whose level is above `most`."""
        known = len(self._unit_levels)
        self._unit_levels = np.append(self._unit_levels, levels(self.units.units(known)))
        of_items = self._new_rows.items.of_used()
        pieces = self.pieces.some(of_items[0]).worst(self._unit_levels[:, None])
        stay = np.flatnonzero(of_items[1].worst(pieces)[:, 0] <= most)
        for k in stay.tolist():
            self.options.add(*self._new[k])
        self._rows.extend(self._new_rows, stay)
        self._new, self._new_rows = [], _Rows()

    @property
    def pieces(self) -> Lists:
        """The units of each item."""
        return _lists(self._units, self._unit_starts)

    @property
    def items(self) -> Lists:
        """The items of each option."""
        return self._rows.items

    def last_of(self, options: Indices) -> Bools:
        """Return which items of some options, one after the other, are the last over a cell."""
        return self._rows.last_of(options)

    @property
    def tight(self) -> Bools:
        """Which options the rules of their stack call tight."""
        return np.array(self._rows.tight, dtype=bool)


def _lists(numbers: array[int], starts: array[int]) -> Lists:
    return Lists(np.array(numbers, dtype=np.int32), np.array(starts, dtype=np.intp))
