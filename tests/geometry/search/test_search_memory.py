"""What a search takes of memory grows little with what is listed, whatever is asked of it."""

from __future__ import annotations

import gc
import tracemalloc
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from search_oracle import made_ready
from small_rooms import PUMP, exchanger, fan, layout, room, row, zone

from geometry.layout import Layout
from geometry.measures.broadphase import Bools, Floats
from geometry.search.judging import levels, standing, worst
from geometry.search.judging import room as reaches
from geometry.search.listed_count import BYTES_AN_OPTION
from geometry.search.listing.zone_lister import ZoneLister
from geometry.search.long_work import run_through
from geometry.search.solving import dominance
from geometry.search.solving.bits import Bits
from geometry.search.wishes import Judging, Wishes

FEW, MANY = 11, 41

MOST_BYTES_AN_OPTION = 140
"""What one more listed option may add to what is held once a search is ready, tables included.
Measured: 129; it was 144 with a number for each prism of each option, and 569 with an object."""


def crossing() -> Layout:
    """A floor and a front zone with slots, whose stacks come near each other."""
    return layout(
        room(
            (440, 200, 400),
            [
                zone("floor-zone", "floor", (20, 40, 0), "+x", "+y", row(3, slot_u_mm=9.0)),
                zone("front-zone", "front", (440, 40, 20), "+z", "+y", row(2, slot_u_mm=12.0)),
            ],
        ),
        [],
    )


def held_bytes(slides: int) -> tuple[int, int]:
    """How many options are listed, and what the search holds of memory once it is ready (bytes)."""
    wishes = Wishes(
        exchangers=(exchanger(1, 30), exchanger(2, 45)), fans=(fan(25), fan(15)),
        slide_steps=slides, judge="nominal",
    )  # fmt: skip
    tracemalloc.start()
    problem = made_ready(crossing(), wishes)
    gc.collect()
    held, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return sum(one.listed for one in problem.zones), held


def test_one_more_option_takes_little_memory() -> None:
    held_bytes(3)  # what is kept between searches is there before
    few, many = held_bytes(FEW), held_bytes(MANY)
    assert many[0] > 3 * few[0]
    assert (many[1] - few[1]) / (many[0] - few[0]) < MOST_BYTES_AN_OPTION


def test_a_listed_stack_shares_its_layers_with_others() -> None:
    # It took 2.9 kB with layers, items and a stack of its own.
    base = crossing()
    wishes = Wishes(
        exchangers=(exchanger(1, 30), exchanger(2, 45)), fans=(fan(25), fan(15)), mixed_fans=True,
        pumps=(PUMP,), pump="allowed",
    )  # fmt: skip
    lister = ZoneLister(base, base.enclosure.zones[0], wishes, "Z1")
    tracemalloc.start()
    listed = list(lister.options())
    taken, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert len(listed) > 1_000
    assert taken / len(listed) < 600


def test_only_stacks_that_stand_at_some_slide_are_kept() -> None:
    low = layout(
        room((440, 200, 130), [zone("z", "floor", (20, 40, 0), "+x", "+y", row(2, slot_u_mm=9.0))]),
        [],
    )
    wishes = Wishes(exchangers=(exchanger(1, 30), exchanger(2, 90)), fans=(fan(25),))
    (only,) = made_ready(low, wishes).zones
    lister = ZoneLister(low, low.enclosure.zones[0], wishes, "Z1")
    stand = only.options.stacks
    assert 1 < len(stand) < sum(1 for _ in lister.options())
    assert set(only.options.stack.tolist()) == set(range(len(stand)))


def most_bytes(slides: int, judge: Judging) -> tuple[int, int]:
    """How many options are listed, and what the search takes of memory at most until it is ready.

    In bytes.
    """
    wishes = Wishes(
        exchangers=(exchanger(1, 30), exchanger(2, 45)), fans=(fan(25),),
        slide_steps=slides, judge=judge,
    )  # fmt: skip
    # When cycles are collected hangs on what else the process holds: the least is what it takes.
    taken = []
    for _ in range(2):
        gc.collect()
        tracemalloc.start()
        problem = made_ready(crossing(), wishes)
        taken.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    return sum(one.listed for one in problem.zones), min(taken)


