"""A fit that is clear as drawn and not in the worst case is tight, told once, and says why."""

from __future__ import annotations

import pytest
from small_rooms import brick, exchanger, fan, fan_layer, free, layout, one, room, row, said, zone
from small_rooms import stack as stack_of

from catalog.enclosure import Enclosure, Obstacle
from catalog.parts import Fitting
from catalog.shapes import Box, Extrusion, Plug
from geometry.checks.runner import check_layout
from geometry.edits import move_free
from geometry.finding import Verdict
from geometry.layout import Layout, PortUse, Settings
from geometry.layout_file import layout_text, parse_layout
from geometry.walls import Walls, build_walls

CUBE = brick("cube", (40, 40, 40))


def two_cubes(gap_mm: float, judge: str = "worst case") -> Layout:
    """Cubes of 40 mm, the second `gap_mm` before the first along x.

    Off may be: places 100 +-0.3 and 140 + gap +-0.5, half of each length +-0.15: 1.1 in all.
    """
    return layout(
        room((300, 200, 200)),
        [CUBE],
        frees=[free("A", CUBE, (100, 100, 0)), free("B", CUBE, (140 + gap_mm, 100, 0))],
        settings=Settings(judge=judge),  # type: ignore[arg-type]
    )


@pytest.mark.parametrize(
    ("gap_mm", "expected"),
    [
        (3.1, []),
        (3.05, [("worst_case", "tight", ("A", "B"), 3.05)]),
        (2.0, [("worst_case", "tight", ("A", "B"), 2.0)]),
        # Short as drawn already: told once, by the check of the gap itself.
        (1.9, [("clearance", "tight", ("A", "B"), 1.9)]),
        (-1.0, [("overlap", "blocked", ("A", "B"), -1.0)]),
    ],
)
def test_a_margin_that_tolerances_take_away_is_tight(gap_mm: float, expected: list[object]) -> None:
    assert said(check_layout(two_cubes(gap_mm)).report) == expected


def test_it_says_why_and_by_how_much() -> None:
    (found,) = check_layout(two_cubes(2.5)).report.findings
    assert found.title == (
        "cube (A) stands 2.5 mm from cube (B); in the worst case 1.4 mm is left, 0.6 mm missing to "
        "the 2.0 mm margin"
    )
    assert found.advice.startswith(
        "0.6 mm more would keep 2.0 mm in the worst case. Largest shares: cube, place along x "
        "142.5 mm ± 0.5 mm; cube, place along x 100 mm ± 0.3 mm"
    )
    assert found.tolerance is not None
    assert found.tolerance.worst.worst_mm == pytest.approx(1.4)


def test_what_overlaps_at_worst_says_so_and_what_is_missing_to_the_margin_as_its_advice() -> None:
    # The margin of 1 mm is kept as drawn, and 1.1 are taken.
    lay = two_cubes(1.0)
    lay = lay.but(settings=lay.settings.but(margin_mm=1.0))
    (found,) = check_layout(lay).report.findings
    assert found.title == (
        "cube (A) stands 1.0 mm from cube (B); in the worst case it overlaps 0.1 mm, 1.1 mm "
        "missing to the 1.0 mm margin"
    )
    assert found.advice.startswith("1.1 mm more would keep 1.0 mm in the worst case.")


def test_by_nominal_dimensions_it_is_clear() -> None:
    report = check_layout(two_cubes(2.5, "nominal")).report
    assert (said(report), report.clear) == ([], 2)


def test_a_fault_as_drawn_has_its_stack_up_too() -> None:
    (found,) = check_layout(two_cubes(1.5)).report.findings
    assert found.tolerance is not None
    assert found.tolerance.nominal.nominal_mm == pytest.approx(1.5)
    assert found.tolerance.worst.worst_mm == pytest.approx(0.4)


def stack_under(bar_mm: float) -> Layout:
    """Two fans on the floor under a bar over both, its underside at `bar_mm`."""
    part = fan()
    bar = Obstacle(
        id="bar", name="bar", shapes=(Box(at_mm=(40, 40, bar_mm), size_mm=(240, 120, 10)),)
    )
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(2))
    return layout(
        room((400, 200, 200), [floor], [bar]),
        [part],
        [stack_of("S", "floor-zone", fan_layer("A", part, ["c1", "c2"]))],
        settings=Settings(),
    )


