"""The prisms of many options, each once, measured against each other by interval tests.

Options of a zone are made of few different prisms: the same fan in the same place turns up in
hundreds of them. So prisms are measured, not options: bounds decide boxes exactly and tell most
others apart, and only what bounds cannot decide goes to the exact measures.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice

import numpy as np
import numpy.typing as npt

from geometry.layout import Settings
from geometry.margins import role_margin_mm
from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.pose import Vec
from geometry.measures.prism import Prism
from geometry.measures.solid import HARD_ROLES, Role
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.judging.prism_rows import NO_SHIFT, PrismRows, Shapes
from geometry.search.solving.lists import Lists

CLEAR, TIGHT, BLOCKED = 0, 1, 2
"""Levels of a pair, as the checks judge it."""

Levels = npt.NDArray[np.uint8]

ROLES = tuple(Role)


@dataclass(frozen=True, eq=False)
class Units:
    """Different prisms with their roles; `owner` tells apart which belong to one part.

    `flags` are marks that whoever gathered them has set.
    """

    prisms: PrismRows
    role: Indices
    owner: Indices
    flags: Indices

    @property
    def bounds(self) -> Floats:
        """The bounds of each, shape (n, 6)."""
        return self.prisms.bounds

    @property
    def is_box(self) -> Bools:
        """Whether each is a box, which its bounds describe exactly."""
        return self.prisms.is_box

    @cached_property
    def hard(self) -> Bools:
        """Which fill their room."""
        return np.isin(self.role, [ROLES.index(role) for role in HARD_ROLES])

    def __len__(self) -> int:
        return len(self.prisms)

    def some(self, keep: Indices) -> Units:
        """Return some of them."""
        return Units(self.prisms.some(keep), self.role[keep], self.owner[keep], self.flags[keep])


class UnitSet:
    """Gathers prisms, each once for one role, owner and place, and numbers them."""

    def __init__(self) -> None:
        self._shapes: dict[tuple[Prism, Role, str, int], int] = {}
        self._shifts: dict[Vec, int] = {NO_SHIFT: 0}
        self._known: dict[int, int] = {}

    def number(
        self, prism: Prism, role: Role, owner: str, flags: int = 0, by: Vec = NO_SHIFT
    ) -> int:
        """Return the number of a prism that is moved, a new one where it has not been seen."""
        shape = self._shapes.setdefault((prism, role, owner, flags), len(self._shapes))
        shift = self._shifts.setdefault(by, len(self._shifts))
        return self._known.setdefault(shape * _PLACES + shift, len(self._known))

    def units(self, first: int = 0) -> Units:
        """Return all that was gathered, by number, or what comes from some number on."""
        owners: dict[str, int] = {}
        for _, _, owner, _ in self._shapes:
            owners.setdefault(owner, len(owners))
        some = islice(self._known, first, None)
        every = np.fromiter(some, dtype=np.intp, count=len(self._known) - first)
        shape, shift = np.divmod(every, _PLACES)
        told = [(ROLES.index(r), owners[o], flags) for _, r, o, flags in self._shapes]
        role, owner, flags = np.array(told, dtype=np.intp).reshape(-1, 3)[shape].T
        shifts = np.array(list(self._shifts), dtype=np.float64)
        prisms = PrismRows(Shapes.of([p for p, _, _, _ in self._shapes]), shape, shifts[shift])
        return Units(prisms, role, owner, flags)


_PLACES = 2**32
"""More places than a shape is listed at."""


@dataclass(frozen=True, eq=False)
class Makeup:
    """What each option is made of: of which pieces, and each of these of which units.

    Options are many, pieces few: the same fan at the same place is one of hundreds of options.
    """

    units: Units
    pieces: Lists
    options: Lists

    @classmethod
    def of(cls, units: Units, options: Sequence[Iterable[int]]) -> Makeup:
        """Gather the units of options that have a piece each."""
        pieces = Lists.of([list(dict.fromkeys(option)) for option in options])
        each = np.arange(len(options) + 1, dtype=np.intp)
        return cls(units, pieces, Lists(each[:-1].astype(np.int32), each))

    @classmethod
    def joined(cls, parts: Sequence[Makeup]) -> Makeup:
        """Return the options of several together, one after the other."""
        units = Units(
            PrismRows.joined([part.units.prisms for part in parts]),
            np.concatenate([part.units.role for part in parts]),
            np.concatenate([part.units.owner for part in parts]),
            np.concatenate([part.units.flags for part in parts]),
        )
        pieces = Lists.joined([part.pieces for part in parts], [len(part.units) for part in parts])
        made_of = [part.options for part in parts]
        return cls(units, pieces, Lists.joined(made_of, [len(part.pieces) for part in parts]))

    @property
    def size(self) -> int:
        """How many options there are."""
        return len(self.options)

    @property
    def around(self) -> Floats:
        """The bounds of each piece, shape (n, 6); NaN of one without units."""
        out = np.full((len(self.pieces), 6), np.nan)
        filled = np.flatnonzero(np.diff(self.pieces.starts))
        if len(filled):
            bounds, starts = self.units.bounds[self.pieces.numbers], self.pieces.starts[:-1][filled]
            out[filled, :3] = np.minimum.reduceat(bounds[:, :3], starts, axis=0)
            out[filled, 3:] = np.maximum.reduceat(bounds[:, 3:], starts, axis=0)
        return out

    @property
    def lists(self) -> Lists:
        """The numbers of the units of each option, piece by piece: for few options only."""
        every = self.pieces.some(self.options.numbers)
        return Lists(every.numbers, every.starts[self.options.starts])

    def some(self, keep: Indices) -> Makeup:
        """Return some of the options, with the pieces and units that they still need."""
        used, options = self.options.some(keep).of_used()
        needed, pieces = self.pieces.some(used).of_used()
        return Makeup(self.units.some(needed), pieces, options)

    def of_option(self, option: int) -> Indices:
        """Return the numbers of the units of an option."""
        return self.pieces.some(self.options.one(option)).numbers

    def least(self, values: Floats) -> Floats:
        """Return for each option the least value of its units; infinite for an empty one."""
        return self.options.least(self.pieces.least(values))

    def worst(self, levels: Levels) -> Levels:
        """Return for each option the worst level of its units; `levels` has a row a unit."""
        return self.options.worst(self.pieces.worst(levels))


def role_margins(settings: Settings) -> Floats:
    """Return the gap that two roles must keep (mm), by number; NaN where they are not judged."""
    out = np.zeros((len(ROLES), len(ROLES)))
    for i, a in enumerate(ROLES):
        for j, b in enumerate(ROLES):
            if Role.AIR in (a, b) or not (a in HARD_ROLES or b in HARD_ROLES):
                out[i, j] = np.nan
            elif a in HARD_ROLES and b in HARD_ROLES:
                out[i, j] = role_margin_mm(settings, a, b)
    return out


def interval_levels(a: Floats, b: Floats, need: object) -> Levels:
    """Return the level of every pair of boxes by their bounds: exact for boxes, never too clear.

    `need` is the gap to keep (mm), one figure or an array of the shape of the result, NaN where a
    pair is not judged. Room is shared when the intervals overlap by more than the length tolerance
    on every axis; otherwise the gap is the root of the squared gaps along the axes.
    """
    apart = np.full((len(a), len(b)), -np.inf)
    for k in range(3):
        gap = b[None, :, k] - a[:, None, k + 3]
        np.maximum(gap, a[:, None, k] - b[None, :, k + 3], out=gap)
        np.maximum(apart, gap, out=apart)
    wanted = np.broadcast_to(np.asarray(need, dtype=np.float64), apart.shape)
    level = np.zeros(apart.shape, dtype=np.uint8)
    level[(apart < -LENGTH_EPS_MM) & ~np.isnan(wanted)] = BLOCKED
    # Few are left that no single axis parts far enough; the squares are summed for them alone.
    i, j = np.nonzero((apart >= -LENGTH_EPS_MM) & (apart < wanted))
    squared = np.zeros(len(i))
    for k in range(3):
        gap = np.maximum(b[j, k] - a[i, k + 3], a[i, k] - b[j, k + 3])
        squared += np.maximum(gap, 0.0) ** 2
    reach = np.maximum(wanted[i, j] - LENGTH_EPS_MM, 0.0)
    tight = squared < reach * reach
    level[i[tight], j[tight]] = TIGHT
    return level
