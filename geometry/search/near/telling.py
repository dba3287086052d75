"""Which near misses are told of all that are found, as they come, the nearest first."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING

from geometry.search.near.refused import Kind, Refused

if TYPE_CHECKING:
    from geometry.search.near.misses import NearMiss

MOST_TOLD = 12
"""So many near misses are told."""

TRIES_OF_A_KIND = 3
"""Of near misses that would give the same figures on one zone so many are tried, each with other
things in the way."""

MOST_UNMENDED = 4
"""So many of them are told that no single relaxation lets in."""


@dataclass
class Telling:
    """Which near misses are told, as they come, the nearest first."""

    mended: list[tuple[Refused, NearMiss]] = field(default_factory=list)
    tried: dict[Kind, set[frozenset[str]]] = field(default_factory=dict)
    by_margin: set[Kind] = field(default_factory=set)
    nearest: dict[Kind, tuple[Refused, NearMiss]] = field(default_factory=dict)
    let_in: set[object] = field(default_factory=set)

    def wants(self, one: Refused) -> bool:
        """Whether it is looked for what would let one in."""
        others = self.tried.setdefault(one.kind, set())
        return (
            len(self.mended) < MOST_TOLD
            and len(others) < TRIES_OF_A_KIND
            and (one.things not in others or self._may_by_margin(one))
            and one.same not in self.let_in
        )

    def add(self, one: Refused, miss: NearMiss) -> None:
        """Take in one with what lets it in, if anything does.

        Of the same parts that slides let in, only those are told that go least far: nothing else
        is asked for.
        """
        self.tried[one.kind].add(one.things)
        if not one.tried.meets:
            self.by_margin.add(one.kind)
        if not miss.relaxations:
            self.nearest.setdefault(one.kind, (one, miss))
            return
        self.let_in.add(one.same)
        slid = [
            at
            for at, (other, known) in enumerate(self.mended)
            if other.parts == one.parts and known.slide_mm < inf
        ]
        if not slid:
            self.mended.append((one, miss))
        elif miss.slide_mm < self.mended[slid[0]][1].slide_mm:
            self.mended[slid[0]] = one, miss

    def _may_by_margin(self, one: Refused) -> bool:
        """Whether one that meets nothing by bounds may be let in by a margin where no other was.

        What lies in the same things may miss less of them, and no margin lets that in.
        """
        let_in = {other.kind for other, _ in self.mended}
        return not one.tried.meets and one.kind not in self.by_margin | let_in

    @property
    def found(self) -> list[NearMiss]:
        """What is told of all that came so far."""
        kinds = {one.kind for one, _ in self.mended}
        slid = {one.parts for one, miss in self.mended if miss.slide_mm < inf}
        left = [pair for kind, pair in self.nearest.items() if kind not in kinds]
        left = [pair for pair in left if pair[0].parts not in slid]
        once: dict[object, NearMiss] = {}
        for one, miss in left:
            if one.same not in self.let_in:
                once.setdefault(one.same, miss)
        nearest = sorted(once.values(), key=lambda miss: miss.short_mm)
        most = min(MOST_UNMENDED, MOST_TOLD - len(self.mended))
        return [*(miss for _, miss in self.mended), *nearest[:most]]
