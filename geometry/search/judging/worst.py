"""Which options keep their margin as drawn, but not once every dimension is off.

The same figures as the check of the worst case has (`geometry.stackup`): each dimension is put to
its limits, and what the gap loses adds up. What a dimension does to a solid does not depend on what
stands elsewhere, so a pair of solids decides for itself and tables stay a proof. A pair of places
where solids stand is judged once for all options that hold them, and only where some of these do
not conflict yet. Arrays decide boxes, and tell of most other faces that they keep their margin for
sure; what is left is measured face by face as the check does.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.judging.levels import within_reach
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.worst_pairs import FacePairs, Seen
from geometry.search.long_work import Steps, told_as
from geometry.search.solving.pair_table import Gathering, PairTable

PLACES_AT_ONCE = 2**20
"""So many pairs of places are looked at at once, some tens of bytes each."""
PAIRS_AT_ONCE = 40_000
"""So many pairs of faces are looked at at once, about a kilobyte each."""
MEASURED_AT_ONCE = 200
ROUNDS = 8
"""So often at most it is looked at what conflicts by then, which leaves less to measure."""


def short_options(
    a: Tolerant,
    b: Tolerant,
    margins: Floats,
    known: Bools | None = None,
    skip: Bools | None = None,
    seen: Seen | None = None,
) -> Steps[Bools]:
    """Return which options of two zones fall short in the worst case, shape (a.size, b.size).

    As from `short_table`, for few options of one of them.
    """
    drawn = np.zeros((a.size, b.size), dtype=bool) if known is None else known
    return (yield from short_table(a, b, margins, PairTable.of(drawn), skip, seen)).full()


def short_table(
    a: Tolerant,
    b: Tolerant,
    margins: Floats,
    known: PairTable,
    skip: Bools | None = None,
    seen: Seen | None = None,
) -> Steps[PairTable]:
    """Return which options of two zones conflict, or fall short in the worst case.

    `margins` as from `role_margins`; `known` is what conflicts anyway; `skip` marks pairs of places
    that are not looked at; `seen` keeps what was measured of other options of the same solids. Done
    in steps.
    """
    facing = Facing.of(a, b, margins)
    if not len(facing.mine) or not len(facing.theirs):
        return known
    table, left = yield from told_as(facing.by_arrays(known, skip), lambda done: done / 2)
    measuring = facing.measured(table, left, {} if seen is None else seen)
    return (yield from told_as(measuring, lambda done: (1 + done) / 2))


@dataclass(frozen=True, eq=False)
class Facing:
    """The places `mine` of `a` and `theirs` of `b` where solids stand in reach of the other zone.

    Places in tables are numbered among these.
    """

    a: Tolerant
    b: Tolerant
    margins: Floats
    mine: Indices
    theirs: Indices

    @classmethod
    def of(cls, a: Tolerant, b: Tolerant, margins: Floats) -> Facing:
        reach_mm = float(np.nanmax(margins))
        my_far, their_far = a.far(a.every), b.far(b.every)
        mine = np.flatnonzero(within_reach(my_far, their_far, reach_mm))
        theirs = np.flatnonzero(within_reach(their_far, my_far[mine], reach_mm))
        # Solids alike stand near each other, so that some of them at once have less in reach.
        mine = mine[np.argsort(a.kind[mine], kind="stable")]
        return cls(a, b, margins, mine, theirs)

    @cached_property
    def my_far(self) -> Floats:
        """The bounds that what stands at each of my places never passes."""
        return self.a.far(self.mine)

    @cached_property
    def their_far(self) -> Floats:
        """The bounds that what stands at each of their places never passes."""
        return self.b.far(self.theirs)

    def by_arrays(self, known: PairTable, skip: Bools | None) -> Steps[tuple[PairTable, FacePairs]]:
        """Return what conflicts as far as arrays tell, and the pairs of faces they leave open."""
        a, b = self.a, self.b
        undecided = self._undecided(known)
        gathering = Gathering(len(self.theirs))
        left: list[FacePairs] = []
        for done, rows in self._some_rows():
            columns = self._in_reach_of(rows)
            look = undecided.part(rows, columns)
            if skip is not None:
                look &= ~skip[np.ix_(self.mine[rows], self.theirs[columns])]
            at, beside, need = self.doubtful(rows, columns, look)
            short = np.zeros((len(rows), len(self.theirs)), dtype=bool)
            i, j = self.mine[rows[at]], self.theirs[beside]
            for one, places in ((a, i), (b, j)):
                for _ in one.faces.filling(one.kind[places]):
                    yield done
            parts = _parts_of_pairs(FacePairs.counts(a, b, i, j))
            for number, part in enumerate(parts, start=1):
                pairs = FacePairs.of(a, b, i[part], j[part], need[part])
                falls, open_ones = pairs.by_arrays()
                of_pair = np.repeat(part, FacePairs.counts(a, b, i[part], j[part]))
                short[at[of_pair[falls]], beside[of_pair[falls]]] = True
                open_ones &= ~short[at[of_pair], beside[of_pair]]
                left.append(pairs.some(open_ones))
                yield done + number / len(parts) * len(rows) / len(self.mine)
            gathering.add(short)
        nothing = np.zeros(0, dtype=np.intp)
        none = FacePairs.of(a, b, nothing, nothing, np.zeros(0))
        return known.either(self._of_options(gathering.table())), none.with_more(left)

    def measured(self, table: PairTable, left: FacePairs, seen: Seen) -> Steps[PairTable]:
        """Return what conflicts when the pairs of faces that are left are measured too.

        Whatever is alike is measured once, and nothing between options that conflict by then.
        """
        number_a, number_b = _numbers(self.mine, len(self.a)), _numbers(self.theirs, len(self.b))
        measured = 0
        for part in left.parts(max(MEASURED_AT_ONCE, -(-len(left.i) // ROUNDS))):
            undecided = self._undecided(table)
            some = part.some(undecided.each(number_a[part.i], number_b[part.j]))
            short = np.zeros(len(some.i), dtype=bool)
            for start in range(0, len(some.i), MEASURED_AT_ONCE):
                rows = np.arange(start, min(start + MEASURED_AT_ONCE, len(some.i)))
                short[rows] = some.some(rows).one_by_one(seen)
                yield (measured + start) / len(left.i)
            measured += len(part.i)
            falls = some.some(short)
            found = self._table(number_a[falls.i], number_b[falls.j])
            table = table.either(self._of_options(found))
        return table

    def _some_rows(self) -> Iterator[tuple[float, Indices]]:
        """Yield the places of `a`, some at once, and before them how much is done (0 to 1)."""
        step = max(1, PLACES_AT_ONCE // len(self.theirs))
        for start in range(0, len(self.mine), step):
            stop = min(start + step, len(self.mine))
            yield start / len(self.mine), np.arange(start, stop, dtype=np.intp)

    def _in_reach_of(self, rows: Indices) -> Indices:
        """Return the places of `b` within reach of the bounds around some of `a`."""
        mine, theirs = self.my_far[rows], self.their_far
        return np.flatnonzero(within_reach(theirs, mine, float(np.nanmax(self.margins))))

    def doubtful(
        self, rows: Indices, columns: Indices, look: Bools
    ) -> tuple[Indices, Indices, Floats]:
        """Return which pairs of places come nearer than their margin when all is off, and it.

        The number in `rows` and the place of `b`, of those that `look` marks in rows and columns.
        As in the check, what the bounds that nothing passes keep apart is not among them.
        """
        mine, theirs = self.my_far[rows], self.their_far[columns]
        at, beside = np.nonzero(look & _near(mine, theirs, float(np.nanmax(self.margins))))
        roles = self.a.role(self.mine[rows[at]]), self.b.role(self.theirs[columns[beside]])
        need = self.margins[roles]
        squared = np.zeros(len(at))
        for k in range(3):
            apart = theirs[beside, k] - mine[at, k + 3]
            np.maximum(apart, mine[at, k] - theirs[beside, k + 3], out=apart)
            squared += np.maximum(apart, 0.0) ** 2
        least = np.sqrt(squared)
        doubtful = ~np.isnan(need) & ((least <= 0.0) | (least < need - LENGTH_EPS_MM))
        return at[doubtful], columns[beside[doubtful]], need[doubtful]

    def _undecided(self, known: PairTable) -> PairTable:
        """Return which pairs of places are held by options that do not conflict yet."""
        mine = self.a.owners.some(self.mine)
        theirs = self.b.owners.some(self.theirs)
        rows = known.opposite().of_several(mine)
        return rows.turned().of_several(theirs).turned()

    def _of_options(self, places: PairTable) -> PairTable:
        """Return which options hold any of the pairs of places in a table."""
        every = places.among((self.mine, self.theirs), (len(self.a), len(self.b)))
        rows = every.of_several(self.a.lists)
        return rows.turned().of_several(self.b.lists).turned()

    def _table(self, at: Indices, beside: Indices) -> PairTable:
        """Return the table of some pairs of places."""
        order = np.argsort(at, kind="stable")
        at, beside = at[order], beside[order]
        gathering = Gathering(len(self.theirs))
        for _, rows in self._some_rows():
            own = slice(*np.searchsorted(at, (rows[0], rows[-1] + 1)).tolist())
            cells = np.zeros((len(rows), len(self.theirs)), dtype=bool)
            cells[at[own] - rows[0], beside[own]] = True
            gathering.add(cells)
        return gathering.table()


def _parts_of_pairs(faces: Indices) -> list[Indices]:
    """Return pairs of places, some at once, that have not too many pairs of faces together."""
    heads = np.flatnonzero(np.diff(np.cumsum(faces) // PAIRS_AT_ONCE)) + 1
    return [part for part in np.split(np.arange(len(faces)), heads) if len(part)]


def _numbers(some: Indices, of: int) -> Indices:
    """Return the number of each of so many places among some of them."""
    out = np.zeros(of, dtype=np.intp)
    out[some] = np.arange(len(some))
    return out


def _near(mine: Floats, theirs: Floats, reach_mm: float) -> Bools:
    """Return which bounds come within reach of each other along every axis."""
    near = np.ones((len(mine), len(theirs)), dtype=bool)
    for k in range(3):
        near &= theirs[None, :, k] <= mine[:, None, k + 3] + reach_mm
        near &= mine[:, None, k] <= theirs[None, :, k + 3] + reach_mm
    return near
