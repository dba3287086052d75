"""What stands nearest to a port end and to the rest of a part, worked by hand."""

from __future__ import annotations

import pytest
from small_rooms import block, brick, exchanger, free, layout, one, room, row, zone
from small_rooms import stack as stack_of

from catalog.enclosure import Obstacle
from catalog.model import Dimension, FrozenMap
from catalog.shapes import Plug
from geometry.checks.nearest import nearest_figure, nearest_of, nearest_told
from geometry.checks.runner import check_layout
from geometry.checks.survey import Survey
from geometry.layout import Layout, PairMargin, Settings
from geometry.stackup.stack_ups import Figure
from geometry.stackup.words import elsewhere_words

CUBE = brick("cube", (40, 40, 40))
CORE = exchanger(1, 30, port_facing="-z").but(id="x", ports=())
FLOOR = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))


def beside(*obstacles: Obstacle, **more: object) -> Layout:
    """An exchanger from x = 25 to 190, its port end from 160, in a room to 400."""
    enclosure = room((400, 200, 300), [FLOOR], obstacles)
    stacks = [stack_of("S", "floor-zone", one("E1", CORE))]
    return layout(enclosure, [CORE], stacks, **more)


def survey_of(of: Layout) -> Survey:
    survey = check_layout(of, remedies=False).report.survey
    assert survey is not None
    return survey


def told(survey: Survey, owner: str) -> list[tuple[str, str, str, float, float]]:
    return [
        (n.kind, n.a.id, n.b.owner, round(n.gap_mm, 6), n.required_mm)
        for n in nearest_of(survey, owner)
    ]


def figure_of(survey: Survey, owner: str, kind: str) -> Figure:
    (near,) = (n for n in nearest_of(survey, owner) if n.kind == kind)
    figure = nearest_figure(survey, near)
    assert figure is not None
    return figure


def test_a_clear_port_end_has_its_figure() -> None:
    # The post starts at x = 202, 12 from the port end; the other end tank, from x = 25, is as far
    # from the rear wall. Off may be the post's place 0.5, the zone's 0.3, both cells' 0.3 (60; the
    # exchanger's own is at 0), the screws 0.5, half the core 0.15 and the end tank 0.2: 1.95. By
    # root sum square 0.25 + 0.09 + 0.09 + 3 x 0.25 + 0.0225 + 0.04 = 1.2425, 1.1147.
    survey = survey_of(beside(block("post", (202, 40, 0), (220, 160, 100))))
    assert told(survey, "E1") == [
        ("port_end", "E1/port-end", "post", 12.0, 2.0),
        ("clearance", "E1/core", "rear", 25.0, 2.0),
    ]
    figure = figure_of(survey, "E1", "port_end")
    assert figure.nominal.nominal_mm == pytest.approx(12.0)
    assert figure.worst.worst_mm == pytest.approx(12 - 1.95)
    assert figure.likely_least_mm == pytest.approx(12 - 1.1147, abs=1e-4)
    assert figure.likely_most_mm == pytest.approx(12 + 1.1147, abs=1e-4)


def test_in_the_worst_case_another_thing_may_stand_nearer() -> None:
    # A second post 0.5 mm farther, its place known to +-3 only: 12.5 - 3 - 1.45 = 8.05.
    of = beside(
        block("post", (202, 40, 0), (220, 90, 100)),
        block("rough", (202.5, 100, 0), (220, 160, 100)),
    )
    rough = {"obstacles[1].shapes[0].at_mm[0]": Dimension(minus_mm=3.0, plus_mm=3.0)}
    survey = survey_of(of.but(enclosure=of.enclosure.but(dimensions=FrozenMap(rough))))
    figure = figure_of(survey, "E1", "port_end")
    assert figure.nominal.nominal_mm == pytest.approx(12.0)
    assert (figure.worst_name, figure.worst.worst_mm) == ("rough", pytest.approx(8.05))
    assert elsewhere_words(figure, "{:.1f}".format) == " at rough, 12.5 as drawn"


