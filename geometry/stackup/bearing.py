"""What lies on several parts side by side is lifted by the thickest of them alone.

How far the thickest is off is no sum of what each is off: at its upper limit it is the most that
any reaches beyond the thickest as drawn, at its lower one what the last of them still holds up. So
of the parts of one layer under an item the one that reaches farthest is taken for all of them. Each
item above is lifted by what it stands on, layer by layer.

Statistically the thickest of several is thicker than each: its mean and standard deviation are
those of the greatest of independent normal numbers (by quadrature of the product of their
distribution functions; for two of them Clark, "The greatest of a finite set of random variables",
Operations Research 9, 1961, from memory). Its tail is taken for at least that at which what lies
above the limit at each of them adds up to what one normal number has above its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from math import erfc, sqrt
from typing import NamedTuple

from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import Laid
from geometry.stackup.stack_ups import EVEN, HALVINGS, SIGMAS, TAIL, Odds

STEPS = 200
"""So many steps of quadrature, over four standard deviations beyond all of them."""


class Thick(NamedTuple):
    """How far a part ends below the thickest as drawn, and by how much it is off at its limits."""

    below_mm: float
    plus_mm: float
    minus_mm: float

    @property
    def high_mm(self) -> float:
        """How far it reaches beyond the thickest as drawn, at most."""
        return self.plus_mm - self.below_mm

    @property
    def low_mm(self) -> float:
        """How far it ends beyond that at least; negative."""
        return -self.minus_mm - self.below_mm


@dataclass(frozen=True)
class Bearing:
    """Which of several parts is taken for all of them, and how far that lifts what lies on them."""

    decides: int
    plus_mm: float
    minus_mm: float
    odds: Odds = EVEN

    @classmethod
    def of(cls, parts: Sequence[Thick]) -> Bearing:
        """Return that of some parts side by side."""
        decides = max(range(len(parts)), key=lambda k: (parts[k].high_mm, -k))
        plus, minus = max(parts[decides].high_mm, 0.0), -max(one.low_mm for one in parts)
        counted = tuple(one for one in parts if one.high_mm > -minus + LENGTH_EPS_MM)
        if len(counted) < 2:
            return cls(decides, plus, minus)
        return cls(decides, plus, minus, odds_of_greatest(counted, plus, minus))

    def lift_mm(self, k: int, part: Thick, off_mm: float) -> float:
        """Return how far what lies on them is lifted when the k-th alone is off."""
        if k != self.decides or not off_mm:
            return 0.0
        if off_mm > 0.0:
            return self.plus_mm * off_mm / part.plus_mm if part.plus_mm else 0.0
        return self.minus_mm * off_mm / part.minus_mm if part.minus_mm else 0.0


@lru_cache(maxsize=1024)
def odds_of_greatest(parts: tuple[Thick, ...], plus_mm: float, minus_mm: float) -> Odds:
    """Return where in its range the greatest of independent normal numbers is, and how wide."""
    half = (plus_mm + minus_mm) / 2
    own = [
        ((one.high_mm + one.low_mm) / 2, (one.high_mm - one.low_mm) / 2 / SIGMAS) for one in parts
    ]
    low = min(mean - 4 * sigma for mean, sigma in own)
    high = max(mean + 4 * sigma for mean, sigma in own)
    step = (high - low) / STEPS
    mean = square = before = 0.0
    for n in range(1, STEPS + 1):
        at = low + n * step
        below = 1.0
        for its, sigma in own:
            below *= _share_below(at, its, sigma)
        middle = at - step / 2
        mean += (below - before) * middle
        square += (below - before) * middle * middle
        before = below
    sigma = sqrt(max(square - mean * mean, 0.0))
    spread = max(SIGMAS * sigma, _limit_mm(own, low, high) - mean)
    return Odds((mean + minus_mm) / (2 * half), spread / half)


def _share_below(at: float, mean: float, sigma: float) -> float:
    if not sigma:
        return 1.0 if at >= mean else 0.0
    return erfc((mean - at) / sigma / sqrt(2)) / 2


def _limit_mm(own: Sequence[tuple[float, float]], low: float, high: float) -> float:
    """Return the limit above which the shares of all of some normal numbers add up to the tail."""
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if sum(1.0 - _share_below(middle, mean, sigma) for mean, sigma in own) > TAIL:
            low = middle
        else:
            high = middle
    return high


class Borne(NamedTuple):
    """What of a layer one item lies on: the parts by their kinds, how high, and what counts."""

    places: Mapping[int, int]
    parts: Sequence[Thick]
    top_mm: float
    bearing: Bearing

    def lift_mm(self, kind: int, off_mm: float) -> float:
        """Return how far the item is lifted when a part of one kind is off."""
        k = self.places.get(kind)
        return 0.0 if k is None else self.bearing.lift_mm(k, self.parts[k], off_mm)

    def is_decided_by(self, kind: int) -> bool:
        """Whether a part is taken for all."""
        return self.places.get(kind) == self.bearing.decides

    @property
    def known(self) -> bool:
        """Whether the part that is taken for all is itself off both ways where they all are."""
        part, minus = self.parts[self.bearing.decides], self.bearing.minus_mm
        return minus >= 0.0 and bool(part.minus_mm or not minus)


@dataclass(frozen=True, eq=False)
class Lifts:
    """How far items above a layer are lifted when one part in it is off.

    `laid` are the items of the side as drawn, from the plate outwards; `kinds` tells of the items
    of the layer which part they are, `offs` how far each part is off at its limits (plus, minus).
    """

    laid: Sequence[Laid]
    kinds: Mapping[str, int]
    offs: Sequence[tuple[float, float]]
    _known: dict[tuple[int, float], dict[str, float]] = field(default_factory=dict)
    _borne: dict[str, Borne | None] = field(default_factory=dict)

    def mm(self, kind: int, owner: str, off_mm: float) -> float:
        """Return how far an item is lifted when a part is off."""
        key = (kind, off_mm)
        if key not in self._known:
            self._known[key] = self._lifted(kind, off_mm)
        return self._known[key].get(owner, 0.0)

    def odds(self, kind: int) -> Odds:
        """Return how likely a part that is taken for several lifts what lies on them."""
        every = (self._of(one) for one in self.laid)
        own = (found.bearing.odds for found in every if found and found.is_decided_by(kind))
        return max(own, key=lambda odds: odds.wide, default=EVEN)

    @property
    def known(self) -> bool:
        """Whether it is known of all items which part counts, and by how much."""
        return all(found is None or found.known for found in map(self._of, self.laid))

    def _of(self, one: Laid) -> Borne | None:
        if one.item_id not in self._borne:
            self._borne[one.item_id] = self._find(one)
        return self._borne[one.item_id]

    def _find(self, one: Laid) -> Borne | None:
        """Return what of the layer an item lies on; None where on nothing of it."""
        tops: dict[int, float] = {}
        for below in self._under(one):
            kind = self.kinds.get(below.item_id)
            if kind is not None:
                tops[kind] = max(tops.get(kind, below.top_mm), below.top_mm)
        if not tops or one.item_id in self.kinds:
            return None
        top = max(tops.values())
        places = {kind: k for k, kind in enumerate(tops)}
        parts = [Thick(top - mm, *self.offs[kind]) for kind, mm in tops.items()]
        return Borne(places, parts, top, Bearing.of(parts))

    def _under(self, one: Laid) -> Iterator[Laid]:
        for below in self.laid:
            if below is one:
                return
            if one.lies_over(below):
                yield below

    def _lifted(self, kind: int, off_mm: float) -> dict[str, float]:
        lifted: dict[str, float] = {}
        for one in self.laid:
            if one.item_id in self.kinds:
                continue
            ends = [
                below.top_mm + lifted.get(below.item_id, 0.0)
                for below in self._under(one)
                if below.item_id not in self.kinds
            ]
            borne = self._of(one)
            if borne is not None:
                ends.append(borne.top_mm + borne.lift_mm(kind, off_mm))
            mm = max(ends, default=one.base_mm) - one.base_mm
            if abs(mm) > LENGTH_EPS_MM:
                lifted[one.item_id] = mm
        return lifted
