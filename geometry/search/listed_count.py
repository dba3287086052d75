"""How many options a search would list, before any is judged, and how many would be too many."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from geometry.placement import Placed
from geometry.search.fault import TooManyListed
from geometry.search.judging.alone import slide_steps
from geometry.search.listing.option import Option
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
    """The stacks of all zones, gathered by the slots that their slides are listed in."""

    bare: int = 0
    foreseen: int = 0
    stacks: Counter[tuple[Slots, Slides]] = field(default_factory=Counter)
    placed: dict[tuple[Slots, Slides], Sequence[Placed]] = field(default_factory=dict)

    def foresee(self, lister: ZoneLister) -> None:
        """Count what one zone gives at least, one slide each, before any of it is placed.

        Raises TooManyListed where it is past all bounds, so that no slides would do.
        """
        most = most_listed("nominal")
        self.foreseen += lister.stacked(most)
        if self.foreseen > most:
            beside = lister.wishes.side_by_side
            raise TooManyListed(f"more than {most:,}", most, 0, 0, MOST_BYTES, beside=beside)

    def add(self, lister: ZoneLister, option: Option) -> None:
        """Take in an option before it is slid."""
        if option.base is None:
            self.bare += 1
            return
        placed = lister.placed(option.base)
        key = ((slot_range(placed, 0), slot_range(placed, 1)), tuple(lister.slides_mm))
        self.stacks[key] += 1
        self.placed.setdefault(key, placed)

    def listed(self, steps: int) -> int:
        """Return how many options so many slides along each slot give."""
        return self.bare + sum(
            count * len(slide_steps(self.placed[key], steps, key[1]))
            for key, count in self.stacks.items()
        )

    def most_slides(self, below: int, judge: Judging) -> int:
        """Return the most slides that take no more than there is, odd and below; 0 where none."""
        odd = range(below - 1 - below % 2, 0, -2)
        return next((n for n in odd if has_room(self.listed(n), judge)), 0)

    def need_room(self, steps: int, judge: Judging, *, beside: bool) -> None:
        """Raise TooManyListed where so many slides along each slot take more than there is.

        `beside` tells that several side by side on a zone are among what is listed.
        """
        listed = self.listed(steps)
        if has_room(listed, judge):
            return
        as_drawn = 0
        if judge == "worst case":
            fits = has_room(listed, "nominal")
            as_drawn = steps if fits else self.most_slides(steps, "nominal")
        slides = self.most_slides(steps, judge)
        most = most_listed(judge)
        raise TooManyListed(f"{listed:,}", most, slides, as_drawn, MOST_BYTES, beside=beside)


def most_listed(judge: Judging) -> int:
    """Return how many options may be listed."""
    return MOST_BYTES // BYTES_AN_OPTION[judge]


def has_room(listed: int, judge: Judging) -> bool:
    """Whether so many options take no more memory than there is."""
    return listed <= most_listed(judge)