def test_a_blocked_part_tells_how_far_it_stands_in_something() -> None:
    survey = survey_of(beside(block("post", (184, 40, 0), (220, 160, 100))))
    assert told(survey, "E1")[0] == ("port_end", "E1/port-end", "post", -6.0, 2.0)
    assert figure_of(survey, "E1", "port_end").worst.worst_mm == pytest.approx(-6 - 1.95)


def test_nearest_is_what_leaves_least_above_its_margin() -> None:
    # Cube A from x = 80 to 120. The plug's room of cube C, which may be touched, ends 3 mm before
    # it; cube B stands 4 mm off, of which 2 must be kept, and cables, 5 mm off, are to keep 6.
    plug = Plug(
        id="p", name="plug", at_mm=(20, 0, 20), facing="+x", width_mm=10, height_mm=10, plug_mm=17
    )
    wired = brick("wired", (40, 40, 40), plugs=(plug,))
    cable = block("cable", (80, 125, 0), (120, 140, 40), kind="cable")
    frees = [
        free("A", CUBE, (100, 100, 0)),
        free("B", CUBE, (144, 100, 0)),
        free("C", wired, (40, 100, 0)),
    ]
    of = layout(room((300, 200, 200), obstacles=[cable]), [CUBE, wired], frees=frees)
    assert told(survey_of(of), "A") == [("clearance", "A/body", "B", 4.0, 2.0)]
    apart = Settings(margins=(PairMargin(roles=("body", "cable"), margin_mm=6.0),))
    assert told(survey_of(of.but(settings=apart)), "A") == [
        ("clearance", "A/body", "cable", 5.0, 6.0)
    ]
    without = of.but(free=(of.free[0], of.free[2]), enclosure=room((300, 200, 200)))
    assert told(survey_of(without), "A") == [("clearance", "A/body", "C", 3.0, 0.0)]


def test_statistically_all_that_stands_about_as_near_counts() -> None:
    # Two posts as near to the port end, each with a place of its own, 0.5: what falls below the
    # limit at either adds up to what one alone has below its own.
    one_post = block("post", (202, 40, 0), (220, 90, 100))
    alone = figure_of(survey_of(beside(one_post)), "E1", "port_end")
    both = figure_of(
        survey_of(beside(one_post, block("other", (202, 100, 0), (220, 160, 100)))),
        "E1",
        "port_end",
    )
    assert both.worst.worst_mm == pytest.approx(alone.worst.worst_mm)
    assert both.likely_least_mm == pytest.approx(
        alone.nominal.mean_mm - 3.205 * alone.nominal.spread_mm / 3, abs=1e-3
    )


def test_what_asks_for_less_counts_by_what_it_leaves_above_that() -> None:
    # Cube B stands 4 mm off, of which 2 must be kept; the room for a plug, which may be touched,
    # ends 2.1 mm before cube A, so that it leaves 0.1 mm more than B, and may leave less.
    plug = Plug(
        id="p", name="plug", at_mm=(20, 0, 20), facing="+x", width_mm=10, height_mm=10, plug_mm=17.9
    )
    wired = brick("wired", (40, 40, 40), plugs=(plug,))
    frees = [
        free("A", CUBE, (100, 100, 0)),
        free("B", CUBE, (144, 100, 0)),
        free("C", wired, (40, 100, 0)),
    ]
    of = layout(room((300, 200, 200)), [CUBE, wired], frees=frees)
    figure = figure_of(survey_of(of), "A", "clearance")
    assert figure.nominal.nominal_mm == pytest.approx(4.0)
    b, c = (near.gap for near in figure.near)
    # B decides in the worst case, too: 4 - 1.1. So the plug is told as if it had to keep 2 as well.
    assert figure.worst.worst_mm == pytest.approx(2.9)
    assert (b.nominal_mm, c.nominal_mm) == pytest.approx((4.0, 4.1))
    alone = min(b.likely_least_mm, c.likely_least_mm)
    assert figure.worst.worst_mm < figure.likely_least_mm < alone


