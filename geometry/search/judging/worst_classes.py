"""What falls short in the worst case, for classes of options that stand alike to the other zone.

Options that conflict with the same as drawn, and hold the same solids in reach of the other zone,
fall short with the same. So one of each class is looked at.
"""

from __future__ import annotations

import numpy as np

from geometry.measures.broadphase import Floats, Indices
from geometry.search.judging.levels import within_reach
from geometry.search.judging.steps import Steps
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.worst import short_table
from geometry.search.solving.bits import alike, as_bytes
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


def _classes(options: Tolerant, near: Indices, drawn: Indices) -> tuple[Indices, Indices]:
    """Return the first option of each class, and the class of each option."""
    felt = np.zeros(len(options), dtype=bool)
    felt[near] = True
    places = sets_of(options.numbers, options.starts, felt)
    return alike(as_bytes(np.hstack((drawn[:, None], places))))
