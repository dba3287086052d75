"""Options that a better one can always stand in for.

Option y of a zone can stand in for x when y conflicts with nothing that x does not conflict with,
and is at least as good in every measure asked for. Both are looked up, not guessed: whatever
combination holds x, the same with y fits too and is as good. So x need not be looked at for the
best or for the front; it is always counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from time import perf_counter

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.long_work import Pauses
from geometry.search.solving.bits import Bits
from geometry.search.solving.tables import Merged, Tables

MOST_ROUNDS = 4

FIRST_LOOKED_AT = 512
"""So many conflicts, evenly spread, are looked at first."""

OPTIONS_AT_ONCE = 512
CELLS_AT_ONCE = 2**22
"""So many options at once are compared with others, of which there are as many as have so many
truth values together (four bytes each)."""

ROUNDS_AT_FIRST = 16
"""So many options of each class are compared with the rest of it in all classes together; a class
of which more is left is then looked at by itself."""


@dataclass(frozen=True, eq=False)
class Worthy:
    """The options that are left: tables of them, their numbers among all, and their values.

    `values[z]` has shape (options, measures); more is better.
    """

    tables: Tables
    numbers: tuple[Indices, ...]
    values: tuple[Floats, ...]

    def original(self, combination: Sequence[int]) -> tuple[int, ...]:
        """Return the numbers that a combination has among all options."""
        return tuple(int(n[k]) for n, k in zip(self.numbers, combination, strict=True))


def sifting(
    classes: Merged, values: Sequence[Floats], seconds: float | None = None
) -> Pauses[Worthy]:
    """Return the options that no other can stand in for, with pauses.

    `values[z]` has shape (options, measures). After `seconds` no more is looked for: some of those
    that are left may then be stood in for.
    """
    until = inf if seconds is None else perf_counter() + seconds
    zones = range(len(classes.members))
    numbers: list[Indices] = []
    of_class: list[Indices] = []
    for z in zones:
        every = np.concatenate(classes.members[z])
        home = np.repeat(np.arange(len(classes.members[z])), classes.weights[z])
        best = yield from _best_of_each(home, values[z][every], until)
        numbers.append(every[best])
        of_class.append(home[best])
    for _ in range(MOST_ROUNDS):
        used = [np.unique(home) for home in of_class]
        few = classes.tables.kept(used)
        changed = False
        for z in zones:
            place = np.searchsorted(used[z], of_class[z])
            if perf_counter() > until:
                continue
            worse = yield from _stood_in_for(
                few.conflicts_of(z), place, values[z][numbers[z]], until
            )
            keep = ~worse
            changed |= not keep.all()
            numbers[z], of_class[z] = numbers[z][keep], of_class[z][keep]
        if not changed:
            break
    tables = classes.tables.kept(of_class)
    return Worthy(
        tables, tuple(numbers), tuple(values[z][numbers[z]].astype(np.float64) for z in zones)
    )


def _stood_in_for(
    conflicts: Bits, place: Indices, values: Floats, until: float = inf
) -> Pauses[Bools]:
    """Return which options another can stand in for; of those that are equal the first stays.

    Those that are not looked at `until` some moment of the clock stay too.

    The conflicts of option `k` are row `place[k]`. What stands in for another has no more conflicts
    and no less of any measure, so in an order by these it comes before; and only what nothing
    stands in for need be looked at, since it also does for all that others would.
    """
    many = conflicts.counts()[place]
    order = np.lexsort((*-values.T[::-1], many))
    step = max(1, CELLS_AT_ONCE // max(conflicts.width, OPTIONS_AT_ONCE))
    stays = np.zeros(len(values), dtype=bool)
    best = np.zeros(0, dtype=np.intp)
    for start in range(0, len(order), OPTIONS_AT_ONCE):
        some = order[start : start + OPTIONS_AT_ONCE]
        for at in range(0, len(best) + 1, step):
            yield
            if perf_counter() > until:
                stays[order[start:]] = True
                stays[best] = True
                return ~stays
            some = some[~_any_for(conflicts, place, values, best[at : at + step], some)]
        within = _may_stand_for(conflicts, place, values, some, some)
        # Of two that may stand for each other the earlier one does: it has the lesser number.
        within &= np.tri(len(some), k=-1, dtype=bool).T
        some = some[~np.asarray(within.any(axis=0))]
        best = np.concatenate((best, some))
    stays[best] = True
    return ~stays


def _any_for(
    conflicts: Bits, place: Indices, values: Floats, mine: Indices, others: Indices
) -> Bools:
    return np.asarray(_may_stand_for(conflicts, place, values, mine, others).any(axis=0))


def _may_stand_for(
    conflicts: Bits, place: Indices, values: Floats, mine: Indices, others: Indices
) -> Bools:
    """Return which of some options may stand in for which others, shape (mine, others).

    Some conflicts rule most of them out; of what these leave all are looked at, pair by pair.
    """
    columns = np.unique(np.linspace(0, conflicts.width - 1, FIRST_LOOKED_AT).astype(np.intp))
    columns = columns[: conflicts.width]
    have = conflicts.part(place[mine], columns).astype(np.float32)
    lack = 1.0 - conflicts.part(place[others], columns).astype(np.float32)
    within: Bools = have @ lack.T == 0.0
    for k in range(values.shape[1]):
        within &= values[mine, None, k] >= values[None, others, k]
    if len(columns) < conflicts.width:
        one, other = np.nonzero(within)
        step = max(1, CELLS_AT_ONCE // conflicts.rows.shape[1])
        for start in range(0, len(one), step):
            i, j = one[start : start + step], other[start : start + step]
            missing = conflicts.rows[place[mine[i]]] & ~conflicts.rows[place[others[j]]]
            within[i, j] = ~missing.any(axis=1)
    return within


def _best_of_each(home: Indices, values: Floats, until: float = inf) -> Pauses[Indices]:
    """Return the rows that no other row of the same class equals or betters, in their order.

    `home` has the class of each row. Of equal rows the first is returned. Those that are not looked
    at `until` some moment of the clock are returned too.
    """
    # What betters a row comes before it, and so the first that is left of a class is one.
    left = np.lexsort((*-values.T[::-1], home))
    best = [np.zeros(0, dtype=np.intp)]
    for _ in range(ROUNDS_AT_FIRST):
        if not len(left) or perf_counter() > until:
            break
        first = np.ones(len(left), dtype=bool)
        first[1:] = home[left[1:]] != home[left[:-1]]
        heads = left[first]
        best.append(heads)
        better = np.all(values[heads[np.cumsum(first) - 1]] >= values[left], axis=1)
        left = left[~(first | better)]
        yield
    nothing = Bits.of(np.zeros((1, 0), dtype=bool))
    for some in np.split(left, np.flatnonzero(np.diff(home[left])) + 1):
        alike = np.zeros(len(some), dtype=np.intp)
        worse = yield from _stood_in_for(nothing, alike, values[some], until)
        best.append(some[~worse])
    return np.sort(np.concatenate(best))
