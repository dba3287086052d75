"""What is stacked over an item and round leaves its corners bare, for the check and the search.

A fan of 80 mm and 25 mm thick stands on the floor, a pump on a plate of 74 x 74 x 3 mm over it,
with a drum of 100 mm across on that: the fan's corners show beyond both, from 50 mm off its middle
to 56.6 mm. What stands ahead of a corner alone is met by the fan, not by what is over it.
"""

from __future__ import annotations

import pytest
from search_oracle import made_ready
from small_rooms import block, fan, layout, mount, one, room, row, stack, zone

from catalog.enclosure import Enclosure
from catalog.parts import Plate, Pump
from catalog.shapes import Box, Cell, Cylinder, Extrusion, Shape
from geometry.checks.runner import check_layout
from geometry.search.wishes import Wishes

FAN = fan(25.0, 80.0)
DRUM = Cylinder(axis="z", at_mm=(0, 0, 3), diameter_mm=100, length_mm=30)
RING = ((-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0))
FRAME = Extrusion(
    axis="z", outline_mm=RING, from_mm=3, to_mm=33,
    holes_mm=(((37.5, 37.5), (39.5, 37.5), (39.5, 39.5), (37.5, 39.5)),),
)  # fmt: skip
SQUARE = Box(at_mm=(-50, -50, 3), size_mm=(100, 100, 30))


def pump(body: Shape) -> Pump:
    cell = Cell(id="1", u_mm=0, v_mm=0, accepts=(mount(80.0),))
    plate = Plate(length_mm=74, width_mm=74, thickness_mm=3, cells=(cell,))
    return Pump(id="pump", name="Pump", plate=plate, bodies=(body,), ports=())


def with_a_pin(off_mm: float) -> Enclosure:
    """A room 200 mm high; a thin pin hangs down to 100 mm, `off_mm` off the cell along x and y."""
    own = zone("z", "floor", (60, 60, 0), "+x", "+y", row(1, 80.0))
    at = 100 + off_mm
    pin = block("pin", (at - 0.5, at - 0.5, 100), (at + 0.5, at + 0.5, 200))
    return room((200, 200, 200), [own], [pin])


@pytest.mark.parametrize(
    ("body", "off_mm", "left_mm", "item"),
    [
        (DRUM, 38.5, 75.0, "F"),  # beyond the drum: 100 - 25
        (DRUM, 30.0, 42.0, "P"),  # below the drum: 100 - 58
        (SQUARE, 38.5, 42.0, "P"),
        (FRAME, 38.5, 75.0, "F"),  # through a hole
        (FRAME, 45.0, 42.0, "P"),  # beside the fan
    ],
)
def test_the_corner_that_shows_beside_a_round_cover_is_asked_its_depth(
    body: Shape, off_mm: float, left_mm: float, item: str
) -> None:
    over = pump(body)
    box = with_a_pin(off_mm)
    placed = stack("S", "z", one("F", FAN), one("P", over))
    report = check_layout(layout(box, [FAN, over], [placed]), remedies=False).report
    (depth,) = report.depths
    assert (depth.least.mm, depth.least.item) == (pytest.approx(left_mm), item)

    wishes = Wishes(fans=(FAN,), pumps=(over,), pump="required", slide_steps=1)
    (options,) = made_ready(layout(box, []), wishes).zones
    of_both = [k for k, o in enumerate(options.options) if o.fans and o.pump]
    assert of_both
    for k in of_both:
        turned = options.options[k].base
        assert turned is not None
        if turned.inner[-1].items[0].turn == 0:
            assert options.left_mm[k] == pytest.approx(left_mm)
