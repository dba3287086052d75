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

BYTES_AN_OPTION: Mapping[Judging, int] = {"nominal": 2_000, "worst case": 5_000}
"""What a listed option takes at most with its tables and answers (bytes), an estimate: measured in
the largest enclosure it was 1,240 as drawn, 334,000 being listed, and 4,200 by the worst case,
117,000 being listed, until some of the pairs of zones were judged."""

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
        most = most_listed("nominal")
        for placed, count in lister.counted():
            key = ((slot_range(placed, 0), slot_range(placed, 1)), tuple(lister.slides_mm))
            self.stacks[key] += count
            self.placed.setdefault(key, placed)
            self.least += count * len(slide_steps(placed, 1))
            if self.least > most:
                may = most_listed(self.judge)
                told = f"more than {most:,}"
                raise TooManyListed(told, may, 0, 0, MOST_BYTES, beside=self.beside)

    def listed(self, steps: int) -> int:
        """Return how many options so many slides along each slot give."""
        return self.bare + sum(
            count * len(slide_steps(self.placed[key], steps, key[1]))
            for key, count in self.stacks.items()
        )

    def _most_slides(self, below: int, judge: Judging) -> int:
        """Return the most slides that take no more than there is, odd and below; 0 where none."""
        odd = range(below - 1 - below % 2, 0, -2)
        return next((n for n in odd if has_room(self.listed(n), judge)), 0)

    def need_room(self, steps: int) -> None:
        """Raise TooManyListed where so many slides along each slot take more than there is."""
        listed = self.listed(steps)
        if has_room(listed, self.judge):
            return
        as_drawn = 0
        if self.judge == "worst case":
            fits = has_room(listed, "nominal")
            as_drawn = steps if fits else self._most_slides(steps, "nominal")
        slides = self._most_slides(steps, self.judge)
        most = most_listed(self.judge)
        raise TooManyListed(f"{listed:,}", most, slides, as_drawn, MOST_BYTES, beside=self.beside)


def most_listed(judge: Judging) -> int:
    """Return how many options may be listed."""
    return MOST_BYTES // BYTES_AN_OPTION[judge]


def has_room(listed: int, judge: Judging) -> bool:
    """Whether so many options take no more memory than there is."""
    return listed <= most_listed(judge)
