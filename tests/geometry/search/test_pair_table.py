"""Tables by classes of options say what tables of all pairs say, and take little memory."""

from __future__ import annotations

import tracemalloc
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from plain_tables import option_conflicts
from small_rooms import PUMP, exchanger, fan, layout, room, row, zone

from geometry.measures.prism import box
from geometry.measures.solid import Role
from geometry.search import listed_count
from geometry.search.fault import SearchError, TooManyListed
from geometry.search.judging.alone import ZoneJudge
from geometry.search.judging.levels import pair_levels
from geometry.search.judging.units import CLEAR, Makeup, Units, UnitSet
from geometry.search.long_work import run_through
from geometry.search.making_ready import prepared
from geometry.search.problem import Problem
from geometry.search.solving import bits, pair_table
from geometry.search.solving.lists import Lists
from geometry.search.solving.pair_table import Bools, PairTable
from geometry.search.solving.tables import Tables, merged
from geometry.search.wishes import Judging, Wishes

MARGINS = np.full((len(Role), len(Role)), 2.0)


@st.composite
def truths(draw: st.DrawFn, rows: int | None = None, columns: int | None = None) -> Bools:
    """Draw a table, of which some rows and columns are likely to be alike."""
    rows = draw(st.integers(0, 7)) if rows is None else rows
    columns = draw(st.integers(0, 7)) if columns is None else columns
    kinds = draw(st.integers(1, 4))
    small = np.array(draw(st.lists(st.booleans(), min_size=kinds**2, max_size=kinds**2)))
    number = st.integers(0, kinds - 1)
    some = [draw(st.lists(number, min_size=n, max_size=n)) for n in (rows, columns)]
    table: Bools = small.reshape(kinds, kinds)[
        np.ix_(*(np.array(one, dtype=np.intp) for one in some))
    ]
    return table


def all_differ(table: PairTable) -> bool:
    cells = table.cells.full()
    rows = {mine.tobytes() for mine in cells}
    columns = {theirs.tobytes() for theirs in cells.T}
    used = (len(set(table.rows.tolist())), len(set(table.columns.tolist())))
    return (len(rows), len(columns)) == table.cells.shape == used


def test_without_options_no_share_of_them_conflicts() -> None:
    assert PairTable.of(np.zeros((0, 3), dtype=bool)).share == 0.0
    assert PairTable.of(np.array([[True, False]])).share == 0.5


@given(truths())
def test_rows_of_one_hash_are_told_apart(table: Bools) -> None:
    with pytest.MonkeyPatch.context() as patch:
        for module in (bits, pair_table):
            patch.setattr(module, "hash", lambda _: 7, raising=False)
        found = PairTable.of(table)
    assert (found.full() == table).all()
    assert all_differ(found) or not table.size


def test_zones_that_hold_nothing_do_not_conflict() -> None:
    # No piece at all, in either of them.
    bare = Makeup.of(UnitSet().units(), [[]]).some(np.zeros(0, dtype=np.intp))
    bare = Makeup(bare.units, bare.pieces, Lists(bare.options.numbers, np.zeros(2, dtype=np.intp)))
    table = run_through(option_conflicts(bare, bare, MARGINS, CLEAR))
    assert table.shape == (1, 1)
    assert not table.any()


@given(truths(), st.lists(st.integers(0, 7), max_size=3))
def test_a_table_made_of_blocks_is_that_of_all_rows(table: Bools, cuts: Sequence[int]) -> None:
    found = PairTable.of_blocks(np.split(table, sorted(cuts)), table.shape[1])
    assert (found.full() == table).all()
    assert all_differ(found) or not table.size
    assert (found.shape, found.count, found.any()) == (table.shape, table.sum(), table.any())
    assert (found.turned().full() == table.T).all()
    for k in range(table.shape[1]):
        assert (found.column(k) == table[:, k]).all()
    for k in range(table.shape[0]):
        assert (found.row(k) == table[k]).all()


@given(st.data())
def test_some_options_and_either_of_two_tables_are_as_in_full(data: st.DataObject) -> None:
    rows, columns = data.draw(st.integers(1, 7)), data.draw(st.integers(1, 7))
    one, other = (data.draw(truths(rows, columns)) for _ in range(2))
    either = PairTable.of(one).either(PairTable.of(other))
    assert (either.full() == (one | other)).all()
    picked = [
        np.array(data.draw(st.lists(st.integers(0, n - 1), min_size=1)), dtype=np.intp)
        for n in (rows, columns)
    ]
    some = PairTable.of(one).some(*picked)
    assert (some.full() == one[np.ix_(*picked)]).all()
    assert all_differ(some)
    assert all_differ(either)


