"""Points of an outline that share a coordinate are one dimension, wherever its tolerance is stated.

In each room a cube of 40 mm hangs 3 mm from a face that two points of an outline make. Its place
along z and its height are off by 0.3 each in general (ISO 2768-1 class m, over 30 up to 120 mm).
"""

from __future__ import annotations

import random
from collections.abc import Iterator

import pytest
from off_layouts import off_enclosure
from small_rooms import brick, free, layout, room

from catalog.enclosure import Enclosure, Obstacle, Opening
from catalog.iso2768 import linear_tolerance_mm
from catalog.model import Dimension, FrozenMap
from catalog.paths import length_at
from catalog.shapes import Box, Extrusion
from geometry.checks.nearest import nearest_figure, nearest_of
from geometry.checks.runner import check_layout
from geometry.layout import Held
from geometry.scene import build_scene
from geometry.stackup.deviation import Deviation
from geometry.stackup.enclosure_deviations import of_obstacle, of_opening, of_walls
from geometry.stackup.stack_ups import StackUp

STEP = Extrusion(
    axis="y",
    outline_mm=((0, 0), (400, 0), (400, 120), (200, 120), (200, 260), (0, 260)),
    from_mm=0,
    to_mm=260,
)
"""Lower beyond x = 200, where its roof lies at z = 120."""

PLATE = Extrusion(
    axis="y",
    outline_mm=((250, 100), (350, 100), (350, 150), (300, 150), (300, 180), (250, 180)),
    holes_mm=(((260, 120), (300, 120), (300, 130), (260, 130)),),
    from_mm=50,
    to_mm=200,
)
"""Hangs above z = 100; its hole ends at x = 300, as its upper part does."""

SLOT = Extrusion(axis="z", outline_mm=((20, 30), (80, 30), (80, 90), (20, 90)), from_mm=-2, to_mm=0)


def enclosure(stated: dict[str, Dimension] | None = None, *, stepped: bool = True) -> Enclosure:
    """A room whose cavity is a step or a box, and then with a plate in it."""
    outer = (Box(at_mm=(-2, -2, -2), size_mm=(404, 264, 264)),)
    more = {"cavity": (STEP,), "outer": outer} if stepped else {}
    plates = [] if stepped else [Obstacle(id="plate", name="plate", shapes=(PLATE,))]
    slot = Opening(id="slot", name="slot", wall="floor", shape=SLOT)
    given = FrozenMap(stated or {})
    return room((400, 260, 260), [], plates, openings=(slot,), dimensions=given, **more)


def off(minus_mm: float | None, plus_mm: float | None) -> Dimension:
    return Dimension(minus_mm=minus_mm, plus_mm=plus_mm, origin="measured")


def above_a_cube(of: Enclosure, z_mm: float) -> StackUp:
    """Return the stack-up of the gap of a cube to what is nearest."""
    cube = brick("cube", (40, 40, 40))
    hung = free("P", cube, (300, 130, z_mm), held=Held(by="clamp", on="roof"))
    report = check_layout(layout(of, [cube], frees=[hung])).report
    assert report.survey is not None
    found = (nearest_figure(report.survey, near) for near in nearest_of(report.survey, "P"))
    return min((figure.worst for figure in found if figure), key=lambda gap: gap.worst_mm)


@pytest.mark.parametrize("point", [2, 3])
def test_a_wall_is_off_by_what_is_stated_at_any_point_of_its_face(point: int) -> None:
    # 120 - 77 - 40 = 3, less 2 + 0.3 + 0.3.
    path = f"cavity[0].outline_mm[{point}][1]"
    gap = above_a_cube(enclosure({path: off(2.0, 2.0)}), 77)
    assert (gap.nominal_mm, gap.worst_mm) == pytest.approx((3.0, 0.4))
    assert (gap.contributors[0].path, gap.contributors[0].loss_mm) == (path, pytest.approx(2.0))


