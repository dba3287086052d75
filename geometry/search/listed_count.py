"""How many options a search would list, before any is judged, and how many would be too many."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from catalog.parts import Pump, PumpReservoir
from geometry.placement import Placed
from geometry.search.fault import TooManyListed
from geometry.search.judging.alone import slide_steps
from geometry.search.listing.zone_lister import ZoneLister
from geometry.search.wishes import Judging
from geometry.slots import slot_range

BYTES_AT_ALL = 200_000_000
"""What a search takes however little it lists (bytes), an estimate: 72 MB for the program, 100 MB
for what is remembered while it counts, and what is looked at some at a time."""

BYTES_AN_OPTION: Mapping[Judging, int] = {"nominal": 1_000, "worst case": 2_000}
"""What a listed option takes at most besides, with its tables and answers (bytes), an estimate. In
a small room where most of them stand one more takes 270 as drawn and 870 by the worst case."""

BYTES_WITH_A_PUMP: Mapping[Judging, int] = {"nominal": 100, "worst case": 120}
"""The same of an option that is another's with a pump on it, whose other solids it shares, where
three of ten stand, as in the largest enclosure. Where more do, the search ends in words once it
holds too much (`held_memory`)."""

BYTES_A_STACK = 1_100
"""What each different stack among those without a pump takes besides, an estimate on the safe side:
49,000 stacks side by side on a zone, at one slide each, took some 900 bytes each with their
options, as drawn."""

MOST_BYTES = 1_000_000_000
"""So much memory a search may take."""

Slides = tuple[tuple[float, float], ...]
Slots = tuple[tuple[float, float] | None, tuple[float, float] | None]


class Alike(NamedTuple):
    """What is listed at as many slides each and takes as much: slots, slides, whether pumped."""

    slots: Slots
    slides: Slides
    pumped: bool


@dataclass
class ListedCount:
    """The stacks of all zones, gathered by the slots that their slides are listed in.

    `judge` is by what they will be judged, `beside` whether several side by side on a zone are
    among them.
    """

    judge: Judging
    beside: bool
    bare: int = 0
    least: int = 0
    least_bytes: int = 0
    stacks: Counter[Alike] = field(default_factory=Counter)
    placed: dict[Alike, Sequence[Placed]] = field(default_factory=dict)

    def add(self, lister: ZoneLister) -> None:
        """Take in the options of a zone that are not empty.

        Raises TooManyListed where there are too many by any judge with one slide each, so that no
        slides would do, as soon as that is so.
        """
        for placed, count in lister.counted():
            slots = slot_range(placed, 0), slot_range(placed, 1)
            pumped = any(isinstance(one.part, Pump | PumpReservoir) for one in placed)
            key = Alike(slots, tuple(lister.slides_mm), pumped)
            self.stacks[key] += count
            self.placed.setdefault(key, placed)
            least = count * len(slide_steps(placed, 1))
            self.least += least
            self.least_bytes += least * self._bytes(key, "nominal")
            if self.least_bytes > self._room():
                told = f"{self.least:,} and more"
                raise TooManyListed(told, 0, 0, 0, MOST_BYTES, beside=self.beside)

    def listed(self, steps: int) -> int:
        """Return how many options so many slides along each slot give."""
        return self.bare + sum(self._slid(steps).values())

    def need_room(self, steps: int) -> None:
        """Raise TooManyListed where so many slides along each slot take more than there is."""
        if self._has_room(steps, self.judge):
            return
        as_drawn = 0
        if self.judge == "worst case":
            fits = self._has_room(steps, "nominal")
            as_drawn = steps if fits else self._most_slides(steps, "nominal")
        slides = self._most_slides(steps, self.judge)
        listed = self.listed(steps)
        # As many of these as there is room for, of each kind the same share.
        most = max(self._room() * listed // self._need(steps, self.judge), 0)
        raise TooManyListed(f"{listed:,}", most, slides, as_drawn, MOST_BYTES, beside=self.beside)

    def _most_slides(self, below: int, judge: Judging) -> int:
        """Return the most slides that take no more than there is, odd and below; 0 where none."""
        odd = range(below - 1 - below % 2, 0, -2)
        return next((n for n in odd if self._has_room(n, judge)), 0)

    def _has_room(self, steps: int, judge: Judging) -> bool:
        """Whether so many slides of these stacks take no more memory than there is."""
        return self._need(steps, judge) <= self._room()

    def _need(self, steps: int, judge: Judging) -> int:
        """Return what the options of so many slides take (bytes), beside their stacks."""
        slid = self._slid(steps).items()
        bare = self.bare * BYTES_AN_OPTION[judge]
        return bare + sum(count * self._bytes(key, judge) for key, count in slid)

    def _slid(self, steps: int) -> Mapping[Alike, int]:
        """Return how many options so many slides give, by what is alike."""
        return {
            key: count * len(slide_steps(self.placed[key], steps, key.slides))
            for key, count in self.stacks.items()
        }

    def _room(self) -> int:
        """Return what the options of these stacks may take (bytes); negative where nothing."""
        plain = sum(count for key, count in self.stacks.items() if not key.pumped)
        return MOST_BYTES - BYTES_AT_ALL - BYTES_A_STACK * plain

    @staticmethod
    def _bytes(key: Alike, judge: Judging) -> int:
        return (BYTES_WITH_A_PUMP if key.pumped else BYTES_AN_OPTION)[judge]
