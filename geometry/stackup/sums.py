"""The arithmetic of a tolerance stack-up: worst case and root sum square.

A gap depends on many dimensions. Each is off by its tolerance at most; the gap changes with it. In
the worst case all are off at once, each the way that hurts, so the changes add up. Statistically
they seldom are: independent deviations add by their squares (root sum square). Where a tolerance
is not the same both ways, or the gap does not change alike, the middle of the changes shifts the
mean, as in textbooks on tolerance stack-up (from memory: Fischer, "Mechanical Tolerance Stackup
and Analysis"; Creveling, "Tolerance Design").

A dimension that is made is taken as normal. A part with play in its holes sits anywhere in it
alike: a rectangular distribution of half width a has the standard deviation a / sqrt(3) (JCGM
100:2008, 4.3.7, from memory), so three of them are sqrt(3) a.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from math import sqrt

from catalog.iso2768 import KnownDimension
from geometry.measures.tolerance import meets

SIGMAS = 3
"""How many standard deviations a tolerance is taken for, and a statistical limit stands for."""

COVERAGE = (
    f"root sum square: each dimension taken as independent and normal, centred in its tolerance, "
    f"which is {SIGMAS} standard deviations, and each part as likely anywhere in the play of its "
    f"screws; the limits then cover 99.73 % of all assemblies, a little less where several faces "
    f"are about as near"
)
"""What the statistical figures assume (the share of a normal distribution within 3 sigma).

The nearest of n faces that are as near is below the limit of each about n times as often.
"""


@dataclass(frozen=True)
class Contributor:
    """One dimension with what it does to a gap.

    `owner` is the placed part, obstacle, zone, wall or enclosure that has it, `name` what that is
    called, `path` the field. `at_plus_mm` and `at_minus_mm` are the changes of the gap when the
    dimension stands at its upper and lower limit. `uniform` tells that it is as likely anywhere
    between them.
    """

    owner: str
    name: str
    path: str
    dimension: KnownDimension
    at_plus_mm: float
    at_minus_mm: float
    uniform: bool = False

    @property
    def loss_mm(self) -> float:
        """How much of the gap the dimension can take away; 0 or more."""
        return -min(0.0, self.at_plus_mm, self.at_minus_mm)

    @property
    def gain_mm(self) -> float:
        """How much the dimension can add to the gap; 0 or more."""
        return max(0.0, self.at_plus_mm, self.at_minus_mm)

    @property
    def half_mm(self) -> float:
        """Half the range over which it moves the gap."""
        return (self.loss_mm + self.gain_mm) / 2

    @property
    def spread_mm(self) -> float:
        """Three standard deviations of what it does to the gap."""
        return self.half_mm * (SIGMAS / sqrt(3) if self.uniform else 1.0)


@dataclass(frozen=True)
class StackUp:
    """A gap with its contributors, the one with the largest share first."""

    nominal_mm: float
    contributors: tuple[Contributor, ...]

    @cached_property
    def worst_mm(self) -> float:
        """The gap when every dimension is off the way that closes it."""
        return self.nominal_mm - sum(one.loss_mm for one in self.contributors)

    @cached_property
    def most_mm(self) -> float:
        """The gap when every dimension is off the way that opens it."""
        return self.nominal_mm + sum(one.gain_mm for one in self.contributors)

    @cached_property
    def mean_mm(self) -> float:
        """The gap when every dimension stands in the middle of its tolerance."""
        return self.nominal_mm + sum((one.gain_mm - one.loss_mm) / 2 for one in self.contributors)

    @cached_property
    def spread_mm(self) -> float:
        """The root of the sum of the squared spreads: three standard deviations of the gap."""
        return sqrt(sum(one.spread_mm**2 for one in self.contributors))

    @property
    def likely_least_mm(self) -> float:
        """The lower statistical limit of the gap, never beyond the worst case."""
        return max(self.mean_mm - self.spread_mm, self.worst_mm)

    @property
    def likely_most_mm(self) -> float:
        """The upper statistical limit of the gap, never beyond the best case."""
        return min(self.mean_mm + self.spread_mm, self.most_mm)

    def share(self, one: Contributor) -> float:
        """Return the part of the whole range that is due to one contributor, 0 to 1."""
        whole = sum(each.half_mm for each in self.contributors)
        return one.half_mm / whole if whole else 0.0


def stack_up(nominal_mm: float, contributors: Iterable[Contributor]) -> StackUp:
    """Return the stack-up of a gap, contributors in order of share; those without are left out."""
    own = [one for one in contributors if one.half_mm > 0]
    own.sort(key=lambda one: (-round(one.half_mm, 9), one.owner, one.path))
    return StackUp(nominal_mm, tuple(own))


@dataclass(frozen=True)
class Figure:
    """The stack-up of a figure: at its nominal place, and where it is least in the worst case.

    Both are one where the same two faces decide; else `worst_name` tells which solid comes nearer
    once all dimensions are off. `beside` is set where that one stands beside the way as drawn: the
    stack-up of the gap across the way, which deviations take, so that it comes to stand in it.
    """

    nominal: StackUp
    worst: StackUp
    worst_name: str
    beside: StackUp | None = None

    @property
    def elsewhere(self) -> bool:
        """Whether other faces decide in the worst case."""
        return self.worst is not self.nominal

    @property
    def likely_least_mm(self) -> float:
        """The lower statistical limit, the less of both faces'.

        What stands beside the way as drawn counts where its statistical limit brings it in.
        """
        if self.beside is not None and meets(self.beside.likely_least_mm, 0.0):
            return self.nominal.likely_least_mm
        return min(self.nominal.likely_least_mm, self.worst.likely_least_mm)

    @property
    def likely_most_mm(self) -> float:
        """The upper statistical limit: that of the faces that decide as drawn."""
        return self.nominal.likely_most_mm
