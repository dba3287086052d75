"""A wall that several boxes of a cavity share comes nearer with each of them.

The cavity is 300 mm long below z = 150 and 200 mm above, and 200 mm wide throughout. Of two boxes
beside each other the narrower one has a step before the wall where it is too narrow, which is no
piece of the wall as drawn; so pieces go with the faces they have with a box.
"""

from __future__ import annotations

from itertools import product

import pytest
from small_rooms import brick, free, layout, room

from catalog.enclosure import Enclosure
from catalog.numbers import with_number
from catalog.shapes import Box
from geometry.checks.nearest import nearest_figure, nearest_of
from geometry.checks.runner import check_layout
from geometry.layout import Held
from geometry.measures.clearance import clearance
from geometry.measures.prism import Prism, box
from geometry.stackup.deviation import Deviation
from geometry.stackup.enclosure_deviations import of_walls
from geometry.stackup.stack_ups import StackUp
from geometry.walls import build_walls


def stepped(above_mm: float) -> Enclosure:
    """A room of two boxes, the upper one from a level up to z = 200."""
    cavity = (
        Box(at_mm=(0, 0, 0), size_mm=(300, 200, 150)),
        Box(at_mm=(0, 0, above_mm), size_mm=(200, 200, 200 - above_mm)),
    )
    outer = (
        Box(at_mm=(-2, -2, -2), size_mm=(304, 204, 154)),
        Box(at_mm=(-2, -2, 150), size_mm=(204, 204, 52)),
    )
    return room((300, 200, 200), cavity=cavity, outer=outer)


def pieces(of: Enclosure, one: Deviation | None = None, off_mm: float = 0.0) -> list[Prism]:
    """Return the pieces of the walls, with one dimension off."""
    walls = build_walls(of).solids
    return [p for w in walls for p in (one and one.moved(w, off_mm)) or w.prisms]


@pytest.mark.parametrize(
    "path", [f"cavity[0].size_mm[{k}]" for k in (0, 1, 2)]
    + [f"cavity[1].{one}" for one in ("at_mm[2]", "size_mm[0]", "size_mm[1]", "size_mm[2]")],
)  # fmt: skip
def test_no_wall_comes_nearer_than_is_told(path: str) -> None:
    # The boxes lie in each other, so that none comes to leave a sheet of wall between them.
    of = stepped(100.0)
    places = [(3, 60, 140, 189, 205, 289), (3, 90, 189), (3, 70, 139, 155, 189)]
    probes = [box(low, [mm + 8 for mm in low]) for low in product(*places)]
    probes = [one for one in probes if clearance([one], pieces(of)).mm > 1.0]
    assert len(probes) > 60
    (told,) = [one for one in of_walls(of) if one.path == path]
    ends = told.dimension.plus_mm, -(told.dimension.minus_mm or 0.0)
    drawn = told.dimension.nominal_mm
    nearer = 0
    for probe in probes:
        as_told = [clearance([probe], pieces(of, told, off)).mm for off in ends if off]
        anew = [clearance([probe], pieces(with_number(of, path, drawn + o))).mm for o in ends if o]
        assert min(as_told) <= min(anew) + 1e-6
        nearer += min(as_told) < clearance([probe], pieces(of)).mm - 1e-6
    assert nearer > 0
    assert nearer < len(probes)


def before_the_wall(z_mm: float, on: str) -> StackUp:
    """Return the stack-up of the gap of a cube of 40 mm, 3 mm off the far-side wall."""
    cube = brick("cube", (40, 40, 40))
    stands = free("P", cube, (100, 177, z_mm), held=Held(by="clamp", on=on))
    survey = check_layout(layout(stepped(150.0), [cube], frees=[stands])).report.survey
    assert survey is not None
    (far,) = [one for one in nearest_of(survey, "P") if one.b.owner == "far"]
    return nearest_figure(survey, far).worst


def test_a_piece_of_wall_goes_with_the_boxes_it_bounds_and_no_others() -> None:
    # The upper piece bounds the upper box alone; the lower one ends with the shell, 2 mm above the
    # seam, so that it counts with both. ISO 2768-1 class m: 0.5 for 177 and 200 mm, 0.3 for 40.
    upper, lower = before_the_wall(155, "roof"), before_the_wall(0, "floor")
    of = {one.path: one.loss_mm for one in upper.contributors if one.owner == "enclosure"}
    assert of == {"cavity[1].size_mm[1]": pytest.approx(0.5)}
    of = {one.path: one.loss_mm for one in lower.contributors if one.owner == "enclosure"}
    assert set(of) == {"cavity[0].size_mm[1]", "cavity[1].size_mm[1]"}
    assert upper.worst_mm == pytest.approx(3.0 - 0.5 - 0.5 - 0.15)
