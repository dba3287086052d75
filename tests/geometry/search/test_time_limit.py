"""The time that a search is given bounds its rows too, and what is counted as like them."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator

import pytest
from search_ends import pattern_count
from search_oracle import made_ready
from small_rooms import exchanger, fan, layout, room, row, zone

from geometry.search import answers as answers_module
from geometry.search.answers import MEASURES, Answer, answers
from geometry.search.problem import Problem
from geometry.search.rows_csv import rows_csv
from geometry.search.solving import by_domains
from geometry.search.solving.count import Counting
from geometry.search.summary import RowTeller
from geometry.search.wishes import Wishes
from geometry.search.words import alike_text

CORES = (exchanger(1, 30), exchanger(1, 45), exchanger(2, 30), exchanger(2, 60))
WANTED = (MEASURES["volume"], MEASURES["leftover"])


@pytest.fixture(scope="module")
def roomy() -> Problem:
    """A zone with room for every core, which each leave other depths: many trade-offs."""
    front = zone("front-zone", "front", (300, 40, 60), "+z", "+y", row(2))
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    rear = zone("rear-zone", "rear", (0, 40, 200), "+z", "+y", row(1))
    asked = Wishes(exchangers=CORES, fans=(fan(25),), slide_steps=1)
    return made_ready(layout(room((300, 200, 460), [front, floor, rear]), []), asked)


def last(problem: Problem, seconds: float | None) -> Answer:
    *_, end = answers(problem, WANTED, seconds)
    return end


def slow_checks(monkeypatch: pytest.MonkeyPatch, seconds: float) -> None:
    """Let each full check of a row take so long, by a clock of its own."""
    now = [0.0]
    check: Callable[..., object] = answers_module.check_layout

    def slowly(*args: object, **more: object) -> object:
        now[0] += seconds
        return check(*args, **more)

    monkeypatch.setattr(answers_module, "check_layout", slowly)
    monkeypatch.setattr(answers_module, "perf_counter", lambda: now[0])


def test_rows_are_checked_only_as_long_as_there_is_time(
    roomy: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    every = last(roomy, None)
    assert every.done
    assert len(every.rows) > 4
    slow_checks(monkeypatch, 10.0)
    some = last(roomy, 25.0)
    assert not some.done
    assert [r.combination for r in some.rows] == [r.combination for r in every.rows[:3]]
    one = last(roomy, 5.0)
    assert (len(one.rows), one.done) == (1, False)


def test_what_is_like_a_row_is_told_as_a_bound_where_time_was_out(
    roomy: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    exact = {r.pattern: r.alike for r in last(roomy, None).rows}
    slow_checks(monkeypatch, 10.0)
    rows = last(roomy, 0.0).rows
    assert [(r.alike, r.alike_exact) for r in rows] == [(1, False)]
    assert exact[rows[0].pattern] >= 1
    pattern = [zone.options[k].pattern for zone, k in zip(roomy.zones, (0, 0, 0), strict=True)]
    assert pattern_count(roomy, pattern).done
    assert not pattern_count(roomy, pattern, -1.0).done


def test_a_bound_is_told_as_one_wherever_it_is_read(
    roomy: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow_checks(monkeypatch, 10.0)
    teller = RowTeller(roomy)
    (summed,) = [teller.told(1, r) for r in last(roomy, 0.0).rows]
    assert (summed.alike, summed.alike_exact) == (1, False)
    (line,) = csv.DictReader(io.StringIO(rows_csv((summed,))))
    assert line["like_it"] == ">=1"
    assert alike_text(summed.alike, exact=False) == "at least 1 combination of this pattern fits"


def test_what_at_most_comes_is_no_less_than_what_is_found(roomy: Problem) -> None:
    wanted = (MEASURES["area"], MEASURES["parts"])
    *states, end = answers(roomy, wanted)
    bounds = [state.at_most for state in states if state.at_most is not None]
    assert len(bounds) > 2
    assert len(end.rows) > 1
    best = max(row.figures["area"] for row in end.rows)
    assert all(measure.key == "area" and cm2 >= best for measure, cm2 in bounds)


@pytest.mark.parametrize(
    "keys", [("leftover",), ("leftover", "area"), ("area", "leftover"), ("area", "volume")]
)
def test_without_a_zone_the_one_row_puts_nothing_in(keys: tuple[str, ...]) -> None:
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    asked = Wishes(exchangers=CORES, fans=(fan(25),), zones=())
    none = made_ready(layout(room((300, 200, 460), [floor]), []), asked)
    *_, end = answers(none, [MEASURES[key] for key in keys])
    assert [(row.combination, row.options) for row in end.rows] == [((), ())]
    assert end.done


def test_a_search_is_heard_from_while_it_counts_what_is_like_a_row(
    roomy: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slowly(*_: object) -> Iterator[Counting]:
        yield from [Counting(1, 9, 0.1, done=False)] * 1000
        yield Counting(7, 7, 1.0, done=True)

    monkeypatch.setattr(by_domains, "counting", slowly)
    *states, end = answers(roomy, WANTED)
    assert {row.alike for row in end.rows} == {7}
    assert len(states) > 1000
