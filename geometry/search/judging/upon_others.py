"""Options that are others with something more on them, so that what they share is judged once.

A stack with a pump on it holds all that the stack without it holds, at the same place. There are
ten times as many of them, and whatever keeps out the stack keeps out all of these.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from geometry.measures.broadphase import Bools, Indices
from geometry.search.solving.lists import Lists
from geometry.search.solving.pair_table import PairTable

NONE = -1
"""Stands for the option below one of which none is known."""


@dataclass(frozen=True, eq=False)
class UponOthers:
    """Marked options of a zone as others of it with something more.

    Marked option `k` is made of what option `base[k]` of those without a mark is made of, and of
    list `k` of `more`; where `base[k]` is NONE, of that list alone.
    """

    base: Indices
    more: Lists

    @classmethod
    def of(cls, made_of: Lists, marked: Bools) -> UponOthers:
        """Return the marked ones of some options, which are made of some things by number each.

        What no option without a mark is made of is what a marked one has more.
        """
        others, own = (made_of.some(np.flatnonzero(marks)) for marks in (~marked, marked))
        shared = np.zeros(made_of.numbers.max(initial=-1) + 1, dtype=bool)
        shared[others.numbers] = True
        is_shared = shared[own.numbers]
        known: dict[bytes, int] = {}
        for number, key in enumerate(_keys(others)):
            known.setdefault(key, number)
        below = (known.get(key, NONE) for key in _keys(own.only(is_shared)))
        base = np.fromiter(below, dtype=np.intp, count=len(own))
        alone = np.repeat(base == NONE, np.diff(own.starts))
        return cls(base, own.only(~is_shared | alone))

    def below(self, of_others: PairTable) -> PairTable:
        """Return what those below the marked options conflict with, a row for each marked one.

        `of_others` has a row for each option without a mark.
        """
        found = np.flatnonzero(self.base != NONE)
        columns = np.arange(len(of_others.columns), dtype=np.intp)
        table = of_others.some(self.base[found], columns)
        return table.among((found, columns), (len(self.base), len(columns)))


def _keys(lists: Lists) -> Iterator[bytes]:
    """Yield each list as bytes, the same for the same numbers in the same order."""
    size = lists.numbers.dtype.itemsize
    raw = lists.numbers.tobytes()
    return (raw[start:end] for start, end in pairwise((lists.starts * size).tolist()))
