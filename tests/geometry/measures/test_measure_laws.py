"""The laws of the three measures on random solids, against outside oracles and each other.

Volumes, nested solids and sweeps against manifold3d, distances against python-fcl.
"""

from __future__ import annotations

from dataclasses import replace

import prism_laws
import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st
from prism_worlds import FRAME, L_SHAPE, SLANTED_HOLE, U_SHAPE, Pair, far_pairs, pairs, poses
from rotations import all_rotations

from geometry.measures.clearance import clearance
from geometry.measures.overlap import overlap_volume_mm3, parting_shift
from geometry.measures.pose import Pose, Way
from geometry.measures.prism import Poly, Prism, Round, box
from geometry.measures.travel import travel

NO_CHECKS = (HealthCheck.too_slow, HealthCheck.data_too_large)

some = settings(max_examples=40, suppress_health_check=NO_CHECKS)
few = settings(max_examples=25, suppress_health_check=NO_CHECKS)
many = settings(max_examples=250, suppress_health_check=NO_CHECKS)
ways = st.sampled_from(prism_laws.WAYS)
shares = st.sampled_from((0.03, 0.5, 0.9, 0.99))
margins = st.sampled_from((0.0, 0.001, 0.5, 2.0, 40.0))


@some
@given(pairs())
def test_the_shared_volume_is_that_of_the_intersection(pair: Pair) -> None:
    prism_laws.volume_law(*pair)


@some
@given(pairs(straight=True, most=2))
def test_regions_to_hatch_are_the_shared_room_projected(pair: Pair) -> None:
    prism_laws.region_law(*pair)


@some
@given(pairs(), shares)
def test_the_parting_shift_frees_and_nothing_shorter_does(pair: Pair, share: float) -> None:
    prism_laws.parting_law(*pair, share)


@some
@given(far_pairs())
def test_the_clearance_is_the_distance_of_the_surfaces(pair: Pair) -> None:
    prism_laws.distance_law(*pair)


@some
@given(far_pairs(), ways)
def test_the_travel_ends_where_the_sweep_meets_the_other(pair: Pair, way: Way) -> None:
    prism_laws.travel_law(*pair, way)


@few
@given(far_pairs(), ways)
def test_the_travel_is_what_bisection_finds(pair: Pair, way: Way) -> None:
    prism_laws.bisection_law(*pair, way)


@pytest.mark.parametrize("turn", all_rotations(), ids=lambda t: f"{t.x.name}{t.y.name}{t.z.name}")
def test_each_of_the_24_turns_turns_the_vectors_and_changes_no_figure(turn: Pose) -> None:
    frame = Poly(FRAME, (SLANTED_HOLE,))
    a = [
        Prism(2, frame, 0, 3),
        Prism(0, Round(1.5, 4, 1.5, 9, 1), -2, 6),
        box((1, 1, 3), (3, 7, 8)),
    ]
    b = [Prism(1, Poly(L_SHAPE), -1, 4.25), Prism(2, Round(3, 5, 3, 5, 2.25), 2, 9)]
    apart = [Prism(1, Poly(U_SHAPE), 11, 15), Prism(2, Round(14, 9, 17, 9, 2), -4, 1)]
    pose = replace(turn, shift=(7.0, -3.5, 1.25))
    a2, b2, apart2 = (prism_laws.posed(solid, pose) for solid in (a, b, apart))
    volume, shift = overlap_volume_mm3(a, b), parting_shift(a, b)
    assert volume > 1.0
    assert shift is not None
    assert overlap_volume_mm3(a2, b2) == pytest.approx(volume, abs=1e-9)
    turned = parting_shift(a2, b2)
    assert turned is not None
    assert turned.mm == pytest.approx(shift.mm, abs=1e-9)
    assert turned.way == turn.turn(shift.way)
    near, near2 = clearance(a, apart), clearance(a2, apart2)
    assert 1.0 < near.mm == pytest.approx(near2.mm, abs=1e-9)
    for way in prism_laws.WAYS:
        mm = travel(a, way, [("apart", apart)]).mm
        assert travel(a2, turn.turn(way), [("apart", apart2)]).mm == pytest.approx(mm, abs=1e-9)


@some
@given(far_pairs(), poses(), ways)
def test_turning_and_shifting_all_changes_no_figure(pair: Pair, pose: Pose, way: Way) -> None:
    prism_laws.rigid_law(*pair, pose, way)


@some
@given(pairs())
def test_swapping_the_two_changes_no_figure(pair: Pair) -> None:
    prism_laws.swap_law(*pair)


@some
@given(far_pairs(), margins)
def test_growing_takes_at_least_the_margin_off_the_clearance(pair: Pair, margin: float) -> None:
    a, b, _ = pair
    prism_laws.growth_law(a, b, margin)


@some
@given(far_pairs(), ways)
def test_after_its_travel_a_solid_touches(pair: Pair, way: Way) -> None:
    prism_laws.arrival_law(*pair, way)


# Ten blocks of 250 pairs for each of four: 10,000 in all, each block with a seed of its own, and
# 1,000 pairs more whose shared room is hatched.


@pytest.mark.nightly
@pytest.mark.parametrize("block", range(10))
def test_volumes_and_parting_of_many_pairs(block: int) -> None:
    @seed(block)
    @many
    @given(pairs(), shares)
    def law(pair: Pair, share: float) -> None:
        prism_laws.volume_law(*pair)
        prism_laws.parting_law(*pair, share)
        prism_laws.swap_law(*pair)

    law()


@pytest.mark.nightly
@pytest.mark.parametrize("block", range(4))
def test_regions_to_hatch_of_many_pairs(block: int) -> None:
    @seed(block)
    @many
    @given(pairs(straight=True, most=2))
    def law(pair: Pair) -> None:
        prism_laws.region_law(*pair)

    law()


@pytest.mark.nightly
@pytest.mark.parametrize("block", range(10))
def test_clearances_of_many_pairs(block: int) -> None:
    @seed(block)
    @many
    @given(far_pairs())
    def law(pair: Pair) -> None:
        prism_laws.distance_law(*pair)

    law()


@pytest.mark.nightly
@pytest.mark.parametrize("block", range(10))
def test_travels_of_many_pairs(block: int) -> None:
    @seed(block)
    @many
    @given(far_pairs(), ways)
    def law(pair: Pair, way: Way) -> None:
        prism_laws.travel_law(*pair, way)
        prism_laws.arrival_law(*pair, way)

    law()


@pytest.mark.nightly
@pytest.mark.parametrize("block", range(10))
def test_figures_of_many_moved_and_grown_pairs(block: int) -> None:
    @seed(block)
    @many
    @given(far_pairs(), poses(), ways, margins)
    def law(pair: Pair, pose: Pose, way: Way, margin: float) -> None:
        prism_laws.rigid_law(*pair, pose, way)
        prism_laws.growth_law(pair[0], pair[1], margin)

    law()
