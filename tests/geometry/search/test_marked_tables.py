"""Tables with marked options say what whole tables say in which two marked ones conflict."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from plain_tables import whole

from geometry.measures.broadphase import Bools, Indices
from geometry.search.solving import bits, zone_tables
from geometry.search.solving.count import count_all
from geometry.search.solving.either_table import EitherTable
from geometry.search.solving.marked_table import MarkedTable
from geometry.search.solving.pair_table import PairTable
from geometry.search.solving.zone_tables import ZoneTables


@st.composite
def marks(draw: st.DrawFn, least: int = 1) -> Bools:
    return np.array(draw(st.lists(st.booleans(), min_size=least, max_size=6)), dtype=bool)


def plainly(draw: st.DrawFn, mine: Bools, theirs: Bools) -> Bools:
    """Any table of two zones in which two marked options conflict."""
    cells = draw(
        st.lists(st.booleans(), min_size=mine.size * theirs.size, max_size=mine.size * theirs.size)
    )
    found: Bools = np.array(cells, dtype=bool).reshape(mine.size, theirs.size)
    return found | np.outer(mine, theirs)


def numbers(draw: st.DrawFn, count: int) -> Indices:
    return np.array(
        draw(st.lists(st.integers(0, count - 1), min_size=1, max_size=8)), dtype=np.intp
    )


@given(st.data())
def test_a_marked_table_says_what_the_whole_table_says(data: st.DataObject) -> None:
    mine, theirs = data.draw(marks()), data.draw(marks())
    whole = plainly(data.draw, mine, theirs)
    table = MarkedTable.of(PairTable.of(whole), mine, theirs)
    assert (table.full() == whole).all()
    assert (table.turned().full() == whole.T).all()
    assert (table.whole().full() == whole).all()
    assert table.shape == whole.shape
    assert (table.count, table.any()) == (whole.sum(), whole.any())
    for row, column in product(range(mine.size), range(theirs.size)):
        assert table.at(row, column) == whole[row, column]
    assert all((table.row(k) == whole[k]).all() for k in range(mine.size))
    assert all((table.column(k) == whole[:, k]).all() for k in range(theirs.size))
    rows, columns = numbers(data.draw, mine.size), numbers(data.draw, theirs.size)
    some = table.some(rows, columns)
    assert (some.full() == whole[np.ix_(rows, columns)]).all()
    other = plainly(data.draw, mine, theirs)
    either = table.either(MarkedTable.of(PairTable.of(other), mine, theirs))
    assert (either.full() == (whole | other)).all()


@given(st.data())
def test_two_tables_that_are_not_put_together_say_what_both_say(data: st.DataObject) -> None:
    mine, theirs = data.draw(marks()), data.draw(marks())
    one, other, more = (plainly(data.draw, mine & False, theirs) for _ in range(3))
    tables = [PairTable.of(cells) for cells in (one, other, more)]
    either, both = EitherTable(*tables[:2]), one | other
    assert (either.full() == both).all()
    assert (either.turned().full() == both.T).all()
    assert either.shape == both.shape
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bits, "CELLS_AT_ONCE", 2)
        assert (either.count, either.any()) == (both.sum(), both.any())
    for row, column in product(range(mine.size), range(theirs.size)):
        assert either.at(row, column) == both[row, column]
    assert all((either.row(k) == both[k]).all() for k in range(mine.size))
    assert all((either.column(k) == both[:, k]).all() for k in range(theirs.size))
    rows, columns = numbers(data.draw, mine.size), numbers(data.draw, theirs.size)
    for some in (either.some(rows, columns), either.apart(rows, columns)):
        assert (some.full() == both[np.ix_(rows, columns)]).all()
    for third in (tables[2], EitherTable(tables[2], tables[0])):
        assert (either.either(third).full() == both | more).all()


@given(st.data())
def test_marked_tables_hold_parts_that_are_not_put_together(data: st.DataObject) -> None:
    mine, theirs = data.draw(marks()), data.draw(marks())
    one, other = (plainly(data.draw, mine, theirs) for _ in range(2))
    parts = [MarkedTable.of(PairTable.of(cells), mine, theirs) for cells in (one, other)]
    of_rows, of_columns = (
        EitherTable(*(getattr(part, name) for part in parts)) for name in ("of_rows", "of_columns")
    )
    plain = parts[0].plain.either(parts[1].plain)
    table, both = MarkedTable(mine, theirs, plain, of_rows, of_columns), one | other
    assert (table.full() == both).all()
    assert (table.turned().full() == both.T).all()
    assert table.count == both.sum()
    rows, columns = numbers(data.draw, mine.size), numbers(data.draw, theirs.size)
    assert (table.some(rows, columns).full() == both[np.ix_(rows, columns)]).all()
    assert (table.with_marks(rows, columns).full() == both[np.ix_(rows, columns)]).all()
    for more in (table.either(parts[0]), parts[0].either(table)):
        assert (more.full() == both).all()


@given(st.data())
def test_domains_hold_each_combination_that_fits_once(data: st.DataObject) -> None:
    every = [data.draw(marks()) for _ in range(3)]
    clash = {(i, j): plainly(data.draw, every[i], every[j]) for i, j in ((0, 1), (0, 2), (1, 2))}
    tables = ZoneTables(
        tuple(every),
        {
            (i, j): MarkedTable.of(PairTable.of(t), every[i], every[j])
            for (i, j), t in clash.items()
        },
    )
    fit = {
        one
        for one in product(*(range(len(m)) for m in every))
        if not any(table[one[i], one[j]] for (i, j), table in clash.items())
    }
    assert {one for one in product(*(range(len(m)) for m in every)) if tables.fits(one)} == fit
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(zone_tables, "MARKED_AT_ONCE", 2)
        domains = tables.domains()
    assert sum(count_all(tables.kept(one.options)) for one in domains) == len(fit)
    assert count_all(whole(tables)) == len(fit)
    plain = [one for one in fit if not any(m[k] for m, k in zip(every, one, strict=True))]
    unmarked = [one for one in domains if not one.marked]
    assert [count_all(tables.kept(one.options)) for one in unmarked] == [len(plain)]
    for one in domains:
        held = {one.original(c) for c in product(*(range(len(k)) for k in one.options))}
        assert len(held) == one.combinations
        for combination in held:
            chosen = sum(bool(m[k]) for m, k in zip(every, combination, strict=True))
            assert chosen == one.marked