def test_a_depth_that_is_ample_as_drawn_only_is_told_once_as_tight() -> None:
    # The bar is at 27.3 +-0.2, the fans are 25 +-0.2: 2.3 as drawn, 1.9 in the worst case.
    report = check_layout(stack_under(27.3)).report
    assert said(report, clear=True) == [("worst_case", "tight", ("A.1", "bar", "A.2"), 2.3)]
    # At 27.4 it is 2.0 in the worst case, and the depth is told as clear.
    assert said(check_layout(stack_under(27.4)).report, clear=True) == [
        ("leftover_depth", "clear", ("A.1", "S", "bar"), 2.4)
    ]


def test_two_things_that_stand_by_each_others_port_ends_are_told_once() -> None:
    # An exchanger of 30 with a fan on its second cell, and beside it one of 60 that lies the other
    # way round: its port end is beside the first cell, and the fan beside its core alone.
    flat, high = (exchanger(2, thick).but(ports=()) for thick in (30, 60))
    blower = fan()
    floor = zone("floor-zone", "floor", (90, 40, 0), "+x", "+y", row(2))
    stacked = stack_of("S", "floor-zone", one("E", flat), fan_layer("F", blower, ["c2"]))
    of = layout(
        room((500, 400, 200), [floor]),
        [flat, high, blower],
        [stacked],
        [free("A", high, (210, 222.2, 0), x_to="-x")],
        settings=Settings(),
    )
    assert said(check_layout(of).report) == [("worst_case", "tight", ("F.1", "A", "E"), 2.2)]


def test_room_for_a_plug_may_be_touched_as_drawn_and_not_be_lost_in_the_worst_case() -> None:
    # A plug of 20 with a bend of 10 before cube A, whose face stands at x = 120: up to 150. Cube
    # B starts there, or 3 mm farther; off may be 0.3 + 0.5 for the places, 0.15 for B's half, 0.2
    # + 0.2 for plug and bend, 0.2 for the connector's place at 20: 1.55.
    plug = Plug(
        id="p", name="plug", at_mm=(20, 0, 20), facing="+x", width_mm=10, height_mm=10,
        plug_mm=20, bend_mm=10,
    )  # fmt: skip
    wired = brick("wired", (40, 40, 40), plugs=(plug,))
    for gap_mm, expected in (
        (0.0, [("worst_case", "tight", ("A", "B"), 0.0)]),
        (1.5, [("worst_case", "tight", ("A", "B"), 1.5)]),
        (1.6, []),
    ):
        of = layout(
            room((300, 200, 200)),
            [CUBE, wired],
            frees=[free("A", wired, (100, 100, 0)), free("B", CUBE, (170 + gap_mm, 100, 0))],
            settings=Settings(),
        )
        assert said(check_layout(of).report) == expected


def test_parts_of_one_joint_are_not_judged_by_the_worst_case() -> None:
    # The fitting's hand room stands 1 mm beside the fan that is bolted to the same exchanger.
    core = exchanger(1, 30).but(id="x")
    hand = Fitting(id="f", name="Fitting", length_mm=20, diameter_mm=20, hand_mm=4)
    part = fan()
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    used = one("E1", core, ports={"p1": PortUse(fitting="f")})
    of = layout(
        room((400, 200, 200), [floor]),
        [core, hand, part],
        [stack_of("S", "floor-zone", used, fan_layer("A", part, ["c1"]))],
        settings=Settings(),
    )
    assert said(check_layout(of).report) == []


