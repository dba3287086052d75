"""Gaps of what stands in an opening: its edge is off with its place and its size.

Worked by hand, and against rooms off within tolerance.
"""

from __future__ import annotations

from math import hypot, sqrt

import pytest
from small_rooms import brick, exchanger, free, layout, one, room, row, zone
from small_rooms import stack as stack_of

from app.demo import demo_layout
from catalog.enclosure import Opening
from catalog.model import Dimension, FrozenMap
from catalog.shapes import Box, Cylinder, Shape
from catalog.store import Library
from geometry.checks.finding_figures import depth_figure
from geometry.checks.nearest import nearest_figure, nearest_of
from geometry.checks.runner import check_layout
from geometry.layout import Held, Layout, Settings
from geometry.stackup.rim_parts import DIRECTIONS
from geometry.stackup.rims import rims_of
from geometry.stackup.stack_ups import Figure, StackUp

PEG = brick("peg", (40, 40, 60))
"""Its sides are off by 0.3, that is by half of it each; its place by 0.3 (100 and 100) or more."""


def peg_in(*shapes: Shape, wall: str = "roof", height_mm: float = 200) -> Layout:
    """A peg from x = 80 to 120 and y = 80 to 120 through the roof of a room, with openings."""
    openings = [
        Opening(id=f"o{k}", name=f"cut {k}", wall=wall, shape=shape)  # type: ignore[arg-type]
        for k, shape in enumerate(shapes)
    ]
    peg = free("P", PEG, (100, 100, height_mm - 30), held=Held(by="clamp", on="floor"))
    enclosure = room((400, 200, height_mm), openings=tuple(openings))
    return layout(enclosure, [PEG], frees=[peg], settings=Settings(margin_mm=0.0))


def cut(x0: float, x1: float, y0: float, y1: float, z0: float = 195) -> Box:
    """An opening through the roof, deeper than that may come to be thick."""
    return Box(at_mm=(x0, y0, z0), size_mm=(x1 - x0, y1 - y0, 12))


def hole(x: float, y: float, diameter_mm: float) -> Cylinder:
    """A round one."""
    return Cylinder(axis="z", at_mm=(x, y, 195), diameter_mm=diameter_mm, length_mm=12)


def gap_of(of: Layout) -> Figure:
    survey = check_layout(of, remedies=False).report.survey
    assert survey is not None
    (near,) = nearest_of(survey, "P")
    return nearest_figure(survey, near)


def losses(of: StackUp) -> dict[tuple[str, str], float]:
    return {(c.owner, c.path): round(c.loss_mm, 6) for c in of.contributors}


def barb_in(x: float, diameter_mm: float, height_mm: float = 40) -> Layout:
    """A barb of 20 mm at (175, 100), its end at 54, through the roof at 40, in a grommet."""
    core = exchanger(1, 30, port_facing="+z").but(id="core")
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    stacks = [stack_of("S", "floor-zone", one("E1", core))]
    at = (x, 100, height_mm - 5)
    shape = Cylinder(axis="z", at_mm=at, diameter_mm=diameter_mm, length_mm=12)
    grommet = Opening(id="o0", name="grommet", wall="roof", shape=shape)
    enclosure = room((400, 200, height_mm), [floor], openings=(grommet,))
    return layout(enclosure, [core], stacks, settings=Settings(margin_mm=0.0))


def barb_gap(x: float, diameter_mm: float) -> Figure:
    survey = check_layout(barb_in(x, diameter_mm), remedies=False).report.survey
    assert survey is not None
    (near,) = (one for one in nearest_of(survey, "E1") if one.kind == "port_end")
    assert (near.a.id, near.b.id) == ("E1/fitting:p1", "roof")
    return nearest_figure(survey, near)


# ---- worked by hand ----


