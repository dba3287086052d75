"""Stacks past the nominal depth of their zone: they stand only where something is ahead of them.

On the outer side of a wall the nominal depth of a zone limits a stack as long as nothing is known
to stand ahead of it: past it the stack is blocked. With something ahead the depth is measured, and
the stack is tight. One of several zones may put something there, which no table of pairs tells. So
such an option is listed once for each zone that may be the first to do so: with those before it
what lies ahead is forbidden, with that zone all else. No combination is then listed twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.layout import Layout
from geometry.measures.broadphase import Bools, bounds_array
from geometry.measures.pose import Way
from geometry.measures.prism import Prism
from geometry.measures.solid import Role
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import ZoneFrame, place_stack
from geometry.scene import Scene, placed_solids
from geometry.search.fault import SearchError
from geometry.search.judging.nominal import far_mm, left_mm, nominal_mm
from geometry.search.judging.room import Room, open_to_outside, reach_mm
from geometry.search.judging.standing import OUTER
from geometry.search.judging.units import Units, UnitSet
from geometry.search.judging.zone_options import ZoneOptions
from geometry.search.listed_anew import listed_anew
from geometry.search.listing.option import Option
from geometry.search.solving.zone_tables import ZoneTables
from geometry.uncovered_prisms import uncovered_prisms

MOST_LISTED = 100_000
"""Options of one zone past its nominal depth, each as often as it is listed, that a search takes.

