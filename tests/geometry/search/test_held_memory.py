"""A search that comes to hold too much memory ends in words, and no other does."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from search_oracle import made_ready
from small_rooms import exchanger, fan, layout, room, row, zone

from geometry.layout import Layout
from geometry.search import held_memory
from geometry.search.fault import TooMuchHeld
from geometry.search.held_memory import Held, held_bytes
from geometry.search.wishes import Judging, Wishes

WISHES = Wishes(exchangers=(exchanger(1, 30),), fans=(fan(25),))


def box() -> Layout:
    return layout(room((440, 200, 400), [zone("z", "floor", (20, 40, 0), "+x", "+y", row(2))]), [])


def test_what_the_process_holds_grows_with_what_is_put_in() -> None:
    before = held_bytes()
    assert before is not None
    some = np.ones(50_000_000, dtype=np.uint8)
    now = held_bytes()
    assert now is not None
    assert now - before > 0.8 * some.nbytes


@pytest.mark.parametrize("judge", ["nominal", "worst case"])
def test_a_search_that_holds_too_much_says_what_helps(
    judge: Judging, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = iter(range(0, 10**12, held_memory.MOST_GROWN_BYTES // 2))
    monkeypatch.setattr(held_memory, "held_bytes", lambda: next(told))
    with pytest.raises(TooMuchHeld, match="more than 750 MB of memory") as said:
        made_ready(box(), Wishes(WISHES.exchangers, WISHES.fans, judge=judge))
    assert ("judge as drawn" in said.value.ways) == (judge == "worst case")
    assert all(f"\n- {way}" in str(said.value) for way in said.value.ways)


def test_what_is_free_is_given_back_before_a_search_ends_in_words(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    held = [10**9]
    monkeypatch.setattr(held_memory, "held_bytes", lambda: held[0])
    monkeypatch.setattr(held_memory, "give_back", lambda: held.__setitem__(0, 10**8))
    Held(1).need_room(by_worst_case=False)
    monkeypatch.setattr(held_memory, "give_back", lambda: None)
    held[0] = 10**9
    with pytest.raises(TooMuchHeld):
        Held(1).need_room(by_worst_case=False)


def test_near_its_limit_a_search_does_not_look_for_what_is_free_at_every_step(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # It was looked for 255 times, a second and a half each, to find 15 MB.
    most, given = held_memory.MOST_GROWN_BYTES, [0]
    now = [most + 20_000_000]

    def little() -> None:
        given[0] += 1
        now[0] = most - 10_000_000

    monkeypatch.setattr(held_memory, "held_bytes", lambda: now[0])
    monkeypatch.setattr(held_memory, "give_back", little)
    held = Held(0)
    for _ in range(50):
        held.need_room(by_worst_case=True)
        now[0] = most + 20_000_000
    assert given == [1]
    now[0] = most + 60_000_000
    held.need_room(by_worst_case=True)
    assert given == [2]
    monkeypatch.setattr(held_memory, "give_back", lambda: None)
    now[0] = most + 60_000_000
    with pytest.raises(TooMuchHeld):
        held.need_room(by_worst_case=True)


@pytest.mark.parametrize(("grown", "times"), [(held_memory.MUCH_BYTES, 0), (500_000_000, 1)])
def test_what_is_free_is_given_back_after_each_zone_where_much_was_added(
    grown: int, times: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = itertools.chain([0], itertools.repeat(grown))
    given: list[int] = []
    monkeypatch.setattr(held_memory, "held_bytes", lambda: next(told))
    monkeypatch.setattr(held_memory, "give_back", lambda: given.append(grown))
    made_ready(box(), WISHES)
    assert len(given) == times


def test_what_is_freed_is_held_no_more_once_it_is_given_back() -> None:
    before = held_bytes()
    some = [bytes([k % 251]) * 50_000 for k in range(2_000)]
    full = held_bytes()
    del some
    held_memory.give_back()
    after = held_bytes()
    assert before is not None
    assert full is not None
    assert after is not None
    assert full - before > 80_000_000
    assert after - before < 20_000_000


def test_where_the_system_does_not_tell_nothing_is_limited(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(held_memory, "held_bytes", lambda: None)
    assert len(made_ready(box(), WISHES).zones) == 1
    Held(1).need_room(by_worst_case=False)
