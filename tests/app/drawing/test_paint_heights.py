"""Heights of what lies on each other: in order always, and kept where they can be."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from app.drawing.paint_heights import LEAST_GAP, stacked


def test_what_is_in_order_keeps_its_heights() -> None:
    assert stacked([1.0, 2.5, 7.0]) == [1.0, 2.5, 7.0]


def test_the_first_are_dealt_out_from_nothing() -> None:
    assert stacked([None, None, None]) == [1.0, 2.0, 3.0]


def test_one_that_moves_lies_between_its_new_neighbours_and_no_other_moves() -> None:
    # 4 was the topmost of 1, 2, 3, 4 and goes between 1 and 2.
    assert stacked([1.0, 4.0, 2.0, 3.0]) == [1.0, 1.5, 2.0, 3.0]
    # 1 was the lowest and goes to the top.
    assert stacked([2.0, 3.0, 4.0, 1.0]) == [2.0, 3.0, 4.0, 5.0]


def test_new_ones_share_the_room_between_their_neighbours() -> None:
    # Two between 1 and 4, one under all, one over all.
    assert stacked([None, 1.0, None, None, 4.0, None]) == [0.0, 1.0, 2.0, 3.0, 4.0, 5.0]


def test_heights_that_would_come_too_near_are_all_dealt_out_anew() -> None:
    assert stacked([1.0, None, 1.0 + LEAST_GAP]) == [1.0, 2.0, 3.0]


@given(st.lists(st.none() | st.integers(-50, 50).map(float), max_size=40))
def test_heights_rise_always(heights: list[float | None]) -> None:
    out = stacked(heights)
    assert len(out) == len(heights)
    assert all(low < high for low, high in pairwise(out))
