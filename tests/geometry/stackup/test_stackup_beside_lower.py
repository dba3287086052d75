"""What stands flush beside a lower layer is not lifted by a hole that is off towards it.

A fan of 80 mm, 25 thick, lies on the first of two places of a floor from x = 60, and on top of it
and flush beside it two more. The one beside it ends at x = 220; a bar hangs before and above it.
"""

from __future__ import annotations

from math import hypot

import pytest
from small_rooms import fan, fan_layer, layout, room, row, stack, zone

from catalog.enclosure import Obstacle
from catalog.shapes import Cylinder
from geometry.checks.nearest import nearest_figure, nearest_of
from geometry.checks.runner import check_layout


def test_only_across_the_stack_it_is_off_with_the_holes() -> None:
    part = fan(25.0, 80.0)
    floor = zone("fz", "floor", (60.0, 60.0, 0.0), "+x", "+y", row(2, 80.0))
    layers = (fan_layer("A", part, ["c1"]), fan_layer("B", part, ["c1", "c2"]))
    shape = Cylinder(axis="y", at_mm=(226, 40, 43), diameter_mm=20, length_mm=120)
    bar = Obstacle(id="bar", name="bar", shapes=(shape,))
    of = layout(room((400, 200, 200), [floor], [bar]), [part], [stack("S", "fz", *layers)])
    survey = check_layout(of, remedies=False).report.survey
    assert survey is not None
    (near,) = nearest_of(survey, "B.2")
    figure = nearest_figure(survey, near)
    long = hypot(6, 18)
    assert figure.nominal.nominal_mm == pytest.approx(long - 10)
    # Along x 0.3 of the zone's place (60), 0.3 of the cell's (120), half of 0.3 of the frame (80),
    # 0.5 of play and 0.5 of the bar (226); along z 0.2 of the thickness (25) and 0.3 of the bar
    # (43); half of 0.2 of its diameter.
    lost = (1.75 * 6 + 0.5 * 18) / long + 0.1
    assert figure.nominal.nominal_mm - figure.worst.worst_mm == pytest.approx(lost, abs=0.01)