def test_what_has_another_gap_to_keep_is_told_by_itself_where_it_leaves_less_at_worst() -> None:
    # A fan's lead reaches 7 mm short of the cage and may touch it: 7 to spare. The frame stands
    # 8 mm off another side, of which it has to keep 2: 6 to spare, so it is nearest as drawn. The
    # cage's face before the lead may be 3 mm off, the rest by 1.1 both: 7 - 3 - 0.6, 8 - 1.1.
    lead = Plug(
        id="p", name="lead", at_mm=(20, 0, 20), facing="+x", width_mm=10, height_mm=10, plug_mm=13
    )
    wired = brick("wired", (40, 40, 40), plugs=(lead,))
    cages = [
        block("cage", (140, 80, 0), (160, 120, 40)),
        block("post", (80, 128, 0), (120, 160, 40)),
    ]
    rough = {"obstacles[0].shapes[0].at_mm[0]": Dimension(minus_mm=3.0, plus_mm=3.0)}
    enclosure = room((300, 200, 200), obstacles=cages).but(dimensions=FrozenMap(rough))
    survey = survey_of(layout(enclosure, [wired], frees=[free("A", wired, (100, 100, 0))]))
    (body, drawn), (plug, at_worst) = nearest_told(survey, "A")
    assert (body.b.owner, body.gap_mm, body.required_mm) == ("post", 8.0, 2.0)
    assert drawn.worst_name == "post"
    assert (plug.a.name, plug.b.owner, plug.gap_mm, plug.required_mm) == ("lead", "cage", 7.0, 0.0)
    for figure in (drawn, at_worst):
        lost = sum(one.loss_mm for one in figure.worst.contributors)
        assert figure.nominal is figure.worst
        assert figure.worst.worst_mm == pytest.approx(figure.nominal.nominal_mm - lost)
    assert at_worst.nominal.nominal_mm == pytest.approx(7.0)
    assert at_worst.worst.worst_mm < drawn.worst.worst_mm - 2.0


def cube_between(left_mm: float, right_mm: float, rough_mm: float) -> Survey:
    """A cube with a block on each side of it, the right one's face known to so much only."""
    blocks = [
        block("left", (60, 80, 0), (80 - left_mm, 120, 60)),
        block("right", (120 + right_mm, 80, 0), (150, 120, 60)),
    ]
    rough = {"obstacles[1].shapes[0].at_mm[0]": Dimension(minus_mm=rough_mm, plus_mm=0.1)}
    enclosure = room((300, 200, 200), obstacles=blocks).but(dimensions=FrozenMap(rough))
    return survey_of(layout(enclosure, [CUBE], frees=[free("A", CUBE, (100, 100, 0))]))


@pytest.mark.parametrize("left_mm", [0.0, -1.0])
def test_the_deepest_overlap_is_nearest(left_mm: float) -> None:
    assert told(cube_between(left_mm, -15.0, 0.1), "A") == [
        ("clearance", "A/body", "right", -15.0, 2.0)
    ]


def test_an_overlap_in_the_worst_case_is_not_the_end_of_the_looking() -> None:
    # Off may be the cube's place 0.5 and half its length 0.3, the left block's face 0.35, 5.0 the
    # right one's; the left is 0.1 away, less than that.
    figure = figure_of(cube_between(0.1, 0.3, 5.0), "A", "clearance")
    assert figure.nominal.nominal_mm == pytest.approx(0.1)
    assert figure.worst_name == "right"
    assert figure.worst.worst_mm < 0.3 - 5.0


def test_what_a_part_is_held_on_is_not_nearest_to_it() -> None:
    # Held on the floor, on which it stands; the access-side wall is 80 mm off.
    of = layout(room((300, 200, 200)), [CUBE], frees=[free("A", CUBE, (150, 100, 0))])
    assert told(survey_of(of), "A") == [("clearance", "A/body", "access", 80.0, 2.0)]


def test_a_part_that_is_not_there_has_none() -> None:
    with pytest.raises(KeyError):
        nearest_of(survey_of(beside()), "E9")
