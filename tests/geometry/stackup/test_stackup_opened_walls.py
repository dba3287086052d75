"""A wall with an opening comes nearer with all that is left of it, however its cavity is made.

The cavity is 200 mm long, so that the front wall stands at 199.5 mm in the worst case (ISO 2768-1
class m); its opening goes through it all the same.
"""

from __future__ import annotations

import pytest
from small_rooms import block, fan, layout, one, room, row, stack, zone

from catalog.enclosure import Enclosure, Opening
from catalog.shapes import Box, Cylinder, Extrusion, Shape
from geometry.checks.runner import check_layout
from geometry.layout import Settings

FAN = fan(25.0)
RING = ((0.0, 0.0), (200.0, 0.0), (200.0, 160.0), (0.0, 160.0))
CAVITIES: dict[str, tuple[Shape, ...]] = {
    "box": (Box(at_mm=(0, 0, 0), size_mm=(200, 160, 160)),),
    "extruded": (Extrusion(axis="y", outline_mm=RING, from_mm=0, to_mm=160),),
    "two boxes": (
        Box(at_mm=(0, 0, 0), size_mm=(200, 160, 160)),
        Box(at_mm=(0, 0, 0), size_mm=(100, 160, 160)),
    ),
}
HOLES: dict[str, Shape | None] = {
    "none": None,
    "slot": Box(at_mm=(200, 60, 20), size_mm=(2, 20, 20)),
    "bore": Cylinder(axis="x", at_mm=(200, 80, 60), diameter_mm=20, length_mm=2),
    "cut out": Extrusion(
        axis="x", outline_mm=((60, 40), (90, 40), (75, 60)), from_mm=200, to_mm=202
    ),
}


def pocket(cavity: tuple[Shape, ...], hole: Shape | None) -> Enclosure:
    """A bracket at x = 170 in a room; a fan on its far side stands from 172 to 197 mm."""
    own = zone("z", "bracket", (170, 20, 20), "+z", "+y", row(1), inner=None,
               outer={"plate_mm": 2.0})  # fmt: skip
    plate = block("bracket", (170, 10, 10), (172, 150, 150))
    openings = () if hole is None else (
        Opening(id="hole", name="hole", wall="front", shape=hole),
    )  # fmt: skip
    return room((200, 160, 160), [own], [plate], cavity=cavity, openings=openings)


@pytest.mark.parametrize("hole", HOLES.values(), ids=HOLES.keys())
@pytest.mark.parametrize("cavity", CAVITIES.values(), ids=CAVITIES.keys())
def test_the_worst_case_to_a_wall_is_the_same_with_an_opening_in_it(
    cavity: tuple[Shape, ...], hole: Shape | None
) -> None:
    # 3 mm as drawn; off are the wall by 0.5, the bracket's zone by 0.5, its plate by 0.1, the fan
    # by 0.2: 1.7 mm.
    placed = stack("S", "z").but(outer=(one("F", FAN),))
    lay = layout(pocket(cavity, hole), [FAN], [placed], settings=Settings(margin_mm=2.0))
    (found,) = [f for f in check_layout(lay).report.findings if f.kind == "worst_case"]
    assert found.tolerance is not None
    assert found.measured_mm == pytest.approx(3.0)
    assert found.tolerance.worst.worst_mm == pytest.approx(1.7)
