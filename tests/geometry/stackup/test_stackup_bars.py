"""A bar of wall that may come between two openings counts in the gaps of what stands in them.

Worked by hand, and against rooms off within tolerance.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest
from joined_rooms import pegged, pegged_room, ring
from off_layouts import Maker, in_their_play
from roof_openings import cut, rounded_out, shares
from slanted_rooms import slanted_halves

from catalog.shapes import Box, Cylinder, Shape
from geometry.checks.runner import check_layout
from geometry.layout import Layout
from geometry.measures.clearance import signed_gap_mm
from geometry.measures.solid import Solid
from geometry.scene import Scene, build_scene
from geometry.search.judging.room import NO_DEPTHS
from geometry.stackup.figure_words import beside_words, limits_words
from geometry.stackup.figures import Tolerances
from geometry.stackup.stack_ups import Figure


def sides_of(scene: Scene) -> tuple[Solid, Solid]:
    """Return the block and the wall in whose openings it stands."""
    (peg,) = (one for one in scene.solids_of["P"] if one.hard)
    (name,) = {one.wall for one in scene.layout.enclosure.openings}
    return peg, next(one for one in scene.walls.solids if one.owner == name)


def gap_of(of: Layout) -> Figure:
    scene = build_scene(of)
    peg, wall = sides_of(scene)
    return Tolerances(scene, NO_DEPTHS).between((peg,), (wall,))


# ---- worked by hand: a block from x = 80 to 120 and y = 80 to 120 through a roof at z = 300 ----


def halves(ends_at: float, begins_at: float, *more: Shape) -> Layout:
    return pegged(cut(70, ends_at, 70, 130), cut(begins_at, 130, 70, 130), *more)


def test_a_bar_that_comes_across_a_block_shares_its_room() -> None:
    # 0.4 over each other. Off are the end of the first by 0.3 (70) and 0.2 (30.2 is over 30: 0.3),
    # the beginning of the second by 0.3: 0.9. The block reaches 30 beyond the underside of the
    # roof, and by its place (270) and the roof's height (300) 0.5 each more, by its own 0.3.
    figure = gap_of(halves(100.2, 99.8))
    assert figure.nominal.nominal_mm == pytest.approx(10.0)
    assert figure.worst.worst_mm == pytest.approx(-30 - 0.5 - 0.5 - 0.3)
    assert figure.beside is not None
    assert (figure.beside.nominal_mm, figure.beside.worst_mm) == (
        pytest.approx(0.4),
        pytest.approx(0.4 - 0.9),
    )
    assert shares(figure.beside) == {
        ("o0", "openings[0].shape.at_mm[0]"): 0.3,
        ("o0", "openings[0].shape.size_mm[0]"): 0.3,
        ("o1", "openings[1].shape.at_mm[0]"): 0.3,
    }


def test_a_bar_is_told_in_words() -> None:
    figure = gap_of(halves(100.2, 99.8))
    told = limits_words(figure, "{:.1f}".format, "mm")
    assert "worst case -31.3 mm at roof, between openings that overlap by 0.4 mm as drawn" in told
    first, *_ = beside_words(figure, "{:.1f}".format, "mm")
    assert first == (
        "the 0.4 mm by which openings overlap as drawn can be lost, 0.5 mm more than that"
    )


def test_a_bar_beside_a_block_is_as_far_off_as_it_would_stand() -> None:
    # From x = 70 to 125.2, off by 0.3 (70) and 0.3 (55.2): the bar may begin at 124.6, 4.6 beside
    # the block, which is off by 0.3 and half of 0.3.
    figure = gap_of(halves(125.2, 124.8))
    assert figure.nominal.nominal_mm == pytest.approx(10.0)
    assert figure.worst.worst_mm == pytest.approx(4.6 - 0.45)
    figure = gap_of(pegged(cut(70, 75.2, 70, 130), cut(74.8, 130, 70, 130)))
    # It begins at 74.8, off by 0.3, so the bar ends at 75.1.
    assert figure.worst.worst_mm == pytest.approx(4.9 - 0.45)


@pytest.mark.parametrize(("overlap_mm", "comes"), [(0.89, True), (0.91, False)])
def test_openings_that_overlap_by_more_than_they_are_off_leave_no_bar(
    overlap_mm: float, comes: bool
) -> None:
    figure = gap_of(halves(99.8 + overlap_mm, 99.8))
    assert (figure.beside is not None) == (figure.worst.worst_mm < 0.0) == comes


@pytest.mark.parametrize(
    ("third", "comes"),
    [
        (cut(95, 105, 69, 131), False),  # over the whole bar
        (cut(95, 105, 60, 100), True),  # leaves an end of it
    ],
)
def test_a_bar_that_a_third_opening_takes_away_is_none(third: Box, comes: bool) -> None:
    figure = gap_of(halves(100.2, 99.8, third))
    assert (figure.worst.worst_mm < 0.0) == comes


@pytest.mark.parametrize(("over_mm", "comes"), [(0.3, True), (3.0, False)])
def test_a_leaning_seam_comes_apart_too(over_mm: float, comes: bool) -> None:
    first = ring((70, 70), (90 + over_mm, 70), (110 + over_mm, 130), (70, 130))
    second = ring((90, 70), (130, 70), (130, 130), (110, 130))
    assert (gap_of(pegged(first, second)).worst.worst_mm < 0.0) == comes


def test_the_corner_between_two_round_openings_goes_with_both() -> None:
    # Radius 50, 30 either way of the block: they meet 40 beyond its middle, at y = 140 (their
    # polygons by 0.02 less). Inwards each is off by 0.3 along x and y and by half of 0.3 all round:
    # then they meet at sqrt(49.85^2 - 30.3^2) - 0.3 = 39.28 from it.
    both = [Cylinder(axis="z", at_mm=(x, 100, 295), diameter_mm=100, length_mm=12)
            for x in (70, 130)]  # fmt: skip
    figure = gap_of(pegged(*both, size=(2, 40)))
    assert figure.nominal.nominal_mm == pytest.approx(20.0, abs=0.5)
    exact = (49.85**2 - 30.3**2) ** 0.5 - 0.3 - 20.0
    assert figure.worst.worst_mm <= exact - 0.45 + 1e-3


def test_a_bar_makes_a_gap_tight_in_the_check() -> None:
    of = halves(125.2, 124.8)
    for margin, tight in ((4.0, False), (4.2, True)):
        settings = of.settings.model_copy(update={"margin_mm": margin})
        asked = of.model_copy(update={"settings": settings})
        found = check_layout(asked, remedies=False).report.findings
        assert any(one.kind == "worst_case" for one in found) == tight


# ---- against rooms off within tolerance ----


def none_under(
    seeds: range, rooms: int, draw_room: Callable[[random.Random], Layout] = pegged_room
) -> tuple[int, int]:
    """Return how many gaps were compared, and how many bars that were told came."""
    count = came = 0
    for seed in seeds:
        rng = random.Random(seed)
        of = draw_room(rng)
        figure = gap_of(of)
        worst = figure.worst.worst_mm
        least = figure.nominal.nominal_mm
        if least <= 0.0:
            continue

        def at_a_limit(minus: float, plus: float, rng: random.Random = rng) -> float:
            return rng.choice((-minus, plus))

        for _ in range(rooms):
            off = rounded_out(Maker(of, at_a_limit).layout())
            scene = in_their_play(build_scene(off), lambda rng=rng: rng.choice((-0.5, 0.5)))  # type: ignore[misc]
            peg, wall = sides_of(scene)
            mm = signed_gap_mm(peg.prisms, wall.prisms)
            assert mm >= worst - 1e-6 or max(mm, worst) < 0.0, (seed, mm, worst)
            least = min(least, mm)
            count += 1
        came += figure.beside is not None and least < 0.0
    return count, came


def test_no_gap_goes_below_its_worst_case_where_openings_only_just_are_one() -> None:
    count, came = none_under(range(40), 12)
    assert count >= 400
    assert came >= 5


@pytest.mark.nightly
def test_no_gap_goes_below_its_worst_case_in_many_rooms_of_joined_openings() -> None:
    count, came = none_under(range(100, 400), 60)
    assert count >= 15_000
    assert came >= 80


def test_no_gap_goes_below_its_worst_case_between_openings_across_a_slanted_wall() -> None:
    count, came = none_under(range(3), 6, slanted_halves)
    assert count >= 12
    assert came >= 1


@pytest.mark.nightly
def test_no_gap_goes_below_its_worst_case_between_many_openings_across_slanted_walls() -> None:
    count, came = none_under(range(100, 120), 20, slanted_halves)
    assert count >= 300
    assert came >= 5
