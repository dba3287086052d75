"""What is said of a count that did not end: an estimate, and bounds where they say something."""

from __future__ import annotations

from dataclasses import replace

import pytest
from small_rooms import IN_OR_OUT, block, exchanger, layout, room, row, zone

from geometry.search.answers import MEASURES
from geometry.search.run import search
from geometry.search.solving.count import Counting
from geometry.search.solving.estimate import Estimate
from geometry.search.wishes import Wishes
from geometry.search.words import count_text

AREA = MEASURES["area"]


@pytest.mark.parametrize(
    ("found", "at_most", "told"),
    [(0, 5, " random runs)"), (2, 5, "; for sure 2 to 5)"), (0, 4, "; for sure 0 to 4)")],
)
def test_bounds_are_told_where_they_are_more_than_none_to_all(
    found: int, at_most: int, told: str
) -> None:
    front = zone("z", "front", (300, 70, 95), "+z", "+y", row(1))
    wishes = Wishes(exchangers=(exchanger(1, 30),), slide_steps=1)
    *_, last = search(layout(room((300, 260, 400), [front]), []), wishes, [AREA], 9.0)
    assert last.found is not None
    assert last.found.problem.combinations == 5
    uncounted = replace(
        last.found,
        count=Counting(found, at_most, 0.0, done=False),
        estimate=Estimate(3.0, 1.0, 100),
    )
    words = count_text(uncounted)
    assert words.startswith("about 3 of 5 combinations fit as drawn (an estimate:")
    assert words.endswith(told)
    assert words.count("combinations") == 1


def test_each_choice_of_states_leaves_all_zones_empty_once() -> None:
    # A rail in place or out, and 25 mm of room, in which no core of 30 mm goes.
    front = zone("z", "front", (25, 70, 95), "+z", "+y", row(1))
    rail = block("rail", (200, 0, 0), (220, 20, 20), states=IN_OR_OUT)
    asked = Wishes(exchangers=(exchanger(1, 30),), slide_steps=1, obstacle_states=True)
    *_, last = search(layout(room((300, 260, 400), [front], [rail]), []), asked, [AREA], 9.0)
    assert last.found is not None
    assert (last.found.empty, last.found.count.found) == (2, 2)
    told = "only all zones empty (2 of 2 combinations, exact count)"
    assert count_text(last.found).endswith(told)


def test_where_a_pump_must_stand_nothing_is_left_empty() -> None:
    front = zone("z", "front", (300, 70, 95), "+z", "+y", row(1))
    asked = Wishes(exchangers=(exchanger(1, 30),), slide_steps=1, pump="required")
    *_, last = search(layout(room((300, 260, 400), [front]), []), asked, [AREA], 9.0)
    assert last.found is not None
    assert (last.found.empty, last.found.count.found) == (0, 0)
    assert "0 of " in count_text(last.found)
