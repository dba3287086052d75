"""Edges of walls that a stack passes as drawn, and meets in the worst case.

Worked by hand, and against rooms off within tolerance: none may leave less than the worst case, and
the room that is off as the contributors say leaves just that.
"""

from __future__ import annotations

import random

import pytest
from depth_findings import depth_of, told
from roof_openings import (
    FAN,
    FLOOR,
    cut,
    depths_in,
    figures_of,
    none_under_the_worst_case,
    off_as_told,
    shares,
    under,
)
from small_rooms import block, exchanger, fan_layer, layout, one, room
from small_rooms import stack as stack_of

from catalog.enclosure import Opening
from catalog.shapes import Box, Cylinder, Extrusion, Shape
from geometry.layout import Layout

WIDE = Box(at_mm=(0, 0, 0), size_mm=(400, 200, 150))
"""The lower part of a stepped room; the upper one reaches into it, as the parts of a room do."""


# ---- worked by hand ----


def test_the_edge_of_an_opening_within_reach_of_tolerances_limits_the_depth() -> None:
    # The fan passes the roof through an opening from x = 38.5, so the outside limits it as drawn,
    # 302 - 25. Its edge at 40 may be off by 0.3 (the zone's place 40), 0.3 (the cell's 60), 0.15
    # (half the frame) and 0.5 (its screws), that of the opening by 0.5 (38.5 is over 30: 0.3):
    # 1.55 in all, and 1.5 are there. So the roof may limit it: 300 - 25, less 0.5 and 0.2.
    figure = depth_of(under(cut(38.5, 170, 30, 170)))
    assert figure.nominal.nominal_mm == pytest.approx(277.0)
    assert told(figure) == ("roof", 274.3, 1.5)
    assert figure.beside is not None
    assert shares(figure.beside) == {
        ("A.1", "screw_play[0]"): 0.5,
        ("floor-zone", "zones[0].cells[0].u_mm"): 0.3,
        ("floor-zone", "zones[0].origin_mm[0]"): 0.3,
        ("o0", "openings[0].shape.at_mm[0]"): 0.3,
        ("A.1", "frame_mm"): 0.15,
    }
    assert shares(figure.worst) == {
        ("enclosure", "cavity[0].size_mm[2]"): 0.5,
        ("A.1", "thickness_mm"): 0.2,
    }


def test_the_far_edge_is_off_with_the_size_of_the_opening_too() -> None:
    # From x = 20, 142 long: 2 mm beyond the fan's edge at 160. Off may be that by 1.25 and the
    # opening by 0.2 and 0.5: 1.95, so the outside limits still; with 141.9 it does not.
    assert told(depth_of(under(cut(20, 162, 30, 170))))[0] == "outside of the enclosure"
    assert told(depth_of(under(cut(20, 161.9, 30, 170)))) == ("roof", 274.3, 1.9)


@pytest.mark.parametrize(
    ("radius_mm", "name"),
    [(87.2, "roof"), (87.4, "outside of the enclosure")],
)
def test_a_round_opening_is_met_by_a_corner(radius_mm: float, name: str) -> None:
    # Corners of the fan stand 84.85 from the middle of the opening. Each way a corner is off by
    # 1.25, the opening's middle (100, 100) by 0.3, its radius by 0.25: 1.55 x sqrt(2) + 0.25.
    hole = Cylinder(axis="z", at_mm=(100, 100, 295), diameter_mm=2 * radius_mm, length_mm=12)
    figure = depth_of(under(hole))
    assert pytest.approx(87.295, abs=1e-3) == 84.853 + 1.55 * 2**0.5 + 0.25
    assert figure.worst_name == name


def test_where_two_openings_are_passed_that_counts_which_is_left_last() -> None:
    # The first ends 0.5 mm beside the fan, the second reaches 10 mm farther on all sides.
    of = under(cut(39.5, 160.5, 39.5, 160.5), cut(30, 170, 30, 170))
    assert told(depth_of(of))[0] == "outside of the enclosure"


def test_an_opening_that_two_cuts_make_together_is_looked_at_by_the_pieces_of_the_wall() -> None:
    # From x = 30 to 100 and from 90 to 161: neither holds the fan. The far edge, 1 mm beside, may
    # come in: 1.25, and 0.3 and 0.3 of the second cut.
    figure = depth_of(under(cut(30, 100, 30, 170), cut(90, 161, 30, 170)))
    assert told(figure) == ("roof", 274.3, 1.0)
    assert figure.beside is not None
    assert figure.beside.worst_mm == pytest.approx(1.0 - 1.25 - 0.6)


def test_the_edge_of_a_step_in_the_cavity_comes_in() -> None:
    # Over z = 150 the room is narrower, from x = 38.5: 1.5 mm beside the fan, the step's edge off
    # by 0.3. It stands 125 ahead, less 0.2 for the fan and 0.5 for where the step lies (150).
    upper = Box(at_mm=(38.5, 20, 100), size_mm=(250, 160, 200))
    figure = depth_of(under(cavity=(WIDE, upper)))
    assert figure.nominal.nominal_mm == pytest.approx(275.0)
    assert told(figure) == ("step in the cavity", 125 - 0.7, 1.5)


