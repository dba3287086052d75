"""What is kept of the last few values is theirs, however many threads ask."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor

import pytest
from small_rooms import exchanger

from catalog.model import FrozenMap
from geometry.recent import Recent
from geometry.stackup.part_deviations import changes_of


class Thing:
    """Equal to all of its kind, and told from them only by which it is."""

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Thing)

    def __hash__(self) -> int:
        return 0


@pytest.fixture
def _threads_take_turns_often() -> Iterator[None]:
    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    yield
    sys.setswitchinterval(before)


def counted() -> Callable[[], int]:
    return iter(range(1_000_000)).__next__


def test_it_looks_once_for_each_value_however_alike() -> None:
    kept, find = Recent[int](4), counted()
    one, other = Thing(), Thing()
    assert [kept.of(each, find=find) for each in (one, other, one, other)] == [0, 1, 0, 1]


def test_all_values_count_in_their_order_and_so_does_what_is_beside() -> None:
    kept, find = Recent[int](9), counted()
    one, other = Thing(), Thing()
    asked = [((one, other), "a"), ((other, one), "a"), ((one, other), "b"), ((one,), "a")]
    assert [kept.of(*values, beside=beside, find=find) for values, beside in asked] == [0, 1, 2, 3]
    assert [kept.of(*values, beside=beside, find=find) for values, beside in asked] == [0, 1, 2, 3]


def test_what_is_asked_for_stays_however_long_ago_it_was_found() -> None:
    kept, find = Recent[int](2), counted()
    one, two, three = Thing(), Thing(), Thing()
    assert [kept.of(each, find=find) for each in (one, two, one, three)] == [0, 1, 0, 2]
    assert [kept.of(each, find=find) for each in (one, two)] == [0, 3]


def test_the_oldest_goes_first() -> None:
    kept, find = Recent[int](2), counted()
    one, two, three = Thing(), Thing(), Thing()
    assert [kept.of(each, find=find) for each in (one, two, three)] == [0, 1, 2]
    assert [kept.of(each, find=find) for each in (three, two, one)] == [2, 1, 3]


def test_a_value_made_after_another_is_gone_is_not_taken_for_it() -> None:
    # Without a hold on it a new one would come to lie where the last one lay.
    kept = Recent[int](64)
    assert [kept.of(Thing(), find=lambda k=k: k) for k in range(64)] == list(range(64))  # type: ignore[misc]


def test_what_could_not_be_found_is_looked_for_again() -> None:
    kept, one = Recent[int](2), Thing()
    with pytest.raises(ZeroDivisionError):
        kept.of(one, find=lambda: 1 // 0)
    assert kept.of(one, find=lambda: 7) == 7


@pytest.mark.usefixtures("_threads_take_turns_often")
def test_threads_ask_for_more_values_than_are_kept() -> None:
    kept = Recent[int](8)
    things = {k: Thing() for k in range(50)}

    def ask(_: int) -> None:
        for _ in range(40):
            for k, thing in things.items():
                assert kept.of(thing, find=lambda k=k: k) == k  # type: ignore[misc]

    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(ask, range(4))) == [None] * 4


@pytest.mark.usefixtures("_threads_take_turns_often")
def test_threads_ask_what_may_be_off_in_more_parts_than_are_kept() -> None:
    parts = [exchanger(2, 15 + k / 100, 80.0).but(id=f"e{k}") for k in range(300)]

    def ask(_: int) -> int:
        return sum(len(changes_of(part, FrozenMap(), FrozenMap())) for part in parts)

    with ThreadPoolExecutor(2) as pool:
        first, *rest = pool.map(ask, range(4))
    assert first > len(parts)
    assert rest == [first] * 3
