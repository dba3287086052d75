"""Tables of bits turned, spread and summed are those of numpy, whatever their sizes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.measures.broadphase import Bools
from geometry.search.solving import bits
from geometry.search.solving.bits import Bits


@st.composite
def cells(draw: st.DrawFn) -> Bools:
    shape = draw(st.integers(0, 40)), draw(st.integers(0, 40))
    rng = np.random.default_rng(draw(st.integers(0, 1000)))
    return rng.random(shape) < draw(st.sampled_from((0.1, 0.5, 0.9)))


def is_of(table: Bits, expected: Bools) -> bool:
    """Whether a table has these truth values, and zeros beyond them."""
    return table.shape == expected.shape and bool((table.rows == Bits.of(expected).rows).all())


@given(cells())
def test_a_table_is_turned_bit_by_bit(table: Bools) -> None:
    assert is_of(Bits.of(table).turned(), table.T)


@given(cells(), st.data())
def test_columns_may_be_taken_in_any_order_and_twice(table: Bools, data: st.DataObject) -> None:
    width = table.shape[1]
    some = st.lists(st.integers(0, max(0, width - 1)), max_size=60 if width else 0)
    columns = np.array(data.draw(some), dtype=np.intp)
    assert is_of(Bits.of(table).spread(columns), table[:, columns])


@given(cells())
def test_weights_are_summed_exactly(table: Bools) -> None:
    weights = 2**50 + np.arange(table.shape[1], dtype=np.int64)
    assert Bits.of(table).sums(weights).tolist() == (table.astype(np.int64) @ weights).tolist()


def test_a_wide_table_is_turned_some_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    table = np.random.default_rng(1).random((30, 50)) < 0.5
    monkeypatch.setattr(bits, "CELLS_AT_ONCE", 300)
    columns = np.arange(49, -1, -1, dtype=np.intp)
    assert is_of(Bits.of(table).turned(), table.T)
    assert is_of(Bits.of(table).spread(columns), table[:, columns])
    weights = np.arange(50, dtype=np.int64)
    assert Bits.of(table).sums(weights).tolist() == (table @ weights).tolist()
