"""The depth left that a search goes by is that of the check: item by item, not prism by prism."""

from __future__ import annotations

import pytest
from search_oracle import made_ready
from small_rooms import exchanger, fan, layout, room, row, zone

from catalog.enclosure import Enclosure, OutsideSolid, ZoneSide
from catalog.shapes import Box
from geometry.checks.runner import check_layout
from geometry.search.wishes import FanPlace, Wishes


def with_a_handle(handle_z: float, depth_mm: float | None = 60.0) -> Enclosure:
    """A front wall of 2 mm at x = 300, and a handle before it from 70 mm off its outer face.

    It is 20 mm wide, and stands before few of the prisms of what is on the wall.
    """
    front = zone("z", "front", (300, 40, 60), "+z", "+y", row(1), inner=None,
                 outer=ZoneSide(plate_mm=2.0, depth_mm=depth_mm))  # fmt: skip
    bar = Box(at_mm=(372, 90, handle_z), size_mm=(8, 20, 20))
    handle = OutsideSolid(id="handle", name="handle", shapes=(bar,))
    return room((300, 200, 300), [front], outside=(handle,))


@pytest.mark.parametrize("place", ["none", "plate", "far", "both"])
@pytest.mark.parametrize("handle_z", [110.0, 180.0, 182.0, 45.0, 250.0])
def test_what_a_search_calls_left_is_what_the_check_measures(
    place: FanPlace, handle_z: float
) -> None:
    wishes = Wishes(
        exchangers=(exchanger(1, 20),), fans=(fan(15),), fan_places=(place,), slide_steps=1
    )
    problem = made_ready(layout(with_a_handle(handle_z), []), wishes)
    (options,) = problem.zones
    looked_at = 0
    for k, option in enumerate(options.options):
        if option.stack is None:
            continue
        report = check_layout(problem.judged_layout((k,)), remedies=False).report
        least = min(depth.least.mm for depth in report.depths)
        assert options.left_mm[k] == pytest.approx(least), (option.pattern, option.stack)
        looked_at += 1
    assert looked_at > 1