Four items that each want something of their own ahead, of three zones, list an option 81 times.
"""

Ahead = Mapping[int, Bools]
"""For each other zone by number, which of its options have something ahead of one item."""


@dataclass(frozen=True, eq=False)
class PastNominal:
    """What stands already, and what each zone may put into the room beside its own options.

    `layout` has copies of all parts; `moved` has, for a zone of obstacle states, what stands in
    each of them.
    """

    layout: Layout
    scene: Scene
    room: Room
    moved: Mapping[int, Sequence[Room]]

    def settled(
        self, zones: Sequence[ZoneOptions], tables: ZoneTables
    ) -> tuple[list[ZoneOptions], ZoneTables]:
        """Return zones and tables in which what is past its nominal depth asks for what is ahead.

        What nothing can ever be ahead of is left out.
        """
        every = list(zones)
        for number, zone in enumerate(zones):
            lacking = self._lacking(zone)
            if lacking:
                every[number], tables = self._settled(every, tables, number, lacking)
        return every, tables

    def _lacking(self, zone: ZoneOptions) -> dict[int, list[Units]]:
        """Return the options past their nominal depth, with the items that have nothing ahead."""
        frame = self.scene.frames.get(zone.zone)
        if frame is None or nominal_mm(frame, "outer") is None:
            return {}
        units = zone.makeup.units
        outer = (units.flags & OUTER) > 0
        left = np.where(outer, left_mm(units, frame), np.inf)
        past = zone.makeup.least(left) < -LENGTH_EPS_MM
        found = {}
        for k in np.flatnonzero(past).tolist():
            lacking = list(self._nothing_ahead(zone.options[k], frame))
            if lacking:
                found[k] = lacking
        return found

    def _nothing_ahead(self, option: Option, frame: ZoneFrame) -> Iterator[Units]:
        """Yield what lies bare of the items past their nominal depth with nothing ahead of them."""
        assert option.stack is not None
        placed = [one for one in place_stack(self.layout, option.stack) if one.side == "outer"]
        way, most_mm = frame.out_of_plate("outer"), nominal_mm(frame, "outer")
        assert most_mm is not None
        hard = [[s for s in placed_solids(one, self.layout) if s.hard] for one in placed]
        far = [far_mm(bounds_array(solids), frame, "outer").max() for solids in hard]
        last = max(mm for one, mm in zip(placed, far, strict=True) if one.last_over)
        here = self.room.units.some(np.flatnonzero(~self.room.spread(self.room.beyond)))
        for one, solids, mm in zip(placed, hard, far, strict=True):
            if mm <= most_mm + LENGTH_EPS_MM or not open_to_outside(self.layout, one):
                continue
            if not one.last_over and mm <= last:
                continue  # the depth is asked of what is stacked over it
            covers = [
                s
                for other, theirs in zip(placed, hard, strict=True)
                if other.base_mm > one.base_mm + LENGTH_EPS_MM
                for s in theirs
            ]
            bare = _units(uncovered_prisms([p for s in solids for p in s.prisms], covers, way))
            if not np.isfinite(reach_mm(bare, here, way)).any():
                yield bare

    def _settled(
        self,
        zones: Sequence[ZoneOptions],
        tables: ZoneTables,
        number: int,
        lacking: Mapping[int, list[Units]],
    ) -> tuple[ZoneOptions, ZoneTables]:
        zone = zones[number]
        others = [other for other in range(len(zones)) if other != number]
        rows: list[int] = []
        more: list[Mapping[int, Bools]] = []
        known: dict[bytes, Bools] = {}  # equal marks are held once, as there may be very many
        ways = 0
        for k in range(len(zone.options)):
            if k not in lacking:
                rows.append(k)
                more.append({})
                continue
            ahead = [self._ahead(zones, number, item) for item in lacking[k]]
            for forbidden in _ways(ahead, others):
                ways += 1
                if ways > MOST_LISTED:
                    raise SearchError(_too_many(zone.zone))
                rows.append(k)
                more.append({z: known.setdefault(m.tobytes(), m) for z, m in forbidden.items()})
        return listed_anew(zones, tables, number, np.array(rows, dtype=np.intp), more)

    def _ahead(self, zones: Sequence[ZoneOptions], number: int, item: Units) -> Ahead:
        """Return which options of the other zones have something ahead of one item."""
        way = self.scene.frames[zones[number].zone].out_of_plate("outer")
        found: dict[int, Bools] = {}
        for other, zone in enumerate(zones):
            if other == number:
                continue
            if other in self.moved:
                rooms = self.moved[other]
                found[other] = np.array([_meets(item, r.units, way).any() for r in rooms])
            else:
                met = _meets(item, zone.makeup.units, way).astype(np.uint8)
                found[other] = zone.makeup.worst(met[:, None])[:, 0] > 0
        return {other: met for other, met in found.items() if met.any()}


def _too_many(zone: str) -> str:
    return (
        f'what may stand ahead of stacks past the stated depth of zone "{zone}" gives more than '
        f"{MOST_LISTED:,} ways to look at (search fewer zones or parts at once, list fewer slides, "
        "or leave out what is tight)"
    )


def _ways(ahead: Sequence[Ahead], others: Sequence[int]) -> Iterator[Mapping[int, Bools]]:
    """Yield what is forbidden of other zones, for each way to have something ahead of all items.

    In a way every item that is not met with another has one zone that is the first to have
    something ahead of it.
    """
    asked = _asked(ahead)

    def onward(at: int, forbidden: dict[int, Bools]) -> Iterator[Mapping[int, Bools]]:
        if at == len(asked):
            yield forbidden
            return
        here = asked[at]
        for mine in here:
            more = dict(forbidden)
            for other in others:
                if other in here and other <= mine:
                    ruled: Bools = ~here[other] if other == mine else here[other]
                    more[other] = np.logical_or(ruled, forbidden.get(other, False))
            if not any(every.all() for every in more.values()):
                yield from onward(at + 1, more)

    yield from onward(0, {})


def _asked(ahead: Sequence[Ahead]) -> list[Ahead]:
    """Return the items whose demand does not follow from another's: of equal ones the first.

    What is ahead of an item is ahead of every item that all that is ahead of this one is ahead of.
    """
    found: list[Ahead] = []
    for here in ahead:
        if not any(_within(other, here) for other in found):
            found = [*(other for other in found if not _within(here, other)), here]
    return found


def _within(one: Ahead, other: Ahead) -> bool:
    """Whether all that is ahead of one item is ahead of another."""
    return all(z in other and not (every & ~other[z]).any() for z, every in one.items())


def _units(prisms: Sequence[Prism]) -> Units:
    gathered = UnitSet()
    for prism in prisms:
        gathered.number(prism, Role.BODY, "")
    return gathered.units()


def _meets(item: Units, others: Units, way: Way) -> Bools:
    """Return which units an item would meet on its way along the stack, however far."""
    found: Bools = np.any(np.isfinite(reach_mm(item, others, way)), axis=0)
    return found