@given(st.data())
def test_what_is_made_of_several_rows_conflicts_where_one_does(data: st.DataObject) -> None:
    table = data.draw(truths(data.draw(st.integers(1, 7))))
    made_of = data.draw(st.lists(st.lists(st.integers(0, len(table) - 1)), max_size=6))
    found = PairTable.of(table).of_several(Lists.of(made_of))
    for k, one in enumerate(made_of):
        assert (found.full()[k] == table[one].any(axis=0)).all()


@given(st.data())
def test_the_opposite_of_a_table_and_single_pairs_are_as_in_full(data: st.DataObject) -> None:
    rows, columns = data.draw(st.integers(1, 7)), data.draw(st.integers(1, 19))
    table = data.draw(truths(rows, columns))
    opposite = PairTable.of(table).opposite()
    assert (opposite.full() == ~table).all()
    assert opposite.count == (~table).sum()
    at, beside = (
        np.array(data.draw(st.lists(st.integers(0, n - 1), min_size=5, max_size=5)), dtype=np.intp)
        for n in (rows, columns)
    )
    assert (opposite.each(at, beside) == ~table[at, beside]).all()


@given(st.data())
def test_classes_are_those_of_full_conflicts(data: st.DataObject) -> None:
    sizes = [data.draw(st.integers(1, 6)) for _ in range(3)]
    clash = {(i, j): data.draw(truths(sizes[i], sizes[j])) for i, j in ((0, 1), (1, 2))}
    tables = Tables.of(sizes, clash)
    beside = np.hstack((clash[0, 1].T, clash[1, 2]))
    groups: dict[bytes, list[int]] = {}
    for k, conflicts in enumerate(beside):
        groups.setdefault(conflicts.tobytes(), []).append(k)
    small = merged(tables)
    assert [m.tolist() for m in small.members[1]] == list(groups.values())
    for (i, j), table in small.tables.clash.items():
        first = [[m[0] for m in small.members[z]] for z in (i, j)]
        assert (table.full() == clash[i, j][np.ix_(*first)]).all()


def boxes(at_mm: Sequence[float]) -> Units:
    """Boxes 10 mm wide and high, and 3 mm along x from each of some places."""
    gathered = UnitSet()
    for x in at_mm:
        gathered.number(box((x, 0.0, 0.0), (x + 3.0, 10.0, 10.0)), Role.BODY, f"{x}")
    return gathered.units()


def test_tables_of_many_options_take_little_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    # A truth value for each pair of options would take 20,000 x 20,000 bytes: 400 MB.
    monkeypatch.setattr(bits, "CELLS_AT_ONCE", 2**20)
    rng = np.random.default_rng(1)
    units = boxes(np.linspace(0.0, 100.0, 20).tolist())
    made_of = [[rng.integers(0, 20, 2).tolist() for _ in range(20_000)] for _ in range(2)]
    one, other = (Makeup.of(units, some) for some in made_of)
    tracemalloc.start()
    table = run_through(option_conflicts(one, other, MARGINS, CLEAR))
    small = merged(Tables((20_000, 20_000), {(0, 1): table}))
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 30e6
    assert sum(len(m) for m in small.members[0]) == 20_000
    levels = pair_levels(units, units, MARGINS)
    for a, b in rng.integers(0, 20_000, (500, 2)).tolist():
        want = (levels[np.ix_(made_of[0][a], made_of[1][b])] > CLEAR).any()
        assert table.at(a, b) == want


