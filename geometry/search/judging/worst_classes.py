"""What falls short in the worst case, for classes of options that stand alike to the other zone.

Options that conflict with the same as drawn, and hold the same solids in reach of the other zone,
fall short with the same. So one of each class is looked at, some of them at a time.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from geometry.measures.broadphase import Floats, Indices
from geometry.search.judging.levels import within_reach
from geometry.search.judging.steps import Steps, told_as
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.worst import short_options
from geometry.search.solving.bits import alike, as_bytes
from geometry.search.solving.pair_table import Gathering, PairTable, sets_of

OPTIONS_AT_ONCE = 4000
PAIRS_AT_ONCE = 2**25
"""So many options of one zone, and pairs of options, are looked at at once."""


def short_classes(a: Tolerant, b: Tolerant, margins: Floats, known: PairTable) -> Steps[PairTable]:
    """Return in steps which options of two zones conflict, or fall short in the worst case.

    `known` is what conflicts as drawn, and `margins` as from `role_margins`.
    """
    reach_mm = float(np.nanmax(margins))
    first, row = _classes(a, np.flatnonzero(within_reach(a.far, b.far, reach_mm)), known.rows)
    heads, column = _classes(b, np.flatnonzero(within_reach(b.far, a.far, reach_mm)), known.columns)
    rows = max(1, min(OPTIONS_AT_ONCE, PAIRS_AT_ONCE // max(1, len(heads))))
    bands, blocks = _parts(first, rows), _parts(heads, OPTIONS_AT_ONCE)
    gathering = Gathering(len(heads))
    seen: dict[object, bool] = {}
    for n, mine in enumerate(bands):
        found = []
        for m, theirs in enumerate(blocks):
            drawn = known.part(mine, theirs)
            told = partial(_share, n * len(blocks) + m, len(bands) * len(blocks))
            measured = short_options(a.only(mine), b.only(theirs), margins, drawn, None, seen)
            found.append((yield from told_as(measured, told)))
        gathering.add(np.concatenate(found, axis=1))
    table = gathering.table()
    return PairTable(table.rows[row], table.columns[column], table.cells)


def _classes(options: Tolerant, near: Indices, drawn: Indices) -> tuple[Indices, Indices]:
    """Return the first option of each class, and the class of each option."""
    felt = np.zeros(len(options), dtype=bool)
    felt[near] = True
    places = sets_of(options.numbers, options.starts, felt)
    return alike(as_bytes(np.hstack((drawn[:, None], places))))


def _parts(every: Indices, count: int) -> list[Indices]:
    return [every[start : start + count] for start in range(0, len(every), count)]


def _share(before: int, of: int, done: float) -> float:
    return (before + done) / of
