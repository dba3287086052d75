"""Options that a better one can always stand in for.

Option y of a zone can stand in for x when y conflicts with nothing that x does not conflict with,
and is at least as good in every measure asked for. Both are looked up, not guessed: whatever
combination holds x, the same with y fits too and is as good. So x need not be looked at for the
best or for the front; it is always counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.measures.broadphase import Bools, Floats
from geometry.search.solving.pair_table import Indices
from geometry.search.solving.tables import Merged, Tables

MOST_ROUNDS = 4


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


def worthy(classes: Merged, values: Sequence[Floats]) -> Worthy:
    """Return the options that no other can stand in for; `values[z]` is (options, measures)."""
    zones = range(len(classes.members))
    numbers: list[Indices] = []
    of_class: list[Indices] = []
    for z in zones:
        kept, home = [], []
        for c, members in enumerate(classes.members[z]):
            best = members[_front_rows(values[z][members])]
            kept.append(best)
            home.append(np.full(len(best), c, dtype=np.intp))
        numbers.append(np.concatenate(kept))
        of_class.append(np.concatenate(home))
    for _ in range(MOST_ROUNDS):
        used = [np.unique(home) for home in of_class]
        few = classes.tables.kept(used)
        changed = False
        for z in zones:
            rows = few.conflicts_of(z)[np.searchsorted(used[z], of_class[z])]
            keep = ~_stood_in_for(rows, values[z][numbers[z]])
            changed |= not keep.all()
            numbers[z], of_class[z] = numbers[z][keep], of_class[z][keep]
        if not changed:
            break
    tables = classes.tables.kept(of_class)
    return Worthy(
        tables, tuple(numbers), tuple(values[z][numbers[z]].astype(np.float64) for z in zones)
    )


def _stood_in_for(conflicts: Bools, values: Floats) -> Bools:
    """Return which rows another row can stand in for; of equal rows the first stays."""
    have = conflicts.astype(np.float32)
    within = have @ (1.0 - have).T == 0.0
    for k in range(values.shape[1]):
        within &= values[:, None, k] >= values[None, :, k]
    earlier = np.tri(len(values), k=-1, dtype=bool).T
    stands_in: Bools = (within & (~within.T | earlier)).any(axis=0)
    return stands_in


def _front_rows(values: Floats) -> Indices:
    """Return the rows that no other row equals or betters; of equal rows the first."""
    if values.shape[1] == 1:
        return np.array([int(values[:, 0].argmax())], dtype=np.intp)
    distinct, first = np.unique(values, axis=0, return_index=True)
    better = np.ones((len(distinct), len(distinct)), dtype=bool)
    for k in range(values.shape[1]):
        better &= distinct[:, None, k] >= distinct[None, :, k]
    better[np.diag_indices(len(distinct))] = False
    return np.sort(first[~better.any(axis=0)])
