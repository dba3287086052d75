"""What the listed options of a zone are not, as it is told of them."""

from __future__ import annotations

from collections import Counter

from search_oracle import every_option, made_ready
from small_rooms import exchanger, fan, layout, room, row, zone

from catalog.enclosure import ZoneSide
from geometry.search.wishes import Wishes


def test_a_zone_holds_one_exchanger_with_full_rows_of_fans_or_fans_alone() -> None:
    front = zone("z", "front", (300, 10, 10), "+z", "+y", row(3), outer=ZoneSide(plate_mm=2.0))
    wishes = Wishes(exchangers=(exchanger(1, 30), exchanger(2, 30)), fans=(fan(25),), slide_steps=1)
    problem = made_ready(layout(room((500, 200, 600), [front]), []), wishes)
    held: set[tuple[int, int]] = set()
    for option in every_option(problem, "z", 1):
        assert option.stack is not None
        items = [i for la in (*option.stack.inner, *option.stack.outer) for i in la.items]
        parts = Counter(item.part for item in items)
        fans = parts.pop("fan-120x25", 0)
        assert sum(parts.values()) == (option.core is not None)
        held.add((len(option.core.cells) if option.core is not None else 0, fans))
        assert option.stack.air == "inward"
    assert held == {(0, 1), (0, 2), (0, 3), (1, 0), (1, 1), (1, 2), (2, 0), (2, 2), (2, 4)}
