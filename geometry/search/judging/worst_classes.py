"""What falls short in the worst case, for classes of options that stand alike to the other zone.

Options that conflict with the same as drawn, and hold the same solids in reach of the other zone,
fall short with the same. So one of each class is looked at.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from geometry.measures.broadphase import Floats, Indices
from geometry.search.judging.levels import within_reach
from geometry.search.judging.steps import Steps, share_of, told_as
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.worst import short_table
from geometry.search.solving.bits import alike, as_bytes
from geometry.search.solving.marked_table import MarkedTable
from geometry.search.solving.pair_table import PairTable, sets_of


def short_classes(a: Tolerant, b: Tolerant, margins: Floats, known: PairTable) -> Steps[PairTable]:
    """Return in steps which options of two zones conflict, or fall short in the worst case.

    `known` is what conflicts as drawn, and `margins` as from `role_margins`.
    """
    reach_mm = float(np.nanmax(margins))
    mine, theirs = a.far(a.every), b.far(b.every)
    first, row = _classes(a, np.flatnonzero(within_reach(mine, theirs, reach_mm)), known.rows)
    near = np.flatnonzero(within_reach(theirs, mine, reach_mm))
    heads, column = _classes(b, near, known.columns)
    del mine, theirs
    drawn = known.some(first, heads)
    table = yield from short_table(a.only(first), b.only(heads), margins, drawn)
    return table.some(row, column)


def short_marked(
    a: Tolerant, b: Tolerant, margins: Floats, known: MarkedTable
) -> Steps[MarkedTable]:
    """Return in steps the same of zones with marked options, of which two never stand together."""
    (mine, chosen), (theirs, beside) = (
        (options.only(np.flatnonzero(~marks)), options.only(np.flatnonzero(marks)))
        for options, marks in ((a, known.marked_rows), (b, known.marked_columns))
    )
    parts = []
    pairs = ((mine, theirs), (chosen, theirs), (mine, beside))
    tables = (known.plain, known.of_rows, known.of_columns)
    for at, (pair, drawn) in enumerate(zip(pairs, tables, strict=True)):
        told = partial(share_of, (at / len(pairs), (at + 1) / len(pairs)))
        parts.append((yield from told_as(short_classes(*pair, margins, drawn), told)))
    return MarkedTable(known.marked_rows, known.marked_columns, *parts)


def _classes(options: Tolerant, near: Indices, drawn: Indices) -> tuple[Indices, Indices]:
    """Return the first option of each class, and the class of each option."""
    felt = np.zeros(len(options), dtype=bool)
    felt[near] = True
    places = sets_of(options.held, options.starts, felt)
    return alike(as_bytes(np.hstack((drawn[:, None].astype(np.int32), places))))
