"""Stacks placed anew with one number off; layers with which several begin alike are placed once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from catalog.iso2768 import KnownDimension, dimension_of
from catalog.numbers import with_number
from catalog.parts import Part
from catalog.paths import length_at
from geometry.layout import Layout, Side, Stack
from geometry.placement import Laid, Placer
from geometry.stackup.part_deviations import off_by


@dataclass(frozen=True, eq=False)
class Restacked:
    """Places stacks of a layout, or of others with the same parts, enclosure and states."""

    layout: Layout
    _parts: dict[tuple[int, str, float], tuple[Part, Part]] = field(default_factory=dict)
    """For each part that was changed, which is kept with it, what it was changed to."""
    _dimensions: dict[str, KnownDimension] = field(default_factory=dict)
    _plates: dict[tuple[str, float], Placer] = field(default_factory=dict)

    def emptied(self) -> Restacked:
        """Return the same, without the layers that were placed."""
        return Restacked(self.layout, self._parts, self._dimensions)

    @cached_property
    def as_drawn(self) -> Placer:
        """What places stacks with nothing off."""
        return Placer(self.layout)

    def dimension(self, path: str) -> KnownDimension:
        """Return what is known of a number of the enclosure, looked up once."""
        if path not in self._dimensions:
            self._dimensions[path] = dimension_of(self.layout.enclosure, path)
        return self._dimensions[path]

    def with_part(
        self, stack: Stack, ids: frozenset[str], part: Part, path: str, side: Side, off_mm: float
    ) -> Iterator[Laid]:
        """Return how one side of a stack stands when a number of a part is off in some items."""
        key = (id(part), path, off_mm)
        if key not in self._parts:
            self._parts[key] = (part, off_by(part, path, off_mm))
        return self.as_drawn.stand(stack, side, dict.fromkeys(ids, self._parts[key][1]))

    def on_plate(self, stack: Stack, path: str, side: Side, off_mm: float) -> Iterator[Laid]:
        """Return how one side of a stack stands when a number of the enclosure is off."""
        key = (path, off_mm)
        if key not in self._plates:
            enclosure = self.layout.enclosure
            other = with_number(enclosure, path, length_at(enclosure, path) + off_mm)
            self._plates[key] = Placer(self.layout.but(enclosure=other))
        return self._plates[key].stand(stack, side)
