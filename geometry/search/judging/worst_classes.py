"""What falls short in the worst case, for classes of options that stand alike to the other zone.

Options that conflict with the same as drawn, and hold the same solids in reach of the other zone,
fall short with the same. So one of each class is looked at.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from geometry.measures.broadphase import Floats, Indices
from geometry.search.judging.levels import within_reach
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.upon_others import UponOthers
from geometry.search.judging.worst import short_table
from geometry.search.long_work import Steps, share_of, told_as
from geometry.search.solving.bits import alike, as_bytes
from geometry.search.solving.either_table import EitherTable
from geometry.search.solving.lists import sets_of
from geometry.search.solving.marked_table import MarkedTable, Part
from geometry.search.solving.pair_table import PairTable


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
    rows, columns = known.marked_rows, known.marked_columns
    mine, theirs = (
        options.only(np.flatnonzero(~marks)) for options, marks in ((a, rows), (b, columns))
    )
    plain = yield from _told(0, short_classes(mine, theirs, margins, known.plain))
    upon, beside = (
        UponOthers.of(options.lists, marks) for options, marks in ((a, rows), (b, columns))
    )
    drawn = _more(known.of_rows)
    more = yield from _told(1, short_classes(a.made_of(upon.more), theirs, margins, drawn))
    of_rows = _put(known.of_rows, upon.below(plain), more)
    drawn = _more(known.of_columns)
    more = yield from _told(2, short_classes(mine, b.made_of(beside.more), margins, drawn))
    of_columns = _put(known.of_columns, beside.below(plain.turned()).turned(), more)
    return MarkedTable(rows, columns, plain, of_rows, of_columns)


PARTS = 3


def _told(part: int, steps: Steps[PairTable]) -> Steps[PairTable]:
    """Take one part of a table in steps as a share of the whole."""
    return told_as(steps, partial(share_of, (part / PARTS, (part + 1) / PARTS)))


def _more(drawn: Part) -> PairTable:
    """Return what marked options conflict with as drawn by what they have more than others."""
    return drawn.other if isinstance(drawn, EitherTable) else drawn


def _put(drawn: Part, below: PairTable, more: PairTable) -> EitherTable:
    """Return what marked options conflict with by those below them, and by what is more."""
    return EitherTable(drawn.one.either(below) if isinstance(drawn, EitherTable) else below, more)


def _classes(options: Tolerant, near: Indices, drawn: Indices) -> tuple[Indices, Indices]:
    """Return the first option of each class, and the class of each option."""
    felt = np.zeros(len(options), dtype=bool)
    felt[near] = True
    places = sets_of(options.lists, felt)
    return alike(as_bytes(np.hstack((drawn[:, None].astype(np.int32), places))))
