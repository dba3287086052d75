"""Openings that run into each other come apart once they are off, and leave a bar of wall.

Worked by hand, and against rooms off within tolerance.
"""

from __future__ import annotations

import random

import pytest
from depth_findings import depth_of, told
from joined_rooms import joined_room, ring
from roof_openings import (
    cut,
    depths_in,
    figures_of,
    none_under_the_worst_case,
    off_as_told,
    shares,
    under,
)

from catalog.shapes import Box, Cylinder, Shape

# ---- worked by hand: a fan from x = 40 to 160 and y = 40 to 160 under a roof at z = 300 ----


def test_a_bar_of_wall_between_two_openings_that_come_apart_limits_the_depth() -> None:
    # From x = 30 to 100.2 and from 99.8: 0.4 over each other. Off are the end of the first by 0.2
    # (30) and 0.3 (70.2 long), the beginning of the second by 0.3: 0.8. The roof, at 300, is off
    # by 0.5, the fan, 25 thick, by 0.2.
    figure = depth_of(under(cut(30, 100.2, 30, 170), cut(99.8, 170, 30, 170)))
    assert figure.nominal.nominal_mm == pytest.approx(277.0)
    assert told(figure) == ("roof", 274.3, 0.4)
    assert figure.beside is not None
    assert figure.beside.worst_mm == pytest.approx(0.4 - 0.8)
    assert shares(figure.beside) == {
        ("o0", "openings[0].shape.at_mm[0]"): 0.2,
        ("o0", "openings[0].shape.size_mm[0]"): 0.3,
        ("o1", "openings[1].shape.at_mm[0]"): 0.3,
    }


@pytest.mark.parametrize(
    ("overlap_mm", "name"), [(0.79, "roof"), (0.81, "outside of the enclosure")]
)
def test_openings_that_overlap_by_more_than_they_are_off_stay_one(
    overlap_mm: float, name: str
) -> None:
    # The second begins at 99.8 and is off by 0.3, the first as above.
    both = cut(30, 99.8 + overlap_mm, 30, 170), cut(99.8, 170, 30, 170)
    assert told(depth_of(under(*both)))[0] == name


@pytest.mark.parametrize(
    ("third", "name"),
    [
        (cut(95, 105, 30, 170), "outside of the enclosure"),  # over the whole bar
        (cut(95, 105, 30, 150), "roof"),  # leaves an end of it
    ],
)
def test_a_bar_that_a_third_opening_takes_away_is_none(third: Box, name: str) -> None:
    both = cut(30, 100.2, 30, 170), cut(99.8, 170, 30, 170)
    assert told(depth_of(under(*both, third)))[0] == name


def test_a_bar_beside_the_item_is_not_met() -> None:
    # The seam lies at x = 165, 5 mm beside the fan, which the first opening holds by itself.
    both = cut(30, 165.2, 30, 170), cut(164.8, 300, 30, 170)
    assert told(depth_of(under(*both)))[0] == "outside of the enclosure"


@pytest.mark.parametrize(("over_mm", "name"), [(0.3, "roof"), (3.0, "outside of the enclosure")])
def test_a_leaning_seam_comes_apart_too(over_mm: float, name: str) -> None:
    first = ring((30, 30), (90 + over_mm, 30), (110 + over_mm, 170), (30, 170))
    second = ring((90, 30), (170, 30), (170, 170), (110, 170))
    assert told(depth_of(under(first, second)))[0] == name


@pytest.mark.parametrize(
    ("radius_mm", "name"), [(95.0, "outside of the enclosure"), (73.0, "roof")]
)
def test_where_two_round_openings_meet_they_are_narrow(radius_mm: float, name: str) -> None:
    # 40 mm either way from the middle of the fan: they meet at sqrt(r^2 - 40^2) from it, 86 and 61,
    # where the fan reaches 60. Sideways each is off by 0.3 or 0.5, by half of 0.3 or 0.5 all round.
    both = [
        Cylinder(axis="z", at_mm=(x, 100, 295), diameter_mm=2 * radius_mm, length_mm=12)
        for x in (60, 140)
    ]
    assert told(depth_of(under(*both)))[0] == name


def test_pieces_of_one_opening_with_a_hollow_stay_one() -> None:
    shape: Shape = ring((30, 30), (170, 30), (170, 180), (100, 180), (100, 170), (30, 170))
    assert told(depth_of(under(shape)))[0] == "outside of the enclosure"


# ---- against rooms off within tolerance ----


def test_no_depth_goes_below_its_worst_case_where_openings_only_just_are_one() -> None:
    count, _ = none_under_the_worst_case(range(16), 12, joined_room)
    assert count >= 192


@pytest.mark.nightly
def test_no_depth_goes_below_its_worst_case_in_many_rooms_of_joined_openings() -> None:
    count, _ = none_under_the_worst_case(range(100, 200), 60, joined_room)
    assert count >= 6_000


def test_the_room_that_the_contributors_tell_leaves_what_the_worst_case_says() -> None:
    reached = count = 0
    for seed in range(60):
        of = joined_room(random.Random(seed))
        if not all(isinstance(opening.shape, Box) for opening in of.enclosure.openings):
            continue
        for key, figure in figures_of(of).items():
            mm = depths_in(off_as_told(of, figure))[key]
            reached += mm == pytest.approx(figure.worst.worst_mm, abs=1e-6)
            count += 1
    assert count > 20
    assert reached == count