@pytest.mark.parametrize("judge", ["nominal", "worst case"])
def test_a_search_that_would_list_too_much_says_so_before_it_does(
    judge: Judging, monkeypatch: pytest.MonkeyPatch
) -> None:
    floor = zone("floor-zone", "floor", (20, 40, 0), "+x", "+y", row(3))
    front = zone("front-zone", "front", (440, 40, 20), "+z", "+y", row(2))
    base = layout(room((440, 200, 400), [floor, front]), [])
    wishes = Wishes(exchangers=(exchanger(1, 30),), fans=(fan(25),), judge=judge)
    *_, ready = prepared(base, wishes)
    assert isinstance(ready, Problem)
    listed = sum(one.listed for one in ready.zones)
    each = listed_count.BYTES_AN_OPTION[judge]
    monkeypatch.setattr(listed_count, "BYTES_A_STACK", 0)
    monkeypatch.setattr(listed_count, "BYTES_AT_ALL", 0)
    monkeypatch.setattr(listed_count, "MOST_BYTES", listed * each)
    *_, ready = prepared(base, wishes)
    monkeypatch.setattr(listed_count, "MOST_BYTES", (listed - 1) * each)
    with pytest.raises(SearchError, match="options would be listed") as said:
        list(prepared(base, wishes))
    assert ("judge as drawn" in str(said.value)) == (judge == "worst case")
    for more in ("BYTES_A_STACK", "BYTES_AT_ALL"):
        with monkeypatch.context() as some:
            some.setattr(listed_count, "MOST_BYTES", listed * each)
            some.setattr(listed_count, more, 1)
            with pytest.raises(SearchError, match="options would be listed"):
                list(prepared(base, wishes))


def test_a_search_that_lists_too_much_is_refused_before_anything_is_judged_and_says_what_passes(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """One exchanger of two cells in slots of 9 mm along u: n slides give n options each."""
    floor = zone("floor-zone", "floor", (20, 40, 0), "+x", "+y", row(3, slot_u_mm=9.0))
    base = layout(room((440, 200, 400), [floor]), [])
    wishes = Wishes(exchangers=(exchanger(2, 30),), fans=(fan(25),), judge="worst case")

    def listed(slides: int) -> int:
        *_, ready = prepared(base, replace(wishes, slide_steps=slides))
        assert isinstance(ready, Problem)
        return sum(one.listed for one in ready.zones)

    each = {"nominal": 1_000, "worst case": 2_000}
    monkeypatch.setattr(listed_count, "BYTES_AN_OPTION", each)
    most, too_many = listed(5), listed(9)
    assert listed(3) < most < listed(7) < too_many < most * 8
    monkeypatch.setattr(listed_count, "BYTES_A_STACK", 0)
    monkeypatch.setattr(listed_count, "BYTES_AT_ALL", 0)
    monkeypatch.setattr(listed_count, "MOST_BYTES", most * each["worst case"])
    judged: list[object] = []
    monkeypatch.setattr(ZoneJudge, "add", lambda *added: judged.append(added))
    with pytest.raises(TooManyListed, match=f"^{too_many} options would be") as said:
        list(prepared(base, replace(wishes, slide_steps=9)))
    assert judged == []
    assert (said.value.slides, said.value.slides_as_drawn) == (5, 9)
    assert "5 slides along each slot would pass" in str(said.value)


def test_an_option_with_a_pump_is_reckoned_with_less(monkeypatch: pytest.MonkeyPatch) -> None:
    """On two cells: a fan or none on each, empty left out, and a pump on one or other of them."""
    floor = zone("floor-zone", "floor", (20, 40, 0), "+x", "+y", row(2))
    base = layout(room((440, 200, 400), [floor]), [])
    wishes = Wishes(fans=(fan(25),), judge="worst case")
    *_, without = prepared(base, wishes)
    pumped = replace(wishes, pumps=(PUMP,), pump="allowed")
    *_, ready = prepared(base, pumped)
    assert isinstance(without, Problem)
    assert isinstance(ready, Problem)
    plain = sum(one.listed for one in without.zones)
    more = sum(one.listed for one in ready.zones) - plain
    assert more > 0
    monkeypatch.setattr(listed_count, "BYTES_AN_OPTION", {"nominal": 10, "worst case": 10})
    monkeypatch.setattr(listed_count, "BYTES_WITH_A_PUMP", {"nominal": 7, "worst case": 7})
    monkeypatch.setattr(listed_count, "BYTES_A_STACK", 0)
    monkeypatch.setattr(listed_count, "BYTES_AT_ALL", 0)
    monkeypatch.setattr(listed_count, "MOST_BYTES", 10 * plain + 7 * more)
    assert isinstance([*prepared(base, pumped)][-1], Problem)
    monkeypatch.setattr(listed_count, "MOST_BYTES", 10 * plain + 7 * more - 1)
    with pytest.raises(TooManyListed):
        list(prepared(base, pumped))