def test_both_gaps_of_a_corner_may_be_lost_together() -> None:
    # A bar past the fan's corner, 1 mm along x and 1 along y: each may be lost, 1.25 + 0.5, though
    # along neither alone more than the way to the corner, 1.41, is lost.
    bar = block("bar", (161, 161, 100), (200, 190, 120))
    of = under()
    of = of.but(enclosure=of.enclosure.but(obstacles=(bar,)))
    figure = depth_of(of)
    assert told(figure) == ("bar", 74.5, 1.0)
    far = block("bar", (161, 161.8, 100), (200, 190, 120))
    of = of.but(enclosure=of.enclosure.but(obstacles=(far,)))
    assert told(depth_of(of))[0] == "roof"


# ---- against rooms off within tolerance ----


def random_room(rng: random.Random) -> Layout:
    """Return a room whose roof or step a stack passes by little: openings, some of them round."""
    if rng.random() < 0.5:
        part, layer = FAN, fan_layer("A", FAN, ["c1"])
        low, high = (40.0, 40.0), (160.0, 160.0)
    else:
        part = exchanger(1, 30, port_facing="-z").but(id="core", ports=())
        turn = rng.choice((0, 2))
        layer = one("E1", part, turn=turn)
        low, high = ((25.0, 40.0), (190.0, 160.0)) if turn == 0 else ((10.0, 40.0), (175.0, 160.0))
    openings = []
    for k in range(rng.choice((0, 1, 1, 2))):
        a, b = (tuple(rng.uniform(0.05, 2.6) for _ in range(2)) for _ in range(2))
        least, most = (
            [p - d for p, d in zip(low, a, strict=True)],
            [p + d for p, d in zip(high, b, strict=True)],
        )
        middle = [(p + q) / 2 for p, q in zip(least, most, strict=True)]
        kind = rng.choice(("box", "box", "round", "polygon", "halves"))
        shapes: list[Shape] = [cut(least[0], most[0], least[1], most[1])]
        if kind == "round":
            far = sum((q - p) ** 2 for p, q in zip(least, most, strict=True)) ** 0.5
            at = (middle[0], middle[1], 295.0)
            shapes = [Cylinder(axis="z", at_mm=at, diameter_mm=far, length_mm=12)]
        if kind == "polygon":
            y = (least[1] - 40, most[1] + 40)
            ring = (
                (least[0], least[1]), (middle[0], y[0]), (most[0], least[1]),
                (most[0], most[1]), (middle[0], y[1]), (least[0], most[1]),
            )  # fmt: skip
            shapes = [Extrusion(axis="z", outline_mm=ring, from_mm=295, to_mm=307)]
        if kind == "halves":
            halves = (cut(least[0], 110, least[1], most[1]), cut(90, most[0], least[1], most[1]))
            shapes = list(halves)
        openings += [
            Opening(id=f"o{k}{n}", name="grille", wall="roof", shape=shape)
            for n, shape in enumerate(shapes)
        ]
    cavity = (Box(at_mm=(0, 0, 0), size_mm=(400, 200, 300)),)
    if rng.random() < 0.4:
        x, y = low[0] - rng.uniform(0.05, 2.6), low[1] - rng.uniform(0.05, 2.6)
        wide = (high[0] + rng.uniform(0.05, 2.6) - x, high[1] + rng.uniform(0.05, 2.6) - y)
        cavity = (WIDE, Box(at_mm=(x, y, 100), size_mm=(*wide, 200)))
    things = []
    if rng.random() < 0.5:
        x, y = high[0] + rng.uniform(-0.5, 2.6), high[1] + rng.uniform(-0.5, 2.6)
        things.append(block("bar", (x, y, rng.uniform(60, 140)), (x + 9, y + 9, 149)))
    enclosure = room((400, 200, 300), [FLOOR], things, openings=tuple(openings), cavity=cavity)
    return layout(enclosure, [part], [stack_of("S", "floor-zone", layer)])


def test_no_depth_goes_below_its_worst_case() -> None:
    count, _ = none_under_the_worst_case(range(30), 12, random_room)
    assert count >= 360


@pytest.mark.nightly
def test_no_depth_goes_below_its_worst_case_in_many_rooms() -> None:
    count, _ = none_under_the_worst_case(range(100, 500), 60, random_room)
    assert count >= 24_000


def test_a_leaning_side_of_an_opening_is_off_with_both_of_its_ends() -> None:
    # A room in which either end of such a side takes nothing by itself.
    none_under_the_worst_case([453], 60, random_room)


def test_the_worst_case_is_reached_by_the_room_that_its_contributors_tell() -> None:
    beside = count = 0
    for seed in range(120):
        of = random_room(random.Random(seed))
        openings = of.enclosure.openings
        # Points of a polygon share numbers here, and where openings overlap one may still hold
        # what leaves the other: there no room may be as bad as told.
        if any(isinstance(o.shape, Extrusion) or o.id.startswith("o1") for o in openings):
            continue
        for key, figure in figures_of(of).items():
            mm = depths_in(off_as_told(of, figure))[key]
            assert mm == pytest.approx(figure.worst.worst_mm, abs=1e-6), (seed, told(figure))
            beside += figure.beside is not None
            count += 1
    assert count > 60
    assert beside > 30
