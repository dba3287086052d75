"""What a step of a session in an odd room is drawn from: figures, places, parts, what stands."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

from catalog.enclosure import Zone
from catalog.parts import Fitting, Part, part_cells
from geometry.layout import Layout, Side
from geometry.placement import SIDES

Edit = Callable[[Layout], Layout]

LONG = Fitting(id="long", name="Long fitting", length_mm=40, diameter_mm=18, hand_mm=10)
SHORT = Fitting(id="short", name="Short fitting", length_mm=12, diameter_mm=18, hand_mm=6)


@dataclass(frozen=True)
class Draws:
    """Draws from some parts and from what a layout holds."""

    random: Random
    parts: tuple[Part, ...]

    def mm(self, least: float, most: float) -> float:
        return round(self.random.uniform(least, most), 1)

    def point(self) -> tuple[float, float, float]:
        return self.mm(-5, 200), self.mm(-5, 150), self.mm(-5, 190)

    def zone_place(self, layout: Layout) -> tuple[Zone, Side, str]:
        """Return a zone, a side of it that takes layers, and one of its cells."""
        zone = self.random.choice(layout.enclosure.zones)
        sides = [side for side in SIDES if zone.side(side) is not None]
        return zone, self.random.choice(sides), self.random.choice(zone.cells).id

    def stackable(self) -> Part:
        return self.random.choice([part for part in self.parts if part_cells(part)])

    def placed(self, layout: Layout) -> str | None:
        return self.one_of((*item_ids(layout), *(one.id for one in layout.free)))

    def item(self, layout: Layout) -> str | None:
        return self.one_of(item_ids(layout))

    def stack(self, layout: Layout) -> str | None:
        return self.one_of([one.id for one in layout.stacks])

    def free(self, layout: Layout) -> str | None:
        return self.one_of([one.id for one in layout.free])

    def one_of(self, ids: Sequence[str]) -> str | None:
        return self.random.choice(ids) if ids else None


def item_ids(layout: Layout) -> list[str]:
    """Return the ids of all items of stacks."""
    layers = (layer for one in layout.stacks for layer in (*one.inner, *one.outer))
    return [item.id for layer in layers for item in layer.items]


Maker = Callable[[Draws, Layout], Edit | None]
"""Draws an edit of a layout; None where it is not possible there."""