def test_a_remedy_keeps_the_margin_in_the_worst_case_too() -> None:
    # The port end, 30 long, ends at x = 40 + 240 + 30 = 310 and the post starts at 309: 1 in it.
    # Half the exchanger's length is off by 0.25, and so on; a slide by 3 would leave no more than
    # the margin as drawn, so one that goes farther is offered.
    core = exchanger(2, 30, port_facing="-z").but(id="x", ports=())
    post = Obstacle(id="post", name="post", shapes=(Box(at_mm=(309, 80, 0), size_mm=(20, 40, 60)),))
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(2, slot_u_mm=12))
    of = layout(
        room((400, 200, 200), [floor], [post]),
        [core],
        [stack_of("S", "floor-zone", one("E1", core))],
        settings=Settings(),
    )
    (fault,) = (f for f in check_layout(of).report.findings if f.verdict is Verdict.BLOCKED)
    assert fault.tolerance is not None
    loss = fault.tolerance.nominal.nominal_mm - fault.tolerance.worst.worst_mm
    slides = [r for r in fault.remedies if r.name.startswith("Slide")]
    assert len(slides) == 1
    slide = slides[0].layout.stacks[0].slide_u_mm
    assert -slide >= 3 + loss
    assert slides[0].gives == (
        f"clears this finding; 3.0 mm would do as drawn, {-slide - 3:.1f} mm more at worst"
    )
    assert said(check_layout(slides[0].layout).report) == []


def test_while_dragging_what_did_not_move_keeps_its_worst_case() -> None:
    third = free("C", CUBE, (240, 100, 0))
    of = two_cubes(2.5)
    of = of.but(free=(*of.free, third))
    settled = check_layout(of)
    dragged = check_layout(
        move_free(of, "C", (245, 100, 0)), settled, remedies=False, worst_cases=False
    )
    assert said(dragged.report) == [("worst_case", "tight", ("A", "B"), 2.5)]
    moved = check_layout(
        move_free(of, "B", (160, 100, 0)), settled, remedies=False, worst_cases=False
    )
    assert said(moved.report) == []


def test_taken_over_or_from_nothing_it_is_the_same() -> None:
    of = two_cubes(2.5)
    settled = check_layout(of)
    for x in (143.0, 150.0, 142.2):
        after = move_free(of, "B", (x, 100, 0))
        settled = check_layout(after, settled)
        assert said(settled.report) == said(check_layout(after).report)


def test_stack_ups_are_worked_out_when_asked_for_and_taken_over_past_checks_without_them() -> None:
    of = two_cubes(2.5)
    of = of.but(free=(*of.free, free("C", CUBE, (20, 20, 150))))
    first = check_layout(of, remedies=False)
    survey = first.report.survey
    assert survey is not None
    assert survey.last_tolerances is survey.tolerances
    a, b = (survey.scene.solids_of[one] for one in ("A", "B"))
    known = survey.tolerances.between(a, b)
    dragged = first
    for x in (30, 40):
        moved = move_free(of, "C", (x, 20, 150))
        dragged = check_layout(moved, dragged, remedies=False, worst_cases=False)
        assert dragged.report.survey is not None
        assert dragged.report.survey.last_tolerances is survey.tolerances
    let_go = check_layout(moved, dragged, remedies=False)
    assert let_go.report.survey is not None
    assert let_go.report.survey.tolerances.between(a, b) is known
    assert said(let_go.report) == said(check_layout(moved, remedies=False).report)


def test_walls_with_a_number_off_are_built_once_for_all_checks(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    built = []

    def counted(enclosure: Enclosure) -> Walls:
        built.append(enclosure)
        return build_walls(enclosure)

    monkeypatch.setattr("geometry.stackup.enclosure_deviations.build_walls", counted)
    # Of boxes alone one knows which pieces of wall go with which number; not of a slope.
    gable = ((0.0, 200.0), (200.0, 200.0), (100.0, 297.0))
    below_a_slope = (
        Box(at_mm=(0, 0, 0), size_mm=(300, 200, 200)),
        Extrusion(axis="x", outline_mm=gable, from_mm=0, to_mm=150),
    )
    of = layout(
        room((300, 200, 300), cavity=below_a_slope), [CUBE], frees=[free("A", CUBE, (2, 9, 0))]
    )
    first = check_layout(of).report
    assert built
    count = len(built)
    again = parse_layout(layout_text(of).encode(), "again")
    assert check_layout(again).report == first
    assert check_layout(move_free(of, "A", (2.5, 9, 0))).report != first
    assert len(built) == count
