"""The arithmetic of a tolerance stack-up: worst case and root sum square.

A gap depends on many dimensions. Each is off by its tolerance at most; the gap changes with it. In
the worst case all are off at once, each the way that hurts, so the changes add up. Statistically
they seldom are: independent deviations add by their squares (root sum square). Where a tolerance
is not the same both ways, or the gap does not change alike, the middle of the changes shifts the
mean, as in textbooks on tolerance stack-up (from memory: Fischer, "Mechanical Tolerance Stackup
and Analysis"; Creveling, "Tolerance Design").

The nearest of several faces is nearer than each of them alone, so its lower limit is lower than
theirs. How much depends on what they have in common. Whatever that is, the nearest falls below a
limit no more often than all faces together do, each counted alone (Boole's inequality, the first
of Bonferroni's; from memory: Galambos and Simonelli, "Bonferroni-type Inequalities"). So the limit
is put where these shares add up to what one face alone may have below its own; faces that can never
be the nearest, for they move with a nearer one, do not count. It is never too high, and too low by
little: for two faces by at most 0.2 of a standard deviation, where both go almost alike. (The mean
of the lesser of two is known too, Clark, "The greatest of a finite set of random variables",
Operations Research 9, 1961, but a limit by mean and variance would take it for normal.)

A dimension that is made is taken as normal. A part with play in its holes sits anywhere in it
alike: a rectangular distribution of half width a has the standard deviation a / sqrt(3) (JCGM
100:2008, 4.3.7, from memory), so three of them are sqrt(3) a.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import erfc, inf, sqrt
from typing import NamedTuple

from catalog.iso2768 import KnownDimension
from geometry.measures.tolerance import meets

SIGMAS = 3
"""How many standard deviations a tolerance is taken for, and a statistical limit stands for."""

TAIL = erfc(SIGMAS / sqrt(2)) / 2
"""The share of a normal distribution below its lower statistical limit: 0.135 %."""

COVERAGE = (
    f"root sum square: each dimension taken as independent and normal, centred in its tolerance "
    f"(like parts in one layer as off alike), which is {SIGMAS} standard deviations, and each part "
    f"as likely anywhere in the play of its screws; the limits then cover 99.73 % of all "
    f"assemblies, or more: where several faces are about as near, what falls below the lower one "
    f"at each of them adds up to {TAIL * 100:.3f} %"
)
"""What the statistical figures assume (the share of a normal distribution within 3 sigma)."""

HALVINGS = 50
"""So often the span is halved in which a limit is sought: to less than a millionth of a mm."""


class Odds(NamedTuple):
    """Where in the range of what a dimension does its mean lies, 0 to 1, and how wide it spreads.

    Three standard deviations are so many times half the range.
    """

    middle: float
    wide: float


EVEN = Odds(0.5, 1.0)
"""Those of a dimension that is normal about the middle of its tolerance."""


@dataclass(frozen=True)
class Contributor:
    """One dimension with what it does to a gap.

    `owner` is the placed part, obstacle, zone, wall or enclosure that has it, `name` what that is
    called, `path` the field. `at_plus_mm` and `at_minus_mm` are the changes of the gap when the
    dimension stands at its upper and lower limit. `uniform` tells that it is as likely anywhere
    between them; `odds` where it is likelier, of one that stands for several.
    """

    owner: str
    name: str
    path: str
    dimension: KnownDimension
    at_plus_mm: float
    at_minus_mm: float
    uniform: bool = False
    odds: Odds = EVEN

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
    def mean_mm(self) -> float:
        """The mean of what it does to the gap."""
        if self.odds is EVEN:
            return (self.gain_mm - self.loss_mm) / 2
        return self.at_minus_mm + self.odds.middle * (self.at_plus_mm - self.at_minus_mm)

    @property
    def spread_mm(self) -> float:
        """Three standard deviations of what it does to the gap."""
        return self.half_mm * (SIGMAS / sqrt(3) if self.uniform else self.odds.wide)


@dataclass(frozen=True)
class StackUp:
    """A gap with its contributors, the one with the largest share first.

    `of_openings` tells that it is how far openings overlap: where that is lost, wall comes between.
    """

    nominal_mm: float
    contributors: tuple[Contributor, ...]
    of_openings: bool = False

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
        """The gap when every dimension does what it does on the average."""
        return self.nominal_mm + sum(one.mean_mm for one in self.contributors)

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

    def share_below(self, mm: float) -> float:
        """Return the share of all assemblies in which the gap is less; none beyond the worst."""
        if mm <= self.worst_mm:
            return 0.0
        if not self.spread_mm:
            return 1.0
        return erfc((self.mean_mm - mm) * SIGMAS / self.spread_mm / sqrt(2)) / 2

    def never_under(self, other: StackUp) -> bool:
        """Whether the gap is at no time less than another, however much is off."""
        theirs = {(one.owner, one.path): one for one in other.contributors}
        apart = self.nominal_mm - other.nominal_mm
        for one in self.contributors:
            also = theirs.pop((one.owner, one.path), None)
            plus, minus = one.at_plus_mm, one.at_minus_mm
            if also is not None:
                plus, minus = plus - also.at_plus_mm, minus - also.at_minus_mm
            apart += min(0.0, plus, minus)
        return meets(apart, sum(one.gain_mm for one in theirs.values()))

    def turned(self) -> StackUp:
        """Return the stack-up of minus the gap."""
        contributors = tuple(
            replace(one, at_plus_mm=-one.at_plus_mm, at_minus_mm=-one.at_minus_mm)
            for one in self.contributors
        )
        return replace(self, nominal_mm=-self.nominal_mm, contributors=contributors)

    def share(self, one: Contributor) -> float:
        """Return the part of the whole range that is due to one contributor, 0 to 1."""
        whole = sum(each.half_mm for each in self.contributors)
        return one.half_mm / whole if whole else 0.0


def stack_up(
    nominal_mm: float, contributors: Iterable[Contributor], *, of_openings: bool = False
) -> StackUp:
    """Return the stack-up of a gap, contributors in order of share; those without are left out."""
    own = [one for one in contributors if one.half_mm > 0]
    own.sort(key=lambda one: (-round(one.half_mm, 9), one.owner, one.path))
    return StackUp(nominal_mm, tuple(own), of_openings)


def no_less_than(gap: StackUp, least: StackUp) -> StackUp:
    """Return the stack-up of a gap that is no less than another, whatever is off.

    Dimensions that by themselves take more of it than they can all together, as along a steep
    slope that ends, share what there is.
    """
    if gap.worst_mm >= least.worst_mm:
        return gap
    theirs = {(one.owner, one.path): one for one in least.contributors}
    mine = {(one.owner, one.path): one for one in gap.contributors}

    def shared(part: float) -> StackUp:
        found = []
        for key, one in {**theirs, **mine}.items():
            also = theirs.get(key)
            plus, minus = (0.0, 0.0) if also is None else (also.at_plus_mm, also.at_minus_mm)
            if key in mine:
                plus += part * min(0.0, one.at_plus_mm - plus)
                minus += part * min(0.0, one.at_minus_mm - minus)
            found.append(replace(one, at_plus_mm=plus, at_minus_mm=minus))
        return stack_up(gap.nominal_mm, found)

    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if shared(middle).worst_mm > least.worst_mm:
            low = middle
        else:
            high = middle
    return shared(high)


@dataclass(frozen=True)
class Near:
    """A gap that may come to be the least of several.

    `across` are gaps beside its way, all of which have to be lost before it counts.
    """

    gap: StackUp
    across: tuple[StackUp, ...] = ()

    def asking(self, more_mm: float) -> Near:
        """Return the same told as if it were so much more, for what may be so much nearer."""
        nominal_mm = self.gap.nominal_mm + more_mm
        return replace(self, gap=replace(self.gap, nominal_mm=nominal_mm)) if more_mm else self

    def only_with(self, other: Near) -> bool:
        """Whether it is under no limit without another being under it too."""
        return self.gap.never_under(other.gap) and all(
            any(mine.never_under(its) for mine in self.across) for its in other.across
        )

    def share_below(self, mm: float) -> float:
        """Return the greatest share of all assemblies in which it can be the one that is less."""
        return min(self.gap.share_below(mm), *(one.share_below(0.0) for one in self.across), 1.0)


def least_limit_mm(near: Iterable[Near]) -> float:
    """Return the lower statistical limit of the least of several gaps (mm).

    It is never too high, whatever dimensions they share: see the head of this file.
    """
    every: list[Near] = []
    for one in sorted(near, key=lambda one: (len(one.across), one.gap.nominal_mm)):
        if not any(one.only_with(other) for other in every):
            every.append(one)
    high = min((one.gap.likely_least_mm for one in every if not one.across), default=inf)
    if len(every) == 1:
        return high
    low = min(one.gap.worst_mm for one in every)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if sum(one.share_below(middle) for one in every) > TAIL:
            high = middle
        else:
            low = middle
    return low


@dataclass(frozen=True)
class Figure:
    """The stack-up of a figure: at its nominal place, and where it is least in the worst case.

    Both are one where the same two faces decide; else `worst_name` tells which solid comes nearer
    once all dimensions are off. `beside` is set where that one stands beside the way as drawn: the
    stack-up of the gap across the way, which deviations take, so that it comes to stand in it. Of a
    bar of wall that comes between two openings it is how far these overlap.
    `near` are all gaps that can be less than the statistical limits of those by themselves.
    Of an overlap `others` are what is left by the other ways out that may come to be the shortest.
    `worst_of` names what of a part comes nearer in the worst case, where that is not what is
    nearest as drawn.
    """

    nominal: StackUp
    worst: StackUp
    worst_name: str
    beside: StackUp | None = None
    near: tuple[Near, ...] = field(default=(), repr=False)
    others: tuple[StackUp, ...] = field(default=(), repr=False)
    worst_of: str = ""

    @classmethod
    def of_one(cls, gap: StackUp, name: str) -> Figure:
        """Return the figure of a gap that nothing else decides."""
        return cls(gap, gap, name, near=(Near(gap),))

    @classmethod
    def least_of(cls, figures: Sequence[Figure]) -> Figure:
        """Return the figure of the least of several, as of all items of a stack."""
        drawn = min(figures, key=lambda one: one.nominal.nominal_mm)
        worst = min(figures, key=lambda one: one.worst.worst_mm)
        near = tuple(near for one in figures for near in one.near)
        return cls(drawn.nominal, worst.worst, worst.worst_name, worst.beside, near)

    @property
    def elsewhere(self) -> bool:
        """Whether other faces decide in the worst case."""
        return self.worst is not self.nominal

    @property
    def leaves_other(self) -> bool:
        """Whether what is least in the worst case is as drawn another length than what is told."""
        return not meets(self.nominal.nominal_mm, self.worst.nominal_mm) or not meets(
            self.worst.nominal_mm, self.nominal.nominal_mm
        )

    @cached_property
    def likely_least_mm(self) -> float:
        """The lower statistical limit of the least of all gaps."""
        return least_limit_mm(self.near)

    @property
    def most_mm(self) -> float:
        """The most that can be left: between the faces that decide as drawn, or another way out."""
        return max(one.most_mm for one in (self.nominal, *self.others))

    @cached_property
    def likely_most_mm(self) -> float:
        """The upper statistical limit: that of the faces that decide as drawn.

        Of several ways out it is that of the shortest, found as the least of several gaps is.
        """
        if not self.others:
            return self.nominal.likely_most_mm
        every = (self.nominal, *self.others)
        return -least_limit_mm(Near(one.turned()) for one in every)
