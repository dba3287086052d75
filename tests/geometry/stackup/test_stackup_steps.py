"""Depths under things with steps: each step is a face of its own, and may come in by itself."""

from __future__ import annotations

import pytest
from hollow_rooms import FLOOR, with_a_fan
from odd_rooms import odd_case
from small_rooms import room

from catalog.enclosure import Obstacle
from catalog.iso2768 import KnownDimension
from catalog.shapes import Extrusion
from geometry.checks.finding_figures import stack_figure
from geometry.checks.runner import check_layout
from geometry.scene import build_scene
from geometry.stackup.profile_figures import profile_figures
from geometry.stackup.stack_ups import Contributor, Figure, StackUp, no_less_than
from geometry.zone_profile import zone_profile


def under_a_duct(edge: float, low: float = 100.0, lean: float = 0.0) -> Figure:
    """Return the figure of a fan that ends at 140, 25 thick, under a duct with a step at `edge`."""
    ring = ((20, 160), (edge, 160), (edge + lean, low), (250, low), (250, 190), (20, 190))
    shape = Extrusion(axis="y", outline_mm=ring, from_mm=20, to_mm=180)
    duct = Obstacle(id="duct", name="duct", shapes=(shape,))
    report = check_layout(with_a_fan(room((260, 190, 260), [FLOOR], [duct])), remedies=False).report
    found = stack_figure(report, report.depths[0])
    assert found is not None
    return found


@pytest.mark.parametrize("edge", [140.0, 140.1, 140.3, 140.7, 141.4])
def test_a_step_beside_an_item_counts_once_and_with_its_own_depth(edge: float) -> None:
    # 135 as drawn. The step is 60 lower: 75, its level off by 0.3 and the fan by 0.2. The way to it
    # may be lost: the screws' play 0.5, the step's place 0.5, the zone's and the cell's place 0.3
    # each, half the frame 0.15.
    figure = under_a_duct(edge)
    assert figure.nominal.nominal_mm == pytest.approx(135)
    assert figure.nominal.worst_mm == pytest.approx(135 - 0.5 - 0.2)
    assert figure.worst.worst_mm == pytest.approx(75 - 0.3 - 0.2)
    assert figure.beside is not None
    assert figure.beside.nominal_mm == pytest.approx(edge - 140)
    assert figure.beside.worst_mm == pytest.approx(edge - 140 - 0.5 - 0.5 - 0.3 - 0.3 - 0.15)


def test_a_step_out_of_reach_counts_for_nothing() -> None:
    figure = under_a_duct(141.8)
    assert not figure.elsewhere
    assert figure.worst.worst_mm == pytest.approx(135 - 0.5 - 0.2)


def test_a_step_over_an_item_is_what_limits_it() -> None:
    figure = under_a_duct(139.0)
    assert figure.nominal.nominal_mm == pytest.approx(75)
    assert figure.worst.worst_mm == pytest.approx(75 - 0.3 - 0.2)


def test_no_more_is_lost_on_a_steep_slope_than_it_is_high() -> None:
    # Up by 60 over 0.5 mm: each 0.3 to the side takes 36 of it by itself.
    figure = under_a_duct(140.0, lean=0.5)
    assert figure.worst.worst_mm == pytest.approx(75 - 0.3 - 0.2, abs=0.01)


def test_of_a_leaning_step_only_what_comes_over_an_item_counts() -> None:
    # It begins 1 beside and falls by 6 a millimetre. The fan comes to 141.25 and the step to 140.5,
    # where it is 0.5 lower: 160 - 6 * 0.75 - 0.5 less the fan, 25.2. Its lower end is at 75.
    figure = under_a_duct(141.0, lean=10.0)
    assert figure.beside is not None
    assert 120.0 < figure.worst.worst_mm <= 160 - 6 * 0.75 - 0.5 - 25.2


def contributor(path: str, at_plus_mm: float, at_minus_mm: float) -> Contributor:
    known = KnownDimension(10.0, 0.3, 0.3, "stated", general=False)
    return Contributor("owner", "owner", path, known, at_plus_mm, at_minus_mm)


def test_dimensions_share_what_they_cannot_take_all_together() -> None:
    gap = StackUp(20.0, (contributor("x", -8.0, 0.0), contributor("y", 0.0, -8.0)))
    least = StackUp(10.0, (contributor("z", 0.5, -0.5),))
    assert no_less_than(gap, StackUp(1.0, ())) is gap
    shared = no_less_than(gap, least)
    assert shared.nominal_mm == 20.0
    assert shared.worst_mm == pytest.approx(9.5)
    assert {c.path: c.loss_mm for c in shared.contributors} == pytest.approx(
        {"x": 5.0, "y": 5.0, "z": 0.5}
    )


def test_no_stretch_of_a_profile_is_worse_than_its_least_depth() -> None:
    count = under_slopes = 0
    for seed in (*range(50000, 50040), 50042, 50164):
        scene = build_scene(odd_case(seed).case.layout)
        for zone in scene.layout.enclosure.zones:
            if zone.inner is None:
                continue
            for across in (False, True):
                found = zone_profile(scene, zone.id, "inner", across=across)
                figures = profile_figures(scene, found)
                for piece, figure in zip(found.profile.pieces, figures.pieces, strict=True):
                    if figure is None or figures.least is None:
                        continue
                    count += 1
                    least = figures.least.worst.worst_mm
                    assert figure.nominal.nominal_mm == pytest.approx(piece.least()), seed
                    assert figure.worst.worst_mm >= least - 1e-6, (seed, zone.id, piece.key)
                    under_slopes += len(figure.worst.contributors) > 3
    assert count > 300
    assert under_slopes > 20
