"""What stands beside the way of an item as drawn, and in it in the worst case; worked by hand."""

from __future__ import annotations

import pytest
from depth_findings import depth_of, told
from small_rooms import block, exchanger, fan, fan_layer, layout, one, room, row, zone
from small_rooms import stack as stack_of

from catalog.enclosure import Obstacle, ZoneSide
from catalog.model import Dimension, FrozenMap
from catalog.shapes import Cylinder
from geometry.checks.finding_figures import depth_figure, finding_figure
from geometry.checks.runner import check_layout
from geometry.finding import Report, Verdict
from geometry.layout import Layer, Layout
from geometry.stackup.stack_ups import Figure
from geometry.stackup.words import elsewhere_words

FAN = fan().but(id="fan", name="Fan")
FLOOR = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))


def under(*obstacles: Obstacle, layers: tuple[Layer, ...] | None = None) -> Layout:
    """A fan on the floor, from x = 40 to 160 and y = 40 to 160, 25 high, in a room 300 high."""
    enclosure = room((400, 200, 300), [FLOOR], obstacles)
    given = (fan_layer("A", FAN, ["c1"]),) if layers is None else layers
    core = exchanger(1, 30, port_facing="-z").but(id="x", ports=())
    return layout(enclosure, [FAN, core], [stack_of("S", "floor-zone", *given)])


def test_an_edge_within_reach_of_tolerances_limits_the_depth_in_the_worst_case() -> None:
    # A bar from x = 161.5, underside at 100. The fan's edge at 160 may be off by 0.3 (the zone's
    # place 40), 0.3 (the cell's 60), 0.15 (half the frame) and 0.5 (its screws), the bar's place
    # by 0.5: 1.75 in all. So it may stand in the way, 100 - 25 = 75 ahead less 0.3 and 0.2.
    figure = depth_of(under(block("bar", (161.5, 40, 100), (200, 160, 120))))
    assert told(figure) == ("bar", 74.5, 1.5)
    assert figure.nominal.nominal_mm == pytest.approx(275.0)
    assert figure.beside is not None
    assert figure.beside.worst_mm == pytest.approx(1.5 - 1.75)
    assert elsewhere_words(figure, str) == " at bar, 1.5 beside the way as drawn"


@pytest.mark.parametrize(
    ("bar", "why"),
    [
        (block("bar", (161.8, 40, 100), (200, 160, 120)), "farther away than they reach"),
        (block("bar", (161.5, 40, 0), (200, 160, 120)), "beside the fan itself, not ahead"),
        (block("bar", (161.5, 161.8, 100), (200, 180, 120)), "past the corner"),
    ],
)
def test_what_stays_beside_does_not(bar: Obstacle, why: str) -> None:
    figure = depth_of(under(bar))
    # The roof: 300 - 25 = 275, less 0.5 and 0.2.
    assert told(figure) == ("roof", 274.3, None), why


def test_a_round_thing_comes_in_by_its_own_edge() -> None:
    # A post of 40 across hangs with its middle at x = 181, so that its edge is 1 mm off the fan's:
    # its place +-0.5, its half +-0.15, and the fan's edge as before 1.25.
    post = Obstacle(
        id="post",
        name="post",
        shapes=(Cylinder(axis="z", at_mm=(181, 100, 100), diameter_mm=40, length_mm=190),),
    )
    figure = depth_of(under(post))
    assert told(figure) == ("post", 74.5, 1.0)
    assert figure.beside is not None
    assert figure.beside.worst_mm == pytest.approx(1.0 - 1.9)


def test_statistically_it_counts_as_often_as_it_comes_in() -> None:
    # By root sum square 0.09 + 0.09 + 0.0225 + 3 x 0.25 + 0.25 = 1.2025, so 1.0966 mm are three
    # standard deviations. 1.05 mm beside, it comes in more often than 0.135 %, and limits.
    near = depth_of(under(block("bar", (161.05, 40, 100), (200, 160, 120))))
    assert near.likely_least_mm == pytest.approx(near.worst.likely_least_mm)
    # 1.15 mm beside, it does so in 0.083 % (3.146 standard deviations), which leaves 0.052 % for
    # the roof, 275 ahead: 3.280 of its standard deviations, 0.5385 / 3.
    far = depth_of(under(block("bar", (161.15, 40, 100), (200, 160, 120))))
    assert far.likely_least_mm == pytest.approx(275 - 3.280 * 0.5385 / 3, abs=5e-4)
    # 1.7 mm beside, it hardly ever does.
    rare = depth_of(under(block("bar", (161.7, 40, 100), (200, 160, 120))))
    assert rare.likely_least_mm == pytest.approx(275 - 0.5385, abs=1e-4)
    assert (near.worst_name, far.worst_name, rare.worst_name) == ("bar", "bar", "bar")


