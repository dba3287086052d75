"""The room that options leave along their stacks and beside them, by what stands around them.

Of obstacles whose states are chosen it is not settled where they stand, so that what is left is
told for each choice of their states, in as far as it depends on that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from math import inf, prod

import numpy as np

from geometry.layout import Side
from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.solid import Role, Solid
from geometry.placement import ZoneFrame
from geometry.search.fault import SearchError
from geometry.search.judging.items_left import ItemsLeft
from geometry.search.judging.left_by_states import LeftByStates
from geometry.search.judging.nominal import left_mm
from geometry.search.judging.room import Room, least_reach_mm, reach_mm
from geometry.search.judging.standing import OPEN, OPTIONS_AT_ONCE, OUTER, by_side
from geometry.search.judging.units import Makeup, Units, UnitSet
from geometry.search.long_work import Steps
from geometry.uncovered_prisms import uncovered_prisms

MOST_CHOICES = 64
"""So many choices of states around one zone a search takes, of those that what is left depends on;
six obstacles with two states each, all of them before the stacks of one zone, have that many."""


@dataclass(frozen=True, eq=False)
class Reach:
    """How far each unit or piece could move before it meets something: along its stack, along u.

    `ahead` and `back` are the two ways along u (mm); infinite where nothing is met.
    """

    along: Floats
    ahead: Floats
    back: Floats

    @classmethod
    def to(cls, units: Units, frame: ZoneFrame, along: Units, beside: Units) -> Reach:
        """Measure to what is met along the stacks, and to what is met beside them."""
        out = [np.full(len(units), inf) for _ in range(3)]
        for side, rows in by_side(units):
            hard = rows[units.hard[rows]]
            way = frame.out_of_plate(side)
            out[0][hard] = least_reach_mm(units.some(hard), along, way)
        hard, u = np.flatnonzero(units.hard), frame.pose.x
        for found, way in zip(out[1:], (u, -u), strict=True):
            found[hard] = least_reach_mm(units.some(hard), beside, way)
        return cls(*out)

    def least(self, other: Reach) -> Reach:
        """Return how far each could move before it meets something of either."""
        return Reach(
            np.minimum(self.along, other.along),
            np.minimum(self.ahead, other.ahead),
            np.minimum(self.back, other.back),
        )

    def of_pieces(self, makeup: Makeup) -> Reach:
        """Return how far each piece could move, given how far its units could."""
        pieces = makeup.pieces
        return Reach(*(pieces.least(one) for one in (self.along, self.ahead, self.back)))

    def same(self, other: Reach) -> bool:
        """Whether all is met as far off as of another."""
        mine, theirs = (self.along, self.ahead, self.back), (other.along, other.ahead, other.back)
        return all(np.array_equal(a, b) for a, b in zip(mine, theirs, strict=True))


@dataclass(frozen=True, eq=False)
class LeftOver:
    """What some options of one zone leave of a room, and of obstacles in each of their states.

    `last` tells of the items of all options, one after the other, which are the last over a cell.
    `moved` has, for each choice of states of some obstacles, these obstacles in each of them.
    """

    makeup: Makeup
    last: Bools
    frame: ZoneFrame
    room: Room
    moved: Sequence[Sequence[Room]]

    def by_states(self) -> Steps[LeftByStates]:
        """Return in steps what is left in each choice of states: of those that make no odds once.

        Raises SearchError where it depends on more choices than a search takes.
        """
        telling = []
        for number in range(len(self.moved)):
            telling.append(self._telling(number))
            yield 0.0
        shape = tuple(max(1, len(some)) for some in telling)
        if prod(shape) > MOST_CHOICES:
            raise SearchError(_too_many(self.frame.zone.id))
        choices = []
        for choice in product(*map(range, shape)):
            states = [some[k] for some, k in zip(telling, choice, strict=True) if some]
            choices.append((states, self._reach(states).of_pieces(self.makeup)))
            yield 0.0
        step = max(1, OPTIONS_AT_ONCE // len(choices))
        parts = []
        for first in range(0, max(1, self.makeup.size), step):
            some = slice(first, min(first + step, self.makeup.size))
            left = []
            for states, reach in choices:
                left.append(self._along(states, reach, some))
                yield first / max(1, self.makeup.size)
            ends = [self._beside(reach, some) for _, reach in choices]
            parts.append(LeftByStates.told(np.stack(left, axis=1), np.stack(ends, axis=1), shape))
        return LeftByStates.joined(parts)

    def _telling(self, number: int) -> list[tuple[int, int]]:
        """Return the states of some obstacles to look at: the first where all leave the same."""
        every = self._to_moved[number]
        # Where a depth is stated it counts what is met at all, before what is met first.
        whole = every if self._is_nominal else [self._to_room.least(one) for one in every]
        same = all(one.same(whole[0]) for one in whole)
        return [(number, k) for k in range(min(1, len(every)) if same else len(every))]

    @cached_property
    def _to_room(self) -> Reach:
        return Reach.to(self.makeup.units, self.frame, self._here, self.room.units)

    @cached_property
    def _to_moved(self) -> list[list[Reach]]:
        units = self.makeup.units
        return [
            [Reach.to(units, self.frame, one.units, one.units) for one in rooms]
            for rooms in self.moved
        ]

    @cached_property
    def _here(self) -> Units:
        """What stands within the walls."""
        return self.room.units.some(np.flatnonzero(~self.room.spread(self.room.beyond)))

    @cached_property
    def _to_beyond(self) -> Floats:
        """How far what meets nothing within the walls could move to what lies beyond them (mm)."""
        units, out = self.makeup.units, np.full(len(self.makeup.units), inf)
        beyond = self.room.units.some(np.flatnonzero(self.room.spread(self.room.beyond)))
        inside = (units.flags & OPEN) == 0
        for side, rows in by_side(units):
            lost = rows[(units.hard & inside & np.isinf(self._to_room.along))[rows]]
            out[lost] = least_reach_mm(units.some(lost), beyond, self.frame.out_of_plate(side))
        return self.makeup.pieces.least(out)

    @cached_property
    def _nominal(self) -> Floats:
        """What the items leave of the nominal depth that the zone is given for (mm)."""
        return self.makeup.pieces.least(left_mm(self.makeup.units, self.frame))

    @property
    def _is_nominal(self) -> bool:
        return bool(np.isfinite(self._nominal).any())

    @cached_property
    def _outer(self) -> Bools:
        inner = ((self.makeup.units.flags & OUTER) == 0).astype(np.float64)
        found: Bools = self.makeup.pieces.least(inner) == 0
        return found

    def _reach(self, states: Sequence[tuple[int, int]]) -> Reach:
        found = self._to_room
        for number, state in states:
            found = found.least(self._to_moved[number][state])
        return found

    def _beside(self, reach: Reach, some: slice) -> Floats:
        """Return the room beside some stacks along u, at the end where there is more (mm).

        `reach` is that of the pieces.
        """
        options = self.makeup.options.part(some.start, some.stop)
        ends = (options.least(one) for one in (reach.ahead, reach.back))
        found: Floats = np.maximum(*ends)
        return found

    def _along(self, states: Sequence[tuple[int, int]], reach: Reach, some: slice) -> Floats:
        """Return how far some options could move along their stack, by their items (mm).

        `reach` is that of the pieces. As in `geometry.depths`: what lies beyond the walls counts
        for an item that meets nothing before, and a nominal depth for one that meets nothing at
        all, if it is the last over a cell or reaches farther than all that are.
        """
        pieces, every = self.makeup.pieces, self.makeup.options
        of_item = np.where(np.isinf(reach.along), self._to_beyond, reach.along)
        own, begin = every.part(some.start, some.stop), every.starts[some.start]
        is_last = self.last[begin : begin + len(own.numbers)]
        numbers = own.numbers
        left = ItemsLeft(of_item[numbers], self._nominal[numbers], self._outer[numbers])

        around = (self._here, *(self.moved[n][state].units for n, state in states))

        def meets(k: int, over: Sequence[int]) -> bool:
            above = [pieces.one(numbers[m]) for m in over]
            return self._met_bare(pieces.one(numbers[k]), above, around)

        return left.least(own.starts, is_last, meets)

    def _met_bare(self, own: Indices, over: Sequence[Indices], around: Sequence[Units]) -> bool:
        """Whether what items over one leave bare of it meets anything along the stack."""
        units = self.makeup.units
        side: Side = "outer" if units.flags[own[0]] & OUTER else "inner"
        way = self.frame.out_of_plate(side)
        above, below = (units.some(n[units.hard[n]]) for n in (np.concatenate(over), own))
        covers = [Solid("over", "over", "over", Role.BODY, tuple(above.prisms))]
        bare = UnitSet()
        for prism in uncovered_prisms(list(below.prisms), covers, way):
            bare.number(prism, Role.BODY, "")
        found = bare.units()
        return any(np.isfinite(reach_mm(found, others, way)).any() for others in around)


def _too_many(zone: str) -> str:
    return (
        f'what is left before stacks on zone "{zone}" depends on more than {MOST_CHOICES:,} '
        "choices of states of obstacles (leave their states as they are, or search other zones)"
    )
