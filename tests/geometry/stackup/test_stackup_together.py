"""What dimensions take together where a part of a wall beside an opening gets other corners."""

from __future__ import annotations

import pytest
from every_corner import gap_of, none_under
from joined_rooms import pegged, polygon_room, ring
from roof_openings import cut

from catalog.shapes import Shape

POLYGON = ring(
    (131.129, 105.962), (135.309, 88.707), (147.679, 80.71),
    (172.412, 92.43), (173.864, 107.828), (143.153, 121.793),
)  # fmt: skip
BEGINS, ENDS = 158.6134855957527, 174.72957145905843


@pytest.mark.parametrize("first", [True, False])
def test_a_leaning_side_that_another_opening_cuts_off_is_off(first: bool) -> None:
    # The last side, from x = 173.864, ends for a piece of the roof where the slot begins, beside
    # its own line by the last digit. The block is nearest to it, both of its ends are off by 0.5.
    shapes: list[Shape] = [cut(BEGINS, ENDS, 86.69476929443867, 102.04859218305842), POLYGON]
    size, at = (10.1, 20.92), (152.707, 102.055)
    figure = gap_of(pegged(*(shapes if first else shapes[::-1]), size=size, at=at), "roof")
    alone = gap_of(pegged(POLYGON, size=size, at=at), "roof")
    assert figure.nominal.nominal_mm == pytest.approx(alone.nominal.nominal_mm, abs=0.1)
    assert figure.worst.worst_mm <= alone.worst.worst_mm + 0.05


def test_no_gap_in_an_opening_of_leaning_sides_goes_below_its_worst_case() -> None:
    count, low_mm = none_under(range(100, 140), polygon_room, "roof", axis="z", many=4, inside=4)
    assert count >= 36
    assert low_mm < 0.2


@pytest.mark.nightly
def test_no_gap_in_many_openings_of_leaning_sides_goes_below_its_worst_case() -> None:
    count, low_mm = none_under(range(200, 1200), polygon_room, "roof", axis="z", many=6, inside=16)
    assert count >= 900
    assert low_mm < 0.2
