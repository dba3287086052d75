"""Between the bounds of what is missing lies what the exact measures say is missing."""

from __future__ import annotations

import pytest
from hypothesis import given
from prism_worlds import prisms
from search_oracle import nearest_of_all

from geometry.layout import Settings
from geometry.measures.clearance import clearance
from geometry.measures.overlap import parting_shift
from geometry.measures.prism import Prism, Round, box
from geometry.measures.solid import Role
from geometry.search.judging.units import Makeup, UnitSet, role_margins

MARGIN_MM = 5.0


def bounds_of(one: Prism, other: Prism) -> tuple[float, float]:
    """Return what two prisms miss at least and at most to the margin."""
    makeups = []
    for prism in (one, other):
        gathered = UnitSet()
        made_of = [gathered.number(prism, Role.BODY, "")]
        makeups.append(Makeup.of(gathered.units(), [made_of]))
    margins = role_margins(Settings(margin_mm=MARGIN_MM))
    found = nearest_of_all(makeups[0], makeups[1], margins, 1, maybe=True)
    return float(found.least_mm[0]), float(found.most_mm[0])


@given(prisms(), prisms())
def test_what_is_missing_lies_between_the_bounds(one: Prism, other: Prism) -> None:
    least, most = bounds_of(one, other)
    shift = parting_shift((one,), (other,))
    gap = clearance((one,), (other,)).mm if shift is None else -shift.mm
    assert least - 1e-6 <= MARGIN_MM - gap <= most + 1e-6


def test_boxes_are_bounded_exactly() -> None:
    least, most = bounds_of(box((0, 0, 0), (10, 10, 10)), box((13, 0, 0), (20, 10, 10)))
    assert least == most == pytest.approx(MARGIN_MM - 3.0)


def test_a_stadium_is_bounded_alike_from_either_of_its_ends() -> None:
    # Its flat side is 5 from its middle; the square in its rounds reaches 5 / sqrt(2).
    block = box((0, 8, 0), (20, 20, 10))
    for outline in (Round(0, 0, 20, 0, 5), Round(20, 0, 0, 0, 5)):
        least, most = bounds_of(Prism(2, outline, 0, 10), block)
        assert least == pytest.approx(MARGIN_MM - (8 - 5 / 2**0.5))
        assert most == pytest.approx(MARGIN_MM - 3.0)
        # Along its length it is met from its first round to its last.
        least, _ = bounds_of(Prism(2, outline, 0, 10), box((26, 0, 0), (30, 1, 10)))
        assert least == pytest.approx(MARGIN_MM - (6 - 5 / 2**0.5))