@pytest.mark.parametrize("judge", ["nominal", "worst case"])
def test_what_an_option_is_said_to_take_is_what_it_takes(
    judge: Judging, monkeypatch: pytest.MonkeyPatch
) -> None:
    # What is looked at some at a time takes no more from so many on: it is in BYTES_AT_ALL.
    for module, name in (
        (levels, "PAIRS_A_STEP"), (levels, "PAIRS_AT_ONCE"), (standing, "PAIRS_AT_ONCE"),
        (reaches, "PAIRS_AT_ONCE"), (worst, "PLACES_AT_ONCE"),
    ):  # fmt: skip
        monkeypatch.setattr(module, name, 2**14)
    monkeypatch.setattr(levels, "ROWS_AT_ONCE", 40)
    monkeypatch.setattr(worst, "PAIRS_AT_ONCE", 2_000)
    most_bytes(3, judge)  # what is kept between searches is there before
    few, many = most_bytes(15, judge), most_bytes(25, judge)
    assert many[0] > 1.5 * few[0]
    measured = (many[1] - few[1]) / (many[0] - few[0])
    assert measured <= BYTES_AN_OPTION[judge] < 4 * measured, measured


def stood_in_for(conflicts: Bools, values: Floats) -> Iterator[bool]:
    """Say plainly of each option whether another can stand in for it."""
    for x in range(len(values)):
        found = False
        for y in range(len(values)):
            may = not (conflicts[y] & ~conflicts[x]).any() and (values[y] >= values[x]).all()
            same = (conflicts[x] == conflicts[y]).all() and (values[x] == values[y]).all()
            found |= x != y and bool(may) and (not same or y < x)
        yield found


@given(st.data())
def test_what_is_stood_in_for_is_found_some_options_at_a_time(data: st.DataObject) -> None:
    count, zones = data.draw(st.integers(1, 12)), data.draw(st.integers(0, 4))
    bools = st.lists(st.booleans(), min_size=zones, max_size=zones)
    classes = np.array(data.draw(st.lists(bools, min_size=1, max_size=5)), dtype=bool)
    numbers = st.lists(st.integers(0, 2), min_size=2, max_size=2)
    values = np.array(data.draw(st.lists(numbers, min_size=count, max_size=count)), dtype=float)
    place = st.lists(st.integers(0, len(classes) - 1), min_size=count, max_size=count)
    places = np.array(data.draw(place), dtype=np.intp)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(dominance, "OPTIONS_AT_ONCE", 3)
        patch.setattr(dominance, "CELLS_AT_ONCE", 8)
        patch.setattr(dominance, "ROUNDS_AT_FIRST", data.draw(st.integers(0, 3)))
        found = run_through(dominance._stood_in_for(Bits.of(classes), places, values))
        best = run_through(dominance._best_of_each(places, values))
    assert found.tolist() == list(stood_in_for(classes[places], values))
    own_class = places[:, None] == np.arange(len(classes))
    alone = np.flatnonzero(~np.array(list(stood_in_for(own_class, values))))
    assert best.tolist() == alone.tolist()


def test_dominance_among_many_options_takes_little_memory() -> None:
    # A figure for each pair of 8,000 options would take 256 MB.
    draw = np.random.default_rng(1)
    conflicts = draw.random((8_000, 400)) < 0.05
    values = draw.random((8_000, 2))
    tracemalloc.start()
    found = run_through(dominance._stood_in_for(Bits.of(conflicts), np.arange(8_000), values))
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert 0 < np.count_nonzero(~found) <= 8_000
    assert most < 80e6


def unbeaten(count: int) -> Floats:
    """Values in two measures of options of which none is better than another."""
    more = np.arange(count, dtype=np.float64)
    return np.stack([more, more[::-1]], axis=1)


def test_not_more_than_so_many_cells_are_compared_at_once_where_few_zones_conflict(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(dominance, "OPTIONS_AT_ONCE", 10)
    monkeypatch.setattr(dominance, "CELLS_AT_ONCE", 100)
    compared, most = dominance._may_stand_for, 0

    def counted(*of: Any) -> Bools:
        nonlocal most
        most = max(most, len(of[3]) * len(of[4]))
        return compared(*of)

    monkeypatch.setattr(dominance, "_may_stand_for", counted)
    alike = np.zeros(100, dtype=np.intp)
    worse = run_through(
        dominance._stood_in_for(Bits.of(np.ones((1, 2), bool)), alike, unbeaten(100))
    )
    assert not worse.any()
    assert most == 100
