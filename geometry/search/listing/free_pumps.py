"""A pump on its own feet, at listed places on the floor: the middle, the corners, the edges.

Listed are three places along each way of the floor, with the pump's length along either: few
enough to be looked at, and spread enough to say whether there is a place at all. It is held by a
clamp, since where its feet may be drilled for is not known.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from catalog.model import Direction
from catalog.parts import Pump, PumpReservoir
from geometry.layout import FreePart, Held, Layout
from geometry.measures.broadphase import Floats
from geometry.placement import place_free
from geometry.scene import placed_solids
from geometry.search.judging.room import Room, inside_cavity
from geometry.search.judging.standing import INSIDE, Footing, short_with, worst_with
from geometry.search.judging.tolerant import tolerant_of, worst_case_counts
from geometry.search.judging.units import CLEAR, TIGHT, Makeup, UnitSet, role_margins
from geometry.search.judging.zone_options import ZoneOptions
from geometry.search.listing.option import FREE, Option
from geometry.search.listing.option_rows import Options
from geometry.search.long_work import run_through
from geometry.search.wishes import Wishes

WALL_ROOM_MM = 6.0
"""How far beyond the margin a pump is listed from the walls: room for what may be off."""

FLOOR = "floor"


@dataclass(frozen=True)
class FreeLister:
    """Lists pumps on the floor of a layout that has copies of their parts."""

    layout: Layout
    wishes: Wishes
    part_id: str

    def options(self, room: Room) -> Iterator[Option]:
        """Yield none at all first, then each pump at each place."""
        yield Option(FREE, "empty")
        cavity = room.scene.walls.cavity
        ways: tuple[Direction, Direction] = ("+x", "+y")
        for pump in self.wishes.pumps:
            for x_to in ways:
                yield from self._places(pump, x_to, cavity)

    def _places(
        self, pump: Pump | PumpReservoir, x_to: Direction, cavity: tuple[float, ...]
    ) -> Iterator[Option]:
        at_origin = self._part(pump, x_to, (0.0, 0.0, 0.0))
        bounds = [s.bounds for s in placed_solids(place_free(self.layout, at_origin), self.layout)]
        keep = self.layout.settings.margin_mm + WALL_ROOM_MM
        along = []
        for k in (0, 1):
            least = cavity[k] + keep - min(b[k] for b in bounds)
            most = cavity[k + 3] - keep - max(b[k + 3] for b in bounds)
            middle = round((least + most) / 2, 3)
            along.append([middle] if most <= least else [round(least, 3), middle, round(most, 3)])
        up = round(cavity[2] - min(b[2] for b in bounds), 6)
        for x in along[0]:
            for y in along[1]:
                yield Option(
                    FREE,
                    "pump on the floor",
                    parts=1,
                    pump=True,
                    free=self._part(pump, x_to, (x, y, up)),
                )

    def _part(
        self, pump: Pump | PumpReservoir, x_to: Direction, at_mm: tuple[float, float, float]
    ) -> FreePart:
        held = Held(by="clamp", on=FLOOR)
        return FreePart(
            id=self.part_id,
            part=pump.id,
            at_mm=at_mm,
            x_to="+x" if x_to == "+x" else "+y",
            held=held,
        )


def free_options(room: Room, lister: FreeLister) -> ZoneOptions:
    """Return the pumps on the floor that stand by themselves, with none at all first."""
    options = Options.of(lister.options(room))
    gathered, made_of = UnitSet(), []
    for option in options:
        numbers = []
        if option.free is not None:
            one = place_free(lister.layout, option.free)
            for solid in placed_solids(one, lister.layout):
                flags = INSIDE * inside_cavity(solid, room.scene)
                numbers += [gathered.number(p, solid.role, one.id, flags) for p in solid.prisms]
        made_of.append(numbers)
    makeup = Makeup.of(gathered.units(), made_of)
    margins = role_margins(lister.layout.settings)
    footing = Footing(FLOOR)
    met = worst_with(makeup.units, room, footing, margins)
    level = makeup.worst(met[:, None])[:, 0]
    most = TIGHT if lister.wishes.tight_allowed else CLEAR
    keep = np.flatnonzero(level <= most).astype(np.intp)
    tolerant = None
    if worst_case_counts(lister.layout, lister.wishes):
        tolerant = run_through(tolerant_of(lister.layout, room.scene, options.some(keep)))
        short = run_through(short_with(tolerant, room, footing, margins))
        fit = np.flatnonzero(~short).astype(np.intp)
        keep, tolerant = keep[fit], tolerant.only(fit)
    open_mm: Floats = np.full(len(keep), np.inf)
    return ZoneOptions(
        FREE,
        options.some(keep),
        makeup.some(keep),
        open_mm,
        open_mm,
        len(options),
        tolerant,
    )
