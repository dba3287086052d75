"""Parts stand before a wall of several boxes as the check says, in all their turns.

A room 300 mm long below z = 150 and 220 mm above, 200 mm wide throughout. The far-side wall, at
y = 200, comes nearer with either box; a search once left that out, so that exchangers turned a
quarter stood where the check said tight.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from typing import Any

import pytest
from search_oracle import every_option, made_ready, passes
from small_rooms import PUMP, block, exchanger, layout, room, row, zone

from catalog.enclosure import Obstacle, Zone, ZoneSide
from catalog.shapes import Box
from geometry.layout import Layout, Settings
from geometry.search.wishes import Wishes

MARGIN_MM = 1.0

CORE = exchanger(1, 30)
ALONE = Wishes(exchangers=(CORE,), fan_places=("none",), slide_steps=1)
PUMPS = Wishes(pumps=(PUMP,), pump="required", slide_steps=1)
CAVITY = (
    Box(at_mm=(0, 0, 0), size_mm=(300, 200, 150)),
    Box(at_mm=(0, 0, 150), size_mm=(220, 200, 50)),
)
OUTER = (
    Box(at_mm=(-2, -2, -2), size_mm=(304, 204, 154)),
    Box(at_mm=(-2, -2, 150), size_mm=(224, 204, 52)),
)


def on_the_floor(middle_y_mm: float) -> Layout:
    """A cell of 120 mm over the floor, its middle so far along y."""
    own = zone("own-zone", "floor", (60, middle_y_mm - 60, 0), "+x", "+y", row(1, v_mm=60))
    return with_walls([own])


def over_a_plate(middle_y_mm: float) -> Layout:
    """The same above a plate, on its outer side."""
    sides: dict[str, Any] = {"inner": None, "outer": ZoneSide(plate_mm=2.0)}
    at = (60, middle_y_mm - 60, 50)
    own = zone("own-zone", "plate", at, "+y", "+x", row(1, v_mm=60), **sides)
    return with_walls([own], block("plate", (20, 10, 50), (210, 190, 52)))


def with_walls(zones: Iterable[Zone], *things: Obstacle) -> Layout:
    settings = Settings(judge="worst case", margin_mm=MARGIN_MM)
    enclosure = room((300, 200, 200), zones, things, cavity=CAVITY, outer=OUTER)
    return layout(enclosure, [], settings=settings)


def fitting(base: Layout, wishes: Wishes) -> dict[int, set[bool]]:
    """Return for each turn what search and check both say of what is listed."""
    problem = made_ready(base, wishes)
    (of_zone,) = problem.zones
    kept = {option.stack for option in of_zone.options}
    said: dict[int, set[bool]] = defaultdict(set)
    for option in every_option(problem, "own-zone", 1):
        assert option.stack is not None
        (layer,) = (*option.stack.inner, *option.stack.outer)
        fits = passes(problem, (option,))
        assert (option.stack in kept) == fits, layer.items[0]
        said[layer.items[0].turn].add(fits)
    return said


# Off are the wall by 0.5 with either box (its lower piece ends 2 mm above the seam, and counts with
# both), the screws by 0.5, the place of the zone and of the cell by 0.3 each, and half the core's
# length or width by 0.15 (ISO 2768-1 class m). A tank, 15 or 30 mm long, is off by 0.2 besides.
CORE_MM, TANK_MM = 2.25, 2.45


@pytest.mark.parametrize("more_mm", [-0.02, 0.02])
@pytest.mark.parametrize(
    ("base", "turn", "reach_mm", "lost_mm"),
    [
        (on_the_floor, 0, 60.0, CORE_MM),
        (on_the_floor, 1, 90.0, TANK_MM),
        (on_the_floor, 2, 60.0, CORE_MM),
        (on_the_floor, 3, 75.0, TANK_MM),
        (over_a_plate, 0, 90.0, TANK_MM),
        (over_a_plate, 1, 60.0, CORE_MM),
        (over_a_plate, 2, 75.0, TANK_MM),
        (over_a_plate, 3, 60.0, CORE_MM),
    ],
)
def test_an_exchanger_stands_before_the_wall_from_its_worst_case_on(
    base: Callable[[float], Layout], turn: int, reach_mm: float, lost_mm: float, more_mm: float
) -> None:
    said = fitting(base(200.0 - reach_mm - MARGIN_MM - lost_mm - more_mm), ALONE)
    assert (True in said[turn]) == (more_mm > 0.0)


@pytest.mark.parametrize("more_mm", [-0.02, 0.02])
def test_a_pump_on_the_floor_does_so_in_all_its_turns(more_mm: float) -> None:
    said = fitting(on_the_floor(200.0 - 60.0 - MARGIN_MM - CORE_MM - more_mm), PUMPS)
    assert said == {turn: {more_mm > 0.0} for turn in range(4)}
