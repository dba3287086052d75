"""How many options a search would list, before any is judged, and how many would be too many."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from geometry.placement import Placed
from geometry.search.fault import TooManyListed
from geometry.search.judging.alone import slide_steps
from geometry.search.listing.zone_lister import ZoneLister
from geometry.search.wishes import Judging
from geometry.slots import slot_range

BYTES_AT_ALL = 200_000_000
"""What a search takes however little it lists (bytes), an estimate: 72 MB for the program, 100 MB
for what is remembered while it counts, and what is looked at some at a time."""

BYTES_AN_OPTION: Mapping[Judging, int] = {"nominal": 1_300, "worst case": 2_500}
"""What a listed option takes at most besides, with its tables and answers (bytes), an estimate. In
a small room where most of them stand one more takes 570 as drawn and 910 by the worst case; 195,000
of another enclosure, of which 13,000 stand, took 275 MB in all by the worst case."""

BYTES_A_STACK = 1_100
"""What each different stack among them takes besides, an estimate on the safe side: 49,000 stacks
side by side on a zone, at one slide each, took some 900 bytes each with their options, as drawn."""

MOST_BYTES = 1_000_000_000
"""So much memory a search may take."""

Slides = tuple[tuple[float, float], ...]
Slots = tuple[tuple[float, float] | None, tuple[float, float] | None]


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
    stacks: Counter[tuple[Slots, Slides]] = field(default_factory=Counter)
    placed: dict[tuple[Slots, Slides], Sequence[Placed]] = field(default_factory=dict)

    def add(self, lister: ZoneLister) -> None:
        """Take in the options of a zone that are not empty.

        Raises TooManyListed where there are too many by any judge with one slide each, so that no
        slides would do, as soon as that is so.
        """
        for placed, count in lister.counted():
            key = ((slot_range(placed, 0), slot_range(placed, 1)), tuple(lister.slides_mm))
            self.stacks[key] += count
            self.placed.setdefault(key, placed)
            self.least += count * len(slide_steps(placed, 1))
            if not self._has_room(self.least, "nominal"):
                told = f"{self.least:,} and more"
                raise TooManyListed(told, 0, 0, 0, MOST_BYTES, beside=self.beside)

    def listed(self, steps: int) -> int:
        """Return how many options so many slides along each slot give."""
        return self.bare + sum(
            count * len(slide_steps(self.placed[key], steps, key[1]))
            for key, count in self.stacks.items()
        )

    def _most_slides(self, below: int, judge: Judging) -> int:
        """Return the most slides that take no more than there is, odd and below; 0 where none."""
        odd = range(below - 1 - below % 2, 0, -2)
        return next((n for n in odd if self._has_room(self.listed(n), judge)), 0)

    def need_room(self, steps: int) -> None:
        """Raise TooManyListed where so many slides along each slot take more than there is."""
        listed = self.listed(steps)
        if self._has_room(listed, self.judge):
            return
        as_drawn = 0
        if self.judge == "worst case":
            fits = self._has_room(listed, "nominal")
            as_drawn = steps if fits else self._most_slides(steps, "nominal")
        slides = self._most_slides(steps, self.judge)
        most = max(self._room_for(self.judge), 0)
        raise TooManyListed(f"{listed:,}", most, slides, as_drawn, MOST_BYTES, beside=self.beside)

    def _has_room(self, listed: int, judge: Judging) -> bool:
        """Whether so many options of these stacks take no more memory than there is."""
        return self._room_for(judge) >= listed

    def _room_for(self, judge: Judging) -> int:
        """Return how many options of these stacks may be listed; negative where not even these."""
        of_stacks = BYTES_A_STACK * sum(self.stacks.values())
        return (MOST_BYTES - BYTES_AT_ALL - of_stacks) // BYTES_AN_OPTION[judge]
