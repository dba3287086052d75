"""What excludes what of two zones by the thickness of exchangers and the places of fans.

Finer than by pattern, so that it says whether one thickness in push-pull keeps out another. How
often two choices cannot stand together is counted, and not measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt

from geometry.layout import Layout
from geometry.measures.broadphase import Indices
from geometry.search.excluded_pairs import ExcludedPairs, Group, group_of
from geometry.search.listing.option import Option, holds_pump
from geometry.search.listing.option_rows import Options
from geometry.search.listing.zone_lister import with_parts
from geometry.search.long_work import Steps, share_of, told_as
from geometry.search.problem import Problem
from geometry.search.solving.bits import Bits
from geometry.search.solving.pair_table import PairTable
from geometry.search.stack_facts import fan_sense

Counts = npt.NDArray[np.int64]

MOST_CHOICES = 400
"""So many choices of a zone are told apart; of more nothing is counted."""

MOST_WORK = 2e11
"""So many products are summed for two zones, of classes with classes and with choices; of more
nothing is counted."""

PRODUCTS_AT_ONCE = 2**21

EXACT_SHORT = 2**24
"""Up to this whole numbers are exact in four bytes as a float (IEEE 754, a significand of 24 bits),
which are summed twice as fast as eight."""

LONG = np.dtype("f8")


@dataclass(frozen=True)
class Choice:
    """Options of a zone alike in pattern, in the thickness of their exchangers and where fans are.

    Those that stand side by side have a thickness and fans each.
    """

    pattern: str
    thickness_mm: tuple[float, ...] = ()
    fans: tuple[str, ...] = ()
    pump: bool = False

    @property
    def words(self) -> str:
        """The choice in words: "exchanger 2 fans long, 45 mm, push-pull"."""
        told = [f"{mm:g} mm, {fans}" for mm, fans in zip(self.thickness_mm, self.fans, strict=True)]
        return ", ".join((self.pattern, " and ".join(told))) if told else self.pattern


@dataclass(frozen=True, eq=False)
class FinerExclusions:
    """How many pairs of the choices of two zones cannot stand together, shape (first, second).

    `sizes` are how many different options each choice has.
    """

    zones: tuple[str, str]
    choices: tuple[tuple[Choice, ...], tuple[Choice, ...]]
    sizes: tuple[Counts, Counts]
    excluded: Counts

    def of(self, zones: tuple[str, str]) -> FinerExclusions:
        """Return the same with the zones in an order."""
        if zones == self.zones:
            return self
        one, other = self.choices
        return FinerExclusions(zones, (other, one), self.sizes[::-1], self.excluded.T)

    def pairs(self, row: int, column: int) -> int:
        """Return how many pairs of two choices there are."""
        return int(self.sizes[0][row] * self.sizes[1][column])

    def by_rule(self, row: int, column: int) -> bool:
        """Whether two choices hold a pump each, so that a rule excludes them."""
        return self.choices[0][row].pump and self.choices[1][column].pump

    def share(self, row: int, column: int) -> float:
        """Return which share of the pairs of two choices cannot stand together (0 to 1)."""
        return float(self.excluded[row, column]) / self.pairs(row, column)


def finer_exclusions(problem: Problem) -> Iterator[tuple[float, FinerExclusions | None]]:
    """Yield how many of the pairs of zones were looked at (0 to 1), and what was counted there.

    Nothing is of zones that never exclude each other, or that have too many choices.
    """
    layout = with_parts(
        problem.base.scene.layout,
        (*problem.wishes.exchangers, *problem.wishes.fans, *problem.wishes.pumps),
    )
    every = sorted(problem.tables.clash)
    for at, zones in enumerate(every, start=1):
        counting = _counted(problem, layout, zones)
        found = yield from told_as(counting, partial(_told, at - 1, len(every)))
        yield at / len(every), found


def _told(before: int, of: int, done: float) -> tuple[float, None]:
    return (before + done) / of, None


@dataclass(frozen=True, eq=False)
class _Chosen:
    """The different options of a zone, those without a pump and those with one, by choice.

    `labels` numbers the choice of each option of each group.
    """

    choices: tuple[Choice, ...]
    groups: tuple[Group, ...]
    labels: tuple[Indices, ...]

    @classmethod
    def of(cls, layout: Layout, options: Options) -> _Chosen:
        known: dict[Choice, int] = {}
        pumped = options.which(holds_pump)
        groups = [group_of(options, np.flatnonzero(rows)) for rows in (~pumped, pumped)]
        labels = []
        for group in groups:
            used, stack = np.unique(options.stack[group.first], return_inverse=True)
            made = (_choice(layout, options.stacks[k]) for k in used.tolist())
            of_used = [known.setdefault(choice, len(known)) for choice in made]
            labels.append(np.array(of_used, dtype=np.intp)[stack])
        return cls(tuple(known), tuple(groups), tuple(labels))

    @property
    def sizes(self) -> Counts:
        """How many options each choice has."""
        return np.bincount(np.concatenate(self.labels), minlength=len(self.choices))


def _counted(
    problem: Problem, layout: Layout, zones: tuple[int, int]
) -> Steps[FinerExclusions | None]:
    """Count in steps; None where there is too much to count."""
    one, other = (_Chosen.of(layout, problem.zones[z].options) for z in zones)
    many = len(one.choices), len(other.choices)
    if max(many) > MOST_CHOICES:
        return None
    excluded = np.zeros(many, dtype=np.int64)
    # Two that hold a pump each exclude each other all.
    pumps = [np.array([choice.pump for choice in chosen.choices]) for chosen in (one, other)]
    excluded += np.outer(one.sizes * pumps[0], other.sizes * pumps[1])
    work = 0
    for part, (mine, theirs) in enumerate(_PUMPED):
        begin, found, end = ((part + done) / len(_PUMPED) for done in (0.0, FINDING, 1.0))
        pairs = ExcludedPairs(problem.tables.clash[zones], one.groups[mine], other.groups[theirs])
        if not pairs.of:
            continue
        finding = pairs.finding_never()
        never = yield from told_as(finding, partial(share_of, (begin, found)))
        work += _products(never, many)
        if work > MOST_WORK:
            return None
        summing = _sums(never, [one.labels[mine], other.labels[theirs]], many)
        excluded += yield from told_as(summing, partial(share_of, (found, end)))
    names = problem.zones[zones[0]].zone, problem.zones[zones[1]].zone
    sizes = one.sizes, other.sizes
    return FinerExclusions(names, (one.choices, other.choices), sizes, excluded)


_PUMPED = ((0, 0), (1, 0), (0, 1))
"""Whether options of two zones hold a pump: 1 where they do; not both."""

FINDING = 0.3
"""The share of the work on two zones that is done when their pairs are found."""


def _longer(never: PairTable) -> int:
    """Return of which side a table has more classes: 0 for rows, 1 for columns."""
    return int(np.argmax(never.cells.shape))


def _products(never: PairTable, many: tuple[int, int]) -> int:
    """Return how many products `_sums` adds up for a table, with so many choices on either side."""
    along = _longer(never)
    count, beside = never.cells.shape[along], never.cells.shape[1 - along]
    return count * (beside + many[along]) * many[1 - along]


def _sums(never: PairTable, labels: list[Indices], many: tuple[int, int]) -> Steps[Counts]:
    """Return in steps how many pairs of each two choices a table excludes.

    Of the side with more classes some are looked at at once, with all of the other.
    """
    sides, along = (never.rows, never.columns), _longer(never)
    of, count = sides[along], never.cells.shape[along]
    order = np.argsort(of, kind="stable")
    others, beside = 1 - along, never.cells.shape[1 - along]
    exact = np.dtype("f4") if len(sides[others]) <= EXACT_SHORT else LONG
    theirs = _by_class(sides[others], labels[others], beside, many[others], exact)
    out = np.zeros((many[along], many[others]))
    # Eight classes are in a byte.
    step = max(8, PRODUCTS_AT_ONCE // beside // 8 * 8)
    for start in range(0, count, step):
        stop = min(start + step, count)
        some = order[slice(*np.searchsorted(of, (start, stop), sorter=order))]
        own_label = labels[along][some]
        mine = _by_class(of[some] - start, own_label, stop - start, many[along], LONG)
        if along == 0:
            cells = Bits(never.cells.rows[start:stop], beside).full()
        else:
            own = never.cells.rows[:, start // 8 : (stop + 7) // 8]
            cells = Bits(own, stop - start).full().T
        of_choices = np.matmul(cells.astype(exact), theirs).astype(LONG)
        out += np.matmul(mine.T, of_choices)
        yield start / count
    return np.rint(out if along == 0 else out.T).astype(np.int64)


def _by_class(
    of: Indices, label: Indices, classes: int, many: int, held_as: np.dtype[Any]
) -> npt.NDArray[Any]:
    """Return how many options of each class are of each choice, as whole numbers of a type."""
    counts = np.bincount(of * many + label, minlength=classes * many)
    return counts.reshape(classes, many).astype(held_as)


def _choice(layout: Layout, option: Option) -> Choice:
    columns = ((one.core, one.base) for one in option.columns)
    told = sorted(
        (core.core_thickness_mm, fan_sense(layout, stack))
        for core, stack in columns
        if core is not None and stack is not None
    )
    thickness_mm, fans = tuple(mm for mm, _ in told), tuple(fans for _, fans in told)
    return Choice(option.pattern, thickness_mm, fans, option.pump)
