"""Openings cut out of slanted pieces: what is left, how little is left out, in how many prisms.

Volumes and shared room are compared with manifold3d, a general solid-modelling library.
"""

from __future__ import annotations

from math import pi

import pytest
from prism_oracles import shared, solid

from geometry.measures.prism import Outline, Poly, Prism, Round
from geometry.openings import STRIPS, cut_out

SLANTED = Prism(0, Poly(((0.0, 0.0), (2.0, 0.0), (2.5, 100.0), (0.5, 100.0))), 0.0, 300.0)
"""A wall 2 mm thick and 300 mm long in x that leans by 0.5 mm over its height of 100."""

ROUND = Round(60.0, 50.0, 60.0, 50.0, 40.0)
SLOT = Round(150.0, 48.0, 170.0, 48.0, 10.0)
RHOMB = Poly(((240.0, 20.0), (270.0, 50.0), (240.0, 80.0), (210.0, 50.0)))


def through(outline: Outline) -> Prism:
    """Return an opening along y that goes right through the wall."""
    return Prism(1, outline, -5.0, 10.0)


def volume(prisms: list[Prism]) -> float:
    """Return the volume of a union of prisms, by manifold3d (mm3)."""
    return float(solid(tuple(prisms)).volume())


@pytest.mark.parametrize(
    "outlines", [(ROUND,), (SLOT,), (RHOMB,), (ROUND, SLOT, RHOMB)], ids=["round", "slot", "rhomb",
    "all"],
)  # fmt: skip
def test_what_is_left_shares_no_room_and_takes_nothing_beside_the_openings(
    outlines: tuple[Outline, ...],
) -> None:
    openings = [through(one) for one in outlines]
    left = cut_out(SLANTED, openings)
    assert sum(volume([p]) for p in left) == pytest.approx(volume(left), rel=1e-9)
    wall, holes = solid((SLANTED,)), solid(tuple(openings), "outside")
    exact = shared(wall, holes)
    taken = volume([SLANTED]) - volume(left)
    # Boxes inside a bend leave out a little of it, never more than a slice at each of its ends.
    assert 0.97 * exact <= taken <= exact
    kept = float((wall - solid(tuple(left))).volume()) - shared(wall - solid(tuple(left)), holes)
    assert kept == pytest.approx(0.0, abs=1e-6)


def test_an_opening_that_ends_within_a_slanted_piece_leaves_what_is_behind_it() -> None:
    block = Prism(0, Poly(((0.0, 0.0), (40.0, 0.0), (50.0, 100.0), (0.0, 100.0))), 0.0, 300.0)
    pocket = Prism(1, ROUND, 30.0, 80.0)
    left = cut_out(block, [pocket])
    # In front of the pocket, up to y = 30, the block is whole: 30 x 100 x 300.
    front = solid((Prism(0, Poly(((0.0, 0.0), (30.0, 0.0), (30.0, 100.0), (0.0, 100.0))), 0, 300),))
    assert shared(solid(tuple(left)), front) == pytest.approx(30 * 100 * 300)
    # Behind it reaches 40 + z / 10 mm: on the mean over the round, by its middle at z = 50, 45 mm.
    taken = volume([block]) - volume(left)
    assert 0.97 * 15 * pi * 40**2 <= taken <= 15 * pi * 40**2


def test_openings_side_by_side_are_cut_into_no_more_slices_than_they_have() -> None:
    row = [through(Round(x, 50.0, x, 50.0, 40.0)) for x in (50.0, 150.0, 250.0)]
    left = cut_out(SLANTED, row)
    # Over and under them one piece each; a slice of all three leaves what is between and beside.
    assert len(left) <= 4 * STRIPS + 2
