"""Levels of many units against each other, and from them what conflicts of options of two zones."""

from __future__ import annotations

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.judging.bent import Known, bent_levels
from geometry.search.judging.units import (
    CLEAR,
    Levels,
    Makeup,
    Units,
    interval_levels,
)
from geometry.search.judging.upon_others import UponOthers
from geometry.search.long_work import Steps
from geometry.search.solving import bits
from geometry.search.solving.either_table import EitherTable
from geometry.search.solving.lists import Lists
from geometry.search.solving.marked_table import MarkedTable
from geometry.search.solving.pair_table import Gathering, PairTable

ROWS_AT_ONCE = 400
PAIRS_AT_ONCE = 2**20
"""So many rows and pairs of units are measured at once, some tens of bytes each pair."""
PAIRS_A_STEP = 2**21
"""So many pairs of units are measured between two words of how far it has come."""
CELL_MM = 40.0
"""Bounds of which the middles lie in one cell of such a grid count as near each other."""


def pair_levels(
    a: Units, b: Units, margins: Floats, touching: object = False, known: Known | None = None
) -> Levels:
    """Return the level of every pair, shape (len(a), len(b)).

    `margins` as from `role_margins`; `touching` is True, or an array of truth values that spreads
    to that shape, where two may touch because they belong to one joint. `known` is what was
    measured of others of the same shapes, and is added to.
    """
    return _levels(a, b, margins, touching, {} if known is None else known)


def box_levels(a: Units, b: Units, margins: Floats, touching: object = False) -> Levels:
    """Return the level of every pair of boxes; clear for all pairs that are not boxes both."""
    return _levels(a, b, margins, touching, None)


