"""Options of a zone listed several times, each listing standing with less beside it than before.

What depends on several zones at once no table of pairs tells. An option that is listed once for
each of the cases, of which every combination is in one, says it by pairs, and none counts twice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from geometry.measures.broadphase import Bools, Indices
from geometry.search.judging.zone_options import ZoneOptions
from geometry.search.solving.bits import CELLS_AT_ONCE
from geometry.search.solving.marked_table import MarkedTable
from geometry.search.solving.pair_table import PairTable
from geometry.search.solving.zone_tables import Table, ZoneTables

Forbidden = Mapping[int, Bools]
"""For other zones by number, which of their options a listing does not stand with."""


def listed_anew(
    zones: Sequence[ZoneOptions],
    tables: ZoneTables,
    number: int,
    keep: Indices,
    forbidden: Sequence[Forbidden],
) -> tuple[ZoneOptions, ZoneTables]:
    """Return a zone that lists those of its options, as often as `keep` has them, and the tables.

    `forbidden` rules out for each listing what its option stood with before.
    """
    known: dict[bytes, Bools] = {}
    of_each = [{z: _once(known, every) for z, every in one.items()} for one in forbidden]
    mine = tables.marked[number][keep]
    marked = (*tables.marked[:number], mine, *tables.marked[number + 1 :])
    clash = {pair: table for pair, table in tables.clash.items() if number not in pair}
    for other, theirs in enumerate(marked):
        if other == number:
            continue
        ruled_out = _forbidding([one.get(other) for one in of_each], len(theirs))
        table: Table = ruled_out
        old = tables.pair(number, other)
        if isinstance(old, MarkedTable):
            both = old.with_marks(keep, np.arange(len(theirs)))
            table = both.either(MarkedTable.of(ruled_out, mine, theirs))
        elif old is not None:
            table = ruled_out.either(old.some(keep, np.arange(len(theirs))))
        if table.any():
            low, high = sorted((number, other))
            clash[low, high] = table if low == number else table.turned()
    return zones[number].some(keep), ZoneTables(marked, clash)


def _once(known: dict[bytes, Bools], marks: Bools) -> Bools:
    """Return the marks that are known and equal to some, or these, so that few are kept."""
    return known.setdefault(marks.tobytes(), marks)


def _forbidding(rows: Sequence[Bools | None], columns: int) -> PairTable:
    """Return the table of rows of which each forbids some columns, or None of them."""
    nothing = np.zeros(columns, dtype=bool)
    every = [nothing if row is None else row for row in rows]
    distinct = {id(row): row for row in every}
    number = {key: k for k, key in enumerate(distinct)}
    few, step = list(distinct.values()), max(1, CELLS_AT_ONCE // max(1, columns))
    parts = (np.stack(few[at : at + step]) for at in range(0, len(few), step))
    table = PairTable.of_blocks(parts, columns)
    keep = np.array([number[id(row)] for row in every], dtype=np.intp)
    return table.some(keep, np.arange(columns))
