"""Stack-ups that a re-check takes over are those that a check from nothing finds."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from small_rooms import (
    IN_OR_OUT,
    block,
    exchanger,
    fan,
    fan_layer,
    free,
    layout,
    one,
    room,
    row,
    zone,
)
from small_rooms import stack as stack_of

from catalog.enclosure import ObstacleState
from catalog.model import Dimension, FrozenMap
from catalog.parts import Exchanger, Fitting
from geometry.checks.finding_figures import stack_figure
from geometry.checks.nearest import nearest_figure, nearest_of
from geometry.checks.runner import Checked, check_layout
from geometry.layout import Layout, PortUse, Settings
from geometry.stackup.stack_ups import Figure


def figures(checked: Checked) -> Iterator[Figure | None]:
    """Yield what is left of each stack, and the gaps of its exchanger to all that is near it."""
    report = checked.report
    assert report.survey is not None
    yield from (stack_figure(report, depth) for depth in report.depths)
    yield from (nearest_figure(report.survey, near) for near in nearest_of(report.survey, "E1"))


def told(checked: Checked) -> list[tuple[float, float, list[tuple[str, float]]]]:
    return [
        (
            figure.nominal.nominal_mm,
            figure.worst.worst_mm,
            [(by.path, by.loss_mm) for by in figure.worst.contributors],
        )
        for figure in figures(checked)
        if figure is not None
    ]


def on_a_drawn_bracket(slide_mm: float) -> Layout:
    """An exchanger on a bracket that is drawn in, with a bar along the bracket beside it."""
    core = exchanger(1, 27.0, 80.0).but(id="core")
    drawn_in = ObstacleState(id="in", name="in", shift_mm=(-12.0, 0.0, -8.0))
    bracket = block("bracket", (180, 5, 20), (182, 185, 180), states=(drawn_in,))
    on_it = zone("on-it", "bracket", (180, 40, 40), "+z", "+y", row(1, 80.0, slot_u_mm=20.0))
    bar = block("bar", (60, 40, 160), (150, 120, 165))
    stack = stack_of("S", "on-it", one("E1", core)).but(slide_u_mm=slide_mm)
    enclosure = room((260, 190, 260), [on_it], [bracket, bar])
    return layout(enclosure, [core], [stack], settings=Settings(margin_mm=1.0))


@pytest.mark.parametrize("slid_mm", [8.0, 14.9])
def test_what_is_carried_is_moved_from_where_it_stands_now(slid_mm: float) -> None:
    # The bracket's state is the same before and after, and so is what may be off in it.
    before = on_a_drawn_bracket(0.0)
    after = before.but(stacks=(before.stacks[0].but(slide_u_mm=slid_mm),))
    first = check_layout(before)
    told(first)
    again, anew = check_layout(after, first), check_layout(after)
    assert told(again) == told(anew)
    assert again.report.findings == anew.report.findings
    assert "obstacles[0].states[0].shift_mm[2]" in {
        path for _, _, by in told(anew) for path, _ in by
    }
    assert told(check_layout(before, again)) == told(first)


def test_a_fitting_that_is_another_under_its_id_stands_as_it_is_now() -> None:
    core = exchanger(2, 30.0).but(id="core")
    used = FrozenMap({port.id: PortUse(fitting="straight") for port in core.ports})

    def fitted(part: Exchanger, length_mm: float) -> Layout:
        straight = Fitting(
            id="straight", name="Straight", length_mm=length_mm, diameter_mm=18.0, hand_mm=10.0
        )
        layer = one("E1", part)
        layer = layer.but(items=(layer.items[0].but(ports=used),))
        floor = zone("floor-zone", "floor", (60, 60, 0), "+x", "+y", row(2))
        enclosure = room((420, 260, 70), [floor])
        return layout(enclosure, [part, straight], [stack_of("S", "floor-zone", layer)])

    told(check_layout(fitted(core, 100.0)))
    shorter = told(check_layout(fitted(core, 30.0)))
    assert shorter == told(check_layout(fitted(core.but(), 30.0)))
    # The port's place moves the end of its fitting: 30 + 30 below a roof at 70 leaves 10.
    assert shorter[1][0] == pytest.approx(10.0)
    assert "ports[0].at_mm[2]" in {path for path, _ in shorter[1][2]}


@pytest.mark.parametrize("stacked", [True, False])
def test_a_fitting_that_changes_under_its_part_is_taken_anew(stacked: bool) -> None:
    core = exchanger(2, 30.0).but(id="core")
    used = FrozenMap({port.id: PortUse(fitting="straight") for port in core.ports})
    straight = Fitting(
        id="straight", name="Straight", length_mm=50.0, diameter_mm=18.0, hand_mm=10.0
    )
    layer = one("E1", core)
    layer = layer.but(items=(layer.items[0].but(ports=used),))
    floor = zone("floor-zone", "floor", (60, 60, 0), "+x", "+y", row(2))
    stacks = [stack_of("S", "floor-zone", layer)] if stacked else []
    frees = [] if stacked else [free("E1", core, (200, 130, 60)).but(ports=used)]
    before = layout(room((420, 260, 150), [floor]), [core, straight], stacks, frees)
    shorter = straight.but(length_mm=30.0)
    after = before.but(parts=FrozenMap({**before.parts, "straight": shorter}))  # type: ignore[attr-defined]
    first = check_layout(before)
    told(first)
    assert told(check_layout(after, first)) == told(check_layout(after))


@pytest.mark.parametrize("shown_between", [False, True])
def test_what_stands_on_a_part_that_changes_is_off_with_it(shown_between: bool) -> None:
    # A peg that is taken out, in the same step or in a room that a drag only showed, has all
    # placed anew: the exchanger is as it was then, and the fans of another tolerance below it not.
    thin, core = fan(15.0), exchanger(2, 30.0)
    floor = zone("floor-zone", "floor", (60, 60, 0), "+x", "+y", row(2))
    peg = block("peg", (380, 10, 10), (390, 20, 20), states=IN_OR_OUT)
    stack = stack_of("S", "floor-zone", fan_layer("A", thin, ["c1", "c2"]), one("E1", core))
    before = layout(room((420, 260, 120), [floor], [peg]), [thin, core], [stack])
    off = Dimension(minus_mm=0.1, plus_mm=3.0, origin="measured")
    other = thin.but(dimensions=FrozenMap({"thickness_mm": off}))
    after = before.but(parts=FrozenMap({**before.parts, thin.id: other}))  # type: ignore[attr-defined]
    taken_out = FrozenMap({"peg": "out"})
    first = check_layout(before)
    told(first)
    if shown_between:
        shown = before.but(states=taken_out)
        first = check_layout(shown, first, remedies=False, worst_cases=False, volumes="none")
    else:
        after = after.but(states=taken_out)
    again, anew = check_layout(after, first), check_layout(after)
    assert again.scene.placed["E1"] is first.scene.placed["E1"]
    assert told(again) == told(anew)
    assert ("thickness_mm", 3.0) in told(again)[0][2]
