"""What is said of a count that did not end: an estimate, and bounds where they say something."""

from __future__ import annotations

from dataclasses import replace

import pytest
from small_rooms import exchanger, layout, room, row, zone

from geometry.search.answers import MEASURES
from geometry.search.run import search
from geometry.search.solving.count import Counting
from geometry.search.solving.estimate import Estimate
from geometry.search.wishes import Wishes
from geometry.search.words import count_text


@pytest.mark.parametrize(
    ("found", "at_most", "told"),
    [(0, 5, " random runs)"), (2, 5, "; for sure 2 to 5)"), (0, 4, "; for sure 0 to 4)")],
)
def test_bounds_are_told_where_they_are_more_than_none_to_all(
    found: int, at_most: int, told: str
) -> None:
    front = zone("z", "front", (300, 70, 95), "+z", "+y", row(1))
    wishes = Wishes(exchangers=(exchanger(1, 30),), slide_steps=1)
    *_, last = search(layout(room((300, 260, 400), [front]), []), wishes, [MEASURES["area"]], 9.0)
    assert last.found is not None
    assert last.found.problem.combinations == 5
    uncounted = replace(
        last.found,
        count=Counting(found, at_most, 0.0, done=False),
        estimate=Estimate(3.0, 1.0, 100, 0.1),
    )
    words = count_text(uncounted)
    assert words.startswith("about 3 of 5 combinations fit with dimensions as drawn (an estimate:")
    assert words.endswith(told)
    assert words.count("combinations") == 1