def _levels(a: Units, b: Units, margins: Floats, touching: object, known: Known | None) -> Levels:
    """Return levels, exact where something is `known`, be it nothing yet."""
    out = np.zeros((len(a), len(b)), dtype=np.uint8)
    joint = np.broadcast_to(np.asarray(touching, dtype=bool), out.shape)
    step = max(1, min(ROWS_AT_ONCE, PAIRS_AT_ONCE // max(1, len(b))))
    for start in range(0, len(a), step):
        rows = slice(start, start + step)
        need = np.where(joint[rows], 0.0, margins[a.role[rows][:, None], b.role[None, :]])
        need[np.isnan(margins[a.role[rows][:, None], b.role[None, :]])] = np.nan
        level = interval_levels(a.bounds[rows], b.bounds, need)
        boxes = a.is_box[rows][:, None] & b.is_box[None, :]
        if known is not None:
            i, j = np.nonzero((level > CLEAR) & ~boxes)
            level[i, j] = bent_levels(a, b, i + start, j, need[i, j], known)
        else:
            level[~boxes] = CLEAR
        out[rows] = level
    return out


Marks = tuple[Bools, Bools]
"""Which options of two zones are marked: two marked ones never stand together."""


def marked_conflicts(
    a: Makeup, b: Makeup, marked: Marks, margins: Floats, most: int
) -> Steps[MarkedTable]:
    """Return in steps which options of two zones have a level above `most`, some being marked."""
    pieces = yield from _piece_conflicts(a, b, marked, margins, most)
    rows, columns = (
        own.options.some(np.flatnonzero(~marks)) for own, marks in zip((a, b), marked, strict=True)
    )
    mine, theirs = (
        UponOthers.of(own.options, marks) for own, marks in zip((a, b), marked, strict=True)
    )
    plain = _of_options(pieces, rows, columns)
    of_rows = EitherTable(mine.below(plain), _of_options(pieces, mine.more, columns))
    more = _of_options(pieces, rows, theirs.more)
    of_columns = EitherTable(theirs.below(plain.turned()).turned(), more)
    return MarkedTable(*marked, plain, of_rows, of_columns)


def _of_options(pieces: PairTable, mine: Lists, theirs: Lists) -> PairTable:
    """Return the table of options of two zones from that of the pieces they are made of."""
    used, mine = mine.of_used()
    beside, theirs = theirs.of_used()
    few = pieces.some(used, beside)
    # The few first, so that what is made of the many has no more columns than it ends with.
    if len(mine) > len(theirs):
        columns = few.turned().of_several(theirs)
        return columns.turned().of_several(mine)
    rows = few.of_several(mine)
    return rows.turned().of_several(theirs).turned()


def _piece_conflicts(
    a: Makeup, b: Makeup, marked: Marks, margins: Floats, most: int
) -> Steps[PairTable]:
    """Return in steps which pieces have a level above `most`; of the more of them some at once.

    Those that lie near each other are looked at together, so that few others are in their reach.
    Pieces of marked options alone are not looked at with others such.
    """
    turned = len(a.pieces) < len(b.pieces)
    many, few = (b, a) if turned else (a, b)
    plain, plain_few = (_in_any(m, ~marks) for m, marks in zip((a, b), marked, strict=True))
    if turned:
        plain, plain_few = plain_few, plain
    reach_mm = float(np.nanmax(margins))
    around, beyond = many.around, few.around
    mine, theirs = _facing(around, beyond, reach_mm)
    mine = mine[by_place(around[mine])]
    mine = mine[np.argsort(~plain[mine], kind="stable")]
    of_plain = int(plain[mine].sum())
    gathering, known = Gathering(len(theirs)), Known()
    so_far = np.cumsum(np.diff(many.pieces.starts)[mine])
    step, start = max(1, PAIRS_A_STEP // max(1, len(few.units))), 0
    most_rows = max(1, bits.CELLS_AT_ONCE // max(1, len(few.pieces.numbers)))
    while start < len(mine):
        before = so_far[start - 1] if start else 0
        stop = max(start + 1, int(np.searchsorted(so_far, before + step, side="right")))
        stop = min(stop, start + most_rows, of_plain if start < of_plain else len(mine))
        rows = mine[start:stop]
        look = within_reach(beyond[theirs], around[rows], reach_mm)
        beside = np.flatnonzero(look if start < of_plain else look & plain_few[theirs])
        met = np.zeros((len(rows), len(theirs)), dtype=bool)
        if len(beside):
            used, own = many.pieces.some(rows).of_used()
            needed, others = few.pieces.some(theirs[beside]).of_used()
            some, near = many.units.some(used), few.units.some(needed)
            one, other = (near, some) if turned else (some, near)
            levels = pair_levels(one, other, margins, known=known)
            bad = (levels.T if turned else levels) > most
            met[:, beside] = others.any_column(own.any_row(bad))
        gathering.add(met)
        start = stop
        yield start / len(mine)
    ordered = gathering.table()
    table = ordered.among((mine, theirs), (len(many.pieces), len(few.pieces)))
    return table.turned() if turned else table


def _in_any(makeup: Makeup, options: Bools) -> Bools:
    """Return which pieces some options are made of."""
    found = np.zeros(len(makeup.pieces), dtype=bool)
    found[makeup.options.some(np.flatnonzero(options)).numbers] = True
    return found


def by_place(bounds: Floats) -> Indices:
    """Return an order in which bounds of about one size that lie near each other are together."""
    longest = (bounds[:, 3:] - bounds[:, :3]).max(axis=1, initial=1.0)
    x, y, z = np.floor((bounds[:, :3] + bounds[:, 3:]) / (2 * CELL_MM)).T
    return np.lexsort((x, y, z, np.floor(np.log2(longest))))


def _facing(mine: Floats, theirs: Floats, reach_mm: float) -> tuple[Indices, Indices]:
    """Return which bounds of two zones may be in reach of any of the other zone; NaN never is."""
    rows, columns = (np.flatnonzero(~np.isnan(bounds[:, 0])) for bounds in (mine, theirs))
    for _ in range(2):
        rows = rows[within_reach(mine[rows], theirs[columns], reach_mm)]
        columns = columns[within_reach(theirs[columns], mine[rows], reach_mm)]
    return rows, columns


def within_reach(some: Floats, others: Floats, reach_mm: float) -> Bools:
    """Return which of some bounds come within reach of the bounds around all others."""
    if not len(others):
        return np.zeros(len(some), dtype=bool)
    low, high = others[:, :3].min(axis=0) - reach_mm, others[:, 3:].max(axis=0) + reach_mm
    near: Bools = ((some[:, :3] <= high) & (some[:, 3:] >= low)).all(axis=1)
    return near
