"""What a search is at: what it does at the moment, where, and how far that has come."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from geometry.search.told_figures import done_percent


class Doing(Enum):
    """What a search does, one after the other, in plain words."""

    SIZING = "seeing how much there is to try"
    LISTING = "putting stacks together"
    JUDGING = "checking stacks"
    PAIRING = "checking what goes together"
    SETTLING = "working out what is left free"
    RANKING = "looking for the best rows"
    COUNTING = "counting what fits"
    ESTIMATING = "estimating how many fit"
    EXCLUDING = "working out what excludes what"
    EXCLUDING_FINER = "working out what excludes what by thickness and fans"
    ENDING = "done"


_PARTS = {
    Doing.SIZING: "zones",
    Doing.LISTING: "zones",
    Doing.JUDGING: "zones",
    Doing.PAIRING: "pairs of zones",
}
"""What is done one after the other, where it is no share of a whole."""


@dataclass(frozen=True)
class Stage:
    """What a search does, on which zone or zones, and how far it has come.

    `share` (0 to 1) of what is at hand is done, and before it `done` parts of so many; `so_far`
    says what has come of it.
    """

    doing: Doing
    on: str = ""
    share: float | None = None
    so_far: str = ""
    done: int = 0
    parts: int = 0

    @property
    def text(self) -> str:
        """All of it in plain words.

        >>> Stage(Doing.JUDGING, "front wall", 0.3, "1,200 to choose from", 0, 3).text
        'Checking stacks on front wall, 30%; 1,200 to choose from; 0 of 3 zones done'
        >>> Stage(Doing.COUNTING, share=0.996, so_far="12 so far, at most 90").text
        'Counting what fits, 99%; 12 so far, at most 90'
        """
        told = self.doing.value
        if self.on:
            told += f" on {self.on}"
        if self.share is not None:
            told += f", {done_percent(self.share)}"
        if self.so_far:
            told += f"; {self.so_far}"
        if self.parts:
            told += f"; {self.done} of {self.parts} {_PARTS[self.doing]} done"
        return told[:1].upper() + told[1:]