def test_what_is_stacked_over_an_item_meets_it_first() -> None:
    # Over the exchanger, 30 thick, lies a fan up to 55. A bar at 58 stands 0.5 mm beside both: the
    # fan would meet it, 3 mm ahead, and not the exchanger, which it leaves 28. That is limited at
    # its port end, where it sticks out, by a ledge at 60: 30, less 0.3 and 0.2.
    layers = (one("E1", exchanger(1, 30).but(id="x", ports=())), fan_layer("B", FAN, ["c1"]))
    bar = block("bar", (50, 10, 58), (150, 39.5, 70))
    ledge = block("ledge", (170, 40, 60), (190, 160, 70))
    report = check_layout(under(bar, ledge, layers=layers)).report
    figures = {
        left.item: depth_figure(report, left) for depth in report.depths for left in depth.cells
    }
    fan_figure, core_figure = figures["B.1"], figures["E1"]
    assert fan_figure is not None
    assert core_figure is not None
    assert told(fan_figure) == ("bar", 2.3, 0.5)
    assert told(core_figure) == ("ledge", 29.5, None)


def test_a_part_outside_the_cavity_has_its_figure() -> None:
    # The exchanger lies from x = 25 to 190 but the room ends at 185: 5 mm into the front wall.
    # Off may be the room's length 185 by 0.5, the zone's place 0.3, the cells' places 0.3 and none
    # (in the middle of the exchanger), the screws 0.5, half the core 0.15 and the port end 0.2.
    enclosure = room((185, 200, 300), [FLOOR])
    core = exchanger(1, 30, port_facing="-z").but(id="x", ports=())
    of = layout(enclosure, [core], [stack_of("S", "floor-zone", one("E1", core))])
    report = check_layout(of).report
    (found,) = (f for f in report.findings if f.verdict is Verdict.BLOCKED)
    figure = finding_figure(report, found)
    assert figure is not None
    assert figure.nominal.nominal_mm == pytest.approx(-5.0)
    assert figure.worst.worst_mm == pytest.approx(-5.0 - 1.95)
    assert figure.worst.most_mm == pytest.approx(-5.0 + 1.95)


def findings_of(of: Layout) -> tuple[Report, dict[str, Figure | None]]:
    report = check_layout(of).report
    return report, {f"{f.kind} {f.verdict}": finding_figure(report, f) for f in report.findings}


def test_a_part_far_outside_has_its_figure_too() -> None:
    # A zone 500 over the roof of 300 faces up: the fan lies at 800 to 825, 525 past the roof and
    # past everything round it, so no move ends inside. Off: zone +-0.8, fan +-0.2, roof +-0.5.
    place = zone("high-zone", "floor", (40, 40, 800), "+x", "+y", row(1))
    enclosure = room((400, 200, 300), [place])
    of = layout(enclosure, [FAN], [stack_of("S", "high-zone", fan_layer("A", FAN, ["c1"]))])
    _, figures = findings_of(of)
    figure = figures["outside_cavity blocked"]
    assert figure is not None
    assert figure.nominal.worst_mm - figure.nominal.nominal_mm == pytest.approx(-1.5)


def test_clear_depths_and_given_depths_have_their_figures() -> None:
    # The zone is given for 20, the fan takes 25: over by 5, though 275 are left. The given depth
    # 20 may be off by 0.2 and the fan by 0.2.
    given = zone(
        "floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1), inner=ZoneSide(depth_mm=20.0)
    )
    enclosure = room((400, 200, 300), [given])
    of = layout(enclosure, [FAN], [stack_of("S", "floor-zone", fan_layer("A", FAN, ["c1"]))])
    _, figures = findings_of(of)
    clear, over = figures["leftover_depth clear"], figures["leftover_depth tight"]
    assert clear is not None
    assert over is not None
    assert (clear.nominal.nominal_mm, clear.worst.worst_mm) == pytest.approx((275.0, 274.3))
    assert (over.nominal.nominal_mm, over.worst.worst_mm) == pytest.approx((-5.0, -5.4))


def test_a_given_tolerance_brings_in_what_stands_far_beside() -> None:
    # 12 mm beside, with a place that is only known to +-15.
    of = under(block("bar", (172, 40, 100), (200, 160, 120)))
    rough = {"obstacles[0].shapes[0].at_mm[0]": Dimension(minus_mm=15.0, plus_mm=15.0)}
    of = of.but(enclosure=of.enclosure.but(dimensions=FrozenMap(rough)))
    assert told(depth_of(of)) == ("bar", 74.5, 12.0)