def test_the_near_side_of_an_opening_is_off_with_its_place() -> None:
    # From x = 77, 3 mm before the peg: its place (100) off by 0.3, half its length by 0.15, and
    # that of the opening (77) by 0.3. Statistically sqrt(0.3^2 + 0.15^2 + 0.3^2) = 0.45.
    figure = gap_of(peg_in(cut(77, 130, 70, 130)))
    assert figure.nominal.nominal_mm == pytest.approx(3.0)
    assert figure.worst.worst_mm == pytest.approx(3.0 - 0.75)
    assert figure.likely_least_mm == pytest.approx(3.0 - 0.45)
    assert losses(figure.worst) == {
        ("P", "at_mm[0]"): 0.3,
        ("o0", "openings[0].shape.at_mm[0]"): 0.3,
        ("P", "length_mm"): 0.15,
    }


def test_the_far_side_is_off_with_its_size_too() -> None:
    # From x = 70, 52 long, to 122, 2 mm behind the peg: 0.3 and 0.3 of the opening.
    figure = gap_of(peg_in(cut(70, 122, 70, 130)))
    assert figure.worst.worst_mm == pytest.approx(2.0 - 0.45 - 0.6)
    assert losses(figure.worst)["o0", "openings[0].shape.size_mm[0]"] == pytest.approx(0.3)


def test_what_has_the_larger_share_comes_first() -> None:
    opening = cut(70, 142, 70, 130).but(at_mm=(50, 70, 195))
    # To x = 122 again, but from 50 and 72 long, made to within 0.9: more than all others.
    of = peg_in(opening)
    loose = Dimension(minus_mm=0.9, plus_mm=0.9, origin="measured")
    dimensions = FrozenMap({"openings[0].shape.size_mm[0]": loose})
    of = of.but(enclosure=of.enclosure.but(dimensions=dimensions))
    first, second, *_ = gap_of(of).worst.contributors
    assert (first.owner, first.path) == ("o0", "openings[0].shape.size_mm[0]")
    assert first.loss_mm == pytest.approx(0.9)
    assert second.loss_mm == pytest.approx(0.3)


def test_a_corner_in_a_round_opening_loses_half_its_diameter() -> None:
    # Corners of the peg are 28.284 from the middle of the opening, its radius is 30. Each way the
    # peg is off by 0.3 and half of 0.3, the opening by 0.3: along the corner 1 / sqrt(2) of that
    # for either axis; and half of 0.3 by the diameter. A circle of 128 sides is 0.03 % less wide.
    figure = gap_of(peg_in(hole(100, 100, 60)))
    assert figure.nominal.nominal_mm == pytest.approx(30 - 28.284, abs=0.01)
    lost = figure.nominal.nominal_mm - figure.worst.worst_mm
    assert lost == pytest.approx(2 * 0.75 / sqrt(2) + 0.15, abs=1e-3)


@pytest.mark.parametrize(
    ("x", "nominal_mm", "nearer_mm"), [(175, 3.0, 0.0), (174, 2.0, 1.0), (172.5, 0.5, 2.5)]
)
def test_a_barb_in_its_grommet(x: float, nominal_mm: float, nearer_mm: float) -> None:
    # A barb of 20 in a grommet of 26 keeps (26 - 20) / 2, less what their middles are apart. Off
    # are along x: the grommet's place (over 120: 0.5), the zone's (40: 0.3), the cell's (60: 0.3),
    # the port's (75: 0.3), the screws (0.5); along y: 0.3, 0.3, 0.3 and 0.5; half of 0.2 by either
    # diameter. All of it at once brings the middles sqrt(x^2 + y^2) apart.
    figure = barb_gap(x, 26)
    assert figure.nominal.nominal_mm == pytest.approx(nominal_mm, abs=0.005)
    exact = 3.0 - hypot(nearer_mm + 1.9, 1.4) - 0.2
    # Told is a thirty-second of the way round at once, which adds up to a little more.
    assert exact - 0.093 * hypot(1.9, 1.4) <= figure.worst.worst_mm <= exact + 1e-3
    told = losses(figure.worst)
    assert told["o0", "openings[0].shape.diameter_mm"] == pytest.approx(0.1, abs=1e-3)
    assert 0.3 < told["o0", "openings[0].shape.at_mm[0]"] < 0.5


