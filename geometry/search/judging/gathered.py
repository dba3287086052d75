"""What the options of one zone are made of, gathered as rows of numbers.

An option is made of items at one slide, and each of these of prisms. Items turn up in many stacks,
so each is gathered once for each place where it stands.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from geometry.measures.broadphase import Bools, Indices
from geometry.search.judging.units import Lists, UnitSet
from geometry.search.listing.option import Option
from geometry.search.listing.option_rows import OptionList, Slide


@dataclass
class Gathered:
    """The options, their items and the prisms of these, each numbered as it is first seen."""

    options: OptionList = field(default_factory=OptionList)
    units: UnitSet = field(default_factory=UnitSet)
    _ways: dict[Slide, Slide] = field(default_factory=dict)
    _places: dict[object, dict[Slide, int]] = field(default_factory=dict)
    _units: array[int] = field(default_factory=lambda: array("i"))
    _unit_starts: array[int] = field(default_factory=lambda: array("q", [0]))
    _items: array[int] = field(default_factory=lambda: array("i"))
    _last: array[int] = field(default_factory=lambda: array("b"))
    _item_starts: array[int] = field(default_factory=lambda: array("q", [0]))
    _tight: array[int] = field(default_factory=lambda: array("b"))

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
        option: Option,
        to: Slide,
        items: Sequence[int],
        last: Sequence[bool],
        *,
        tight: bool,
    ) -> None:
        """Take in an option at a slide: its items, and of each whether it is the last over a cell.

        `tight` tells that the rules of its stack call it so.
        """
        self.options.add(option, to)
        self._items.extend(items)
        self._last.extend(last)
        self._item_starts.append(len(self._items))
        self._tight.append(tight)

    @property
    def pieces(self) -> Lists:
        """The units of each item."""
        return _lists(self._units, self._unit_starts)

    @property
    def items(self) -> Lists:
        """The items of each option."""
        return _lists(self._items, self._item_starts)

    def last_of(self, options: Indices) -> Bools:
        """Return which items of some options, one after the other, are the last over a cell."""
        every = np.arange(len(self._last), dtype=np.intp)
        last: Bools = np.array(self._last, dtype=bool)
        return last[Lists(every, self.items.starts).some(options).numbers]

    @property
    def tight(self) -> Bools:
        """Which options the rules of their stack call tight."""
        return np.array(self._tight, dtype=bool)


def _lists(numbers: array[int], starts: array[int]) -> Lists:
    every: tuple[Indices, Indices] = tuple(
        np.array(one, dtype=np.intp) for one in (numbers, starts)
    )  # type: ignore[assignment]
    return Lists(*every)