@pytest.mark.parametrize("point", [0, 1])
def test_an_obstacle_is_off_by_what_is_stated_at_any_point_of_its_face(point: int) -> None:
    # 100 - 57 - 40 = 3, less 2 + 0.3 + 0.3.
    path = f"obstacles[0].shapes[0].outline_mm[{point}][1]"
    gap = above_a_cube(enclosure({path: off(2.0, 2.0)}, stepped=False), 57)
    assert (gap.nominal_mm, gap.worst_mm) == pytest.approx((3.0, 0.4))
    assert (gap.contributors[0].path, gap.contributors[0].loss_mm) == (path, pytest.approx(2.0))


def limits(of: Enclosure) -> dict[str, tuple[float | None, float | None]]:
    return {one.path: (one.dimension.minus_mm, one.dimension.plus_mm) for one in deviations(of)}


def deviations(of: Enclosure) -> Iterator[Deviation]:
    yield from of_walls(of)
    yield from of_obstacle(build_scene(layout(of, [])), "plate")
    yield from (one for one, _ in of_opening(of, 0))


@pytest.mark.parametrize(
    ("first", "second", "at_second", "expected"),
    [
        (None, off(0.1, 0.1), True, (0.1, 0.1)),  # stated once: the general 0.2 does not count
        (off(0.1, 0.1), None, False, (0.1, 0.1)),
        (off(0.1, 0.1), off(2.0, 1.0), True, (2.0, 1.0)),
        (off(2.0, 0.0), off(0.0, 1.0), False, (2.0, 1.0)),  # each limit for itself
        (off(None, None), off(0.2, 0.1), True, (0.2, 0.1)),
        (off(0.1, None), None, False, (0.1, 0.2)),
        (off(0.1, None), off(None, 0.4), True, (0.1, 0.4)),
    ],
)
def test_of_what_is_stated_at_several_points_the_widest_holds(
    first: Dimension | None,
    second: Dimension | None,
    at_second: bool,
    expected: tuple[float, float],
) -> None:
    # The slot begins at y = 30, at two of its points.
    paths = [f"openings[0].shape.outline_mm[{point}][1]" for point in (0, 1)]
    given = zip(paths, (first, second), strict=True)
    told = limits(enclosure({path: one for path, one in given if one is not None}))
    assert told[paths[at_second]] == expected
    assert paths[not at_second] not in told


def test_a_hole_shares_the_coordinates_of_the_outline_round_it() -> None:
    at = "obstacles[0].shapes[0]"
    given = {f"{at}.holes_mm[0][2][0]": off(1.5, 1.5), f"{at}.holes_mm[0][3][0]": off(0.4, 0.4)}
    told = limits(enclosure(given, stepped=False))
    assert {path: told[path] for path in told if path.startswith(at) and path.endswith("][0]")} == {
        f"{at}.outline_mm[0][0]": (0.5, 0.5),
        f"{at}.outline_mm[1][0]": (0.5, 0.5),
        f"{at}.holes_mm[0][2][0]": (1.5, 1.5),
        f"{at}.holes_mm[0][3][0]": (0.4, 0.4),
    }


@pytest.mark.parametrize("stepped", [True, False])
def test_an_enclosure_drawn_off_is_off_by_the_same_limits(stepped: bool) -> None:
    rng = random.Random(7)
    plain = enclosure(stepped=stepped)
    rings = {"cavity[0].outline_mm": 6} if stepped else {"obstacles[0].shapes[0].outline_mm": 6}
    compared = 0
    for _ in range(30):
        given = {
            f"{ring}[{rng.randrange(count)}][{rng.randrange(2)}]": off(
                rng.choice((None, 0.0, 0.7, 1.4)), rng.choice((None, 0.0, 0.6, 1.2))
            )
            for ring, count in (*rings.items(), ("openings[0].shape.outline_mm", 4)) * 3
        }
        of = plain.but(dimensions=FrozenMap(given))
        least = off_enclosure(of, lambda minus, _: -minus)
        most = off_enclosure(of, lambda _, plus: plus)
        for one in deviations(of):
            nominal = length_at(of, one.path)
            assert length_at(least, one.path) == nominal - (one.dimension.minus_mm or 0.0)
            assert length_at(most, one.path) == nominal + (one.dimension.plus_mm or 0.0)
            general = linear_tolerance_mm(nominal)
            compared += (one.dimension.minus_mm, one.dimension.plus_mm) != (general, general)
    assert compared > 100