def test_a_barb_in_the_middle_of_its_grommet_may_be_near_all_round() -> None:
    # Each direction by itself falls below a limit in 0.135 % of all cases; together in more.
    figure = barb_gap(175, 26)
    assert len(figure.near) == DIRECTIONS
    assert figure.likely_least_mm < min(one.gap.likely_least_mm for one in figure.near) - 0.05


@pytest.mark.parametrize(
    "beside",
    [cut(77, 130, 132, 190), cut(20, 60, 70, 130), hole(200, 100, 60), cut(77, 130, 10, 60)],
)
def test_only_the_opening_in_which_it_stands_counts(beside: Shape) -> None:
    # Sides in one line with its own, and round openings, for which the wall is cut otherwise.
    alone = gap_of(peg_in(cut(77, 130, 70, 130)))
    figure = gap_of(peg_in(cut(77, 130, 70, 130), beside))
    assert losses(figure.worst) == losses(alone.worst)
    assert figure.worst.worst_mm == pytest.approx(alone.worst.worst_mm)


def test_two_sides_that_are_about_as_near_both_count() -> None:
    one_side, both = gap_of(peg_in(cut(77, 130, 70, 130))), gap_of(peg_in(cut(77, 123, 70, 130)))
    assert both.worst.worst_mm == pytest.approx(3.0 - 0.45 - 0.6)
    assert both.likely_least_mm < one_side.likely_least_mm - 0.05


def depth_over(of: Layout) -> Figure:
    report = check_layout(of, remedies=False).report
    figure = depth_figure(report, report.depths[0].least)
    assert figure is not None
    return figure


@pytest.mark.parametrize(
    ("height_mm", "worst_mm"), [(53.8, -0.9), (53.4, -1.3), (53.2, 22.7), (40, 9.5)]
)
def test_a_barb_that_ends_in_its_grommet_may_come_to_end_before_it(
    height_mm: float, worst_mm: float
) -> None:
    # The core, 30 thick, limits it as drawn. The barb ends 0.2 beyond the underside of the roof;
    # 0.3 by the room's height, 0.2 by the port's place and 0.2 by the fitting's length it may end
    # before that, or stand 0.9 in it where it is off sideways by the 1.5 that it has. So it may
    # where it ends 0.6 beyond, not where 0.8: then only the core can, off by 0.3 and 0.2.
    figure = depth_over(barb_in(175, 23, height_mm))
    assert figure.nominal.nominal_mm == pytest.approx(height_mm - 30)
    assert figure.worst.worst_mm == pytest.approx(worst_mm)
    assert (figure.beside is not None) == (worst_mm < 0)


def test_a_barb_with_play_enough_in_its_grommet_never_ends_before_it() -> None:
    # 3 mm all round, of which 2.5 can be lost: see above.
    figure = depth_over(barb_in(175, 26, 53.8))
    assert figure.worst.worst_mm == pytest.approx(23.3)


def test_a_barb_in_the_edge_of_its_grommet_leaves_the_depth_of_its_core() -> None:
    # It stands 0.5 mm in the roof, which is left faster sideways; the core is 10 mm under it.
    figure = depth_over(barb_in(173.5, 22, 40))
    assert (figure.nominal.nominal_mm, figure.worst_name) == (pytest.approx(10.0), "roof")
    assert figure.worst.worst_mm == pytest.approx(9.5)


# ---- what it costs ----


def made_for(of: Layout) -> tuple[int, int]:
    """Return how many parts of walls a first check makes, and how many of them cut otherwise."""
    check_layout(of, remedies=False)
    every = [one for some in rims_of(of.enclosure)._clusters.values() for one in some]
    made = [rim for one in every if "rims" in vars(one) for rim in one.rims]
    return len(made), sum(len(rim._seen) for rim in made)


def test_only_openings_within_reach_are_looked_at() -> None:
    # The demo has 9 openings with 40 dimensions, of which none is within reach of a part.
    parts, variants = made_for(demo_layout(Library()))
    assert parts <= 20
    assert variants <= 20
    # A barb in its grommet: either limit and its beginning, of three dimensions of each part.
    parts, variants = made_for(barb_in(174, 26))
    assert parts <= DIRECTIONS + 2
    assert 0 < variants <= 12 * DIRECTIONS
