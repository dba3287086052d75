"""Solids with all that may be off in them, as rows of numbers; each is made when it is asked for.

What may be off in a solid are functions and values that take tens of kilobytes, and a zone may have
tens of thousands of solids. What most is decided by are few numbers of each, so these are kept, and
the solids themselves only as far as they were asked for lately.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable, Sequence

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.judging.tolerant_kind import Kind
from geometry.search.judging.units import ROLES

Far = tuple[float, ...]
Make = Callable[[Sequence[Far]], tuple[Kind, ...]]
"""Makes the solids of one group, the same each time, from the bounds that each never passes."""

BOX = -1
"""Stands for the axis of a prism that has none of its own."""

GROUPS_KEPT = 100
"""So many groups of solids are kept at once, some tens of kilobytes each."""


class Kinds:
    """Solids where they were first placed, by number, gathered in groups that are made together."""

    def __init__(self, *forget: Callable[[], None]) -> None:
        self.keys: set[tuple[str, str]] = set()
        """What may be off in any of them."""
        self._forget = forget
        """What makes those who make the solids forget what solids have in common."""
        self._makes: list[Make] = []
        self._made: dict[int, tuple[Kind, ...]] = {}
        self._group, self._within = array("i"), array("i")
        self._role, self._outer, self._count = array("b"), array("b"), array("i")
        self._far, self._bounds = array("d"), array("d")
        self._prisms, self._axes = array("d"), array("b")

    @classmethod
    def of(cls, kinds: Sequence[Kind]) -> Kinds:
        """Return some solids that are held as they are."""
        own = cls()
        every = tuple(kinds)
        own.add(every, lambda _: every)
        return own

    @classmethod
    def joined(cls, parts: Sequence[Kinds]) -> Kinds:
        """Return the solids of several together, one after the other."""
        own = cls(*(forget for part in parts for forget in part._forget))
        for part in parts:
            own.keys |= part.keys
            own._group.extend(group + len(own._makes) for group in part._group)
            own._makes += part._makes
            for name in _ROWS:
                getattr(own, name).extend(getattr(part, name))
        return own

    def __len__(self) -> int:
        return len(self._group)

    def __getitem__(self, number: int) -> Kind:
        group = self._group[number]
        made = self._made.pop(group, None)
        if made is None:
            made = self._makes[group](self._far_of(number - self._within[number], group))
        self._keep(group, made)
        return made[self._within[number]]

    def add(self, kinds: Sequence[Kind], make: Make) -> range:
        """Take in the solids of one group, which `make` makes anew; return their numbers."""
        first, group = len(self), len(self._makes)
        for place, kind in enumerate(kinds):
            self._group.append(group)
            self._within.append(place)
            self._role.append(ROLES.index(kind.solid.role))
            self._outer.append(kind.outer)
            self._far.extend(kind.far)
            self._bounds.extend(kind.solid.bounds)
            self._count.append(len(kind.solid.prisms))
            for prism in kind.solid.prisms:
                self._prisms.extend(prism.bounds)
                self._axes.append(BOX if prism.is_box else prism.axis)
            self.keys.update(one.key for one in kind.deviations)
        self._makes.append(make)
        self._keep(group, tuple(kinds))
        return range(first, len(self))

    def forget(self) -> None:
        """Forget all solids, and what they were made of, until some are asked for again."""
        self._made.clear()
        for forget in self._forget:
            forget()

    def _far_of(self, first: int, group: int) -> list[Far]:
        """Return the bounds that the solids of a group, from the first on, never pass."""
        found = []
        while first < len(self) and self._group[first] == group:
            found.append(tuple(self._far[6 * first : 6 * first + 6]))
            first += 1
        return found

    def _keep(self, group: int, made: tuple[Kind, ...]) -> None:
        self._made[group] = made
        if len(self._made) > GROUPS_KEPT:
            del self._made[next(iter(self._made))]

    @property
    def role(self) -> Indices:
        """The number of the role of each."""
        return np.array(self._role, dtype=np.intp)

    @property
    def outer(self) -> Bools:
        """Which are on the outer side of a plate."""
        return np.array(self._outer, dtype=bool)

    @property
    def far(self) -> Floats:
        """The bounds that each never passes, shape (n, 6)."""
        return np.array(self._far, dtype=np.float64).reshape(-1, 6)

    @property
    def bounds(self) -> Floats:
        """The bounds of each, shape (n, 6)."""
        return np.array(self._bounds, dtype=np.float64).reshape(-1, 6)

    @property
    def count(self) -> Indices:
        """How many prisms each has."""
        return np.array(self._count, dtype=np.intp)

    @property
    def prism_bounds(self) -> Floats:
        """The bounds of all their prisms, one after the other, shape (n, 6)."""
        return np.array(self._prisms, dtype=np.float64).reshape(-1, 6)

    @property
    def prism_axes(self) -> Indices:
        """The axes of all their prisms, one after the other, BOX for boxes."""
        return np.array(self._axes, dtype=np.intp)


_ROWS = (
    "_within", "_role", "_outer", "_count", "_far", "_bounds", "_prisms", "_axes",
)  # fmt: skip
