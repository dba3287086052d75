"""What is listed once for each zone that may be first to have something ahead counts exactly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product

import numpy as np
import numpy.typing as npt
from hypothesis import given
from hypothesis import strategies as st

from geometry.search.past_nominal import _ways

Ahead = Mapping[int, npt.NDArray[np.bool_]]

SIZES = {1: 2, 2: 3, 3: 2}
"""How many options each of the other zones has."""

marks = st.fixed_dictionaries(
    {}, optional={z: st.lists(st.booleans(), min_size=n, max_size=n) for z, n in SIZES.items()}
)


def arrays(drawn: Mapping[int, Sequence[bool]]) -> Ahead:
    return {z: np.array(every) for z, every in drawn.items() if any(every)}


def times_listed(ahead: Sequence[Ahead], chosen: Mapping[int, int]) -> int:
    ways = list(_ways(ahead, list(SIZES)))
    return sum(not any(every[chosen[z]] for z, every in way.items()) for way in ways)


@given(st.lists(marks.map(arrays), min_size=1, max_size=4))
def test_a_combination_is_listed_once_where_all_items_have_something_ahead(
    ahead: list[Ahead],
) -> None:
    for picks in product(*(range(n) for n in SIZES.values())):
        chosen = dict(zip(SIZES, picks, strict=True))
        stands = all(any(here[z][chosen[z]] for z in here) for here in ahead)
        assert times_listed(ahead, chosen) == stands


def test_items_that_the_same_things_are_ahead_of_are_listed_as_one() -> None:
    one = arrays({1: [False, True], 2: [False, True, True], 3: [False, True]})
    assert len(list(_ways([one] * 12, list(SIZES)))) == 3


def test_an_item_whose_demand_follows_from_another_s_adds_nothing() -> None:
    narrow = arrays({1: [False, True], 2: [False, True, False]})
    wide = arrays({1: [False, True], 2: [False, True, True], 3: [False, True]})
    for ahead in ([narrow, wide, wide], [wide, wide, narrow], [wide, narrow, wide]):
        assert len(list(_ways(ahead, list(SIZES)))) == 2
