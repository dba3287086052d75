"""What may be added to a stack is true of the layout to which it is added.

The figure that is told is added in earnest, and the check says that all is kept; of a tenth of a
millimetre more it says that it is not, where both faces look at each other along the stack.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import pytest
from odd_sessions import Session
from small_rooms import (
    block,
    brick,
    fan,
    fan_layer,
    found,
    free,
    layout,
    room,
    row,
    stack,
    zone,
)

from catalog.enclosure import ZoneSide
from catalog.iso2768 import dimension_of
from catalog.model import Dimension, FrozenMap
from catalog.parts import Fan
from catalog.shapes import Plug
from geometry.checks.runner import check_layout
from geometry.checks.spare_depth import spare_words
from geometry.finding import Finding, Report, Verdict
from geometry.layout import Layout, Settings, Stack

SEEDS = range(36)
STEPS = 10
TOLD = re.compile(r"Up to ([\d.]+) mm can be added ")


def off(minus_mm: float, plus_mm: float) -> Dimension:
    return Dimension(minus_mm=minus_mm, plus_mm=plus_mm, origin="measured")


def under_a_bar(
    thickness_mm: float = 25.0,
    bar_mm: float = 30.0,
    thick: Dimension | None = None,
    high: Dimension | None = None,
    judge: str = "worst case",
) -> Layout:
    """Two fans on the floor under a bar that begins so many mm above it."""
    part = fan(thickness_mm).model_copy(
        update={"id": "f", "dimensions": FrozenMap({"thickness_mm": thick or off(0.2, 0.2)})}
    )
    bar = block("bar", (40.0, 40.0, bar_mm), (280.0, 160.0, bar_mm + 10))
    at_mm = FrozenMap({"obstacles[0].shapes[0].at_mm[2]": high or off(0.2, 0.2)})
    here = room((400, 200, 200), [zone("fz", "floor", (40, 40, 0), "+x", "+y", row(2))], [bar])
    return layout(
        here.model_copy(update={"dimensions": at_mm}),
        [part],
        [stack("S", "fz", fan_layer("A", part, ["c1", "c2"]))],
        settings=Settings(judge=judge),
    )


def advice(of: Layout) -> str:
    (only,) = [f for f in check_layout(of).report.findings if f.kind == "leftover_depth"]
    assert only.verdict is Verdict.CLEAR
    return only.advice


def test_what_may_be_added_is_what_the_worst_case_leaves() -> None:
    # 30 - 25 = 5; in the worst case 30 - 0.2 - 25.2 = 4.6, which is 2.6 above the margin of 2.
    told = "Up to 2.6 mm can be added in the worst case while keeping the 2.0 mm margin."
    assert advice(under_a_bar()) == told
    assert advice(under_a_bar(27.6)).startswith("Nothing can be added in the worst case ")
    assert found(check_layout(under_a_bar(27.7)).report, "worst_case").verdict is Verdict.TIGHT


def test_judged_as_drawn_it_is_what_the_drawing_leaves() -> None:
    # 5 - 2 = 3, and 5 - 3 = 2 is just the margin.
    told = "Up to 3.0 mm can be added while keeping the 2.0 mm margin."
    assert advice(under_a_bar(judge="nominal")) == told
    assert not short(check_layout(under_a_bar(28.0, judge="nominal")).report)
    assert short(check_layout(under_a_bar(28.1, judge="nominal")).report)


def test_tolerances_that_are_not_alike_both_ways() -> None:
    # 60 - 25 = 35; at worst 60 - 0.4 - 25.3 = 34.3, less the margin 32.3.
    here = under_a_bar(bar_mm=60.0, thick=off(0.1, 0.3), high=off(0.4, 0.0))
    assert advice(here).startswith("Up to 32.3 mm can be added ")


def test_what_is_told_is_rounded_down() -> None:
    # At worst 30 - 0.2 - 25.27 = 4.53, less the margin 2.53: 2.6 would be too much.
    assert advice(under_a_bar(thick=off(0.2, 0.27))).startswith("Up to 2.5 mm can be added ")


def test_what_stands_beside_the_way_and_nearer_counts() -> None:
    # A post 1 mm beside the fans and 4 mm farther out: 2 mm from their edge are kept until it is
    # sqrt(2^2 - 1^2) = 1.732 mm farther out, so 2.268 mm may be added, not the 3 before the bar.
    here = under_a_bar(judge="nominal")
    post = block("post", (281.0, 40.0, 29.0), (290.0, 160.0, 60.0))
    enclosure = here.enclosure.model_copy(update={"obstacles": (*here.enclosure.obstacles, post)})
    beside = here.but(enclosure=enclosure)
    told = "Up to 2.2 mm can be added while keeping the 2.0 mm margin to post."
    assert advice(beside) == told
    assert not short(check_layout(thicker(beside, ["f"], 2.2)).report)
    assert short(check_layout(thicker(beside, ["f"], 2.3)).report)


def cabled(judge: str) -> Layout:
    """The fans under a board 49 mm up, whose cables need 12 mm for the plug and 8 to bend."""
    here = under_a_bar(bar_mm=60.0, judge=judge)
    cables = Plug(
        id="cables", name="cables", at_mm=(100, 100, 49), facing="-z", width_mm=50, height_mm=30,
        plug_mm=12, bend_mm=8,
    )  # fmt: skip
    board = block("board", (60, 60, 49), (140, 140, 55), plugs=(cables,))
    enclosure = here.enclosure.model_copy(update={"obstacles": (*here.enclosure.obstacles, board)})
    return here.but(enclosure=enclosure)


def test_a_keep_out_that_forbids_more_is_named_as_one() -> None:
    # The cables end at 49 - 20 = 29 mm, 4 mm above the fans; no margin is kept to their room.
    told = "Up to 4.0 mm can be added while leaving the keep-out of cables of board free."
    here = cabled("nominal")
    assert advice(here) == told
    assert not short(check_layout(thicker(here, ["f"], 4.0)).report)
    assert short(check_layout(thicker(here, ["f"], 4.1)).report)


def test_where_nothing_limits_it_that_is_said() -> None:
    # Behind the roof's plate nothing is known to stand, and no depth is given.
    part = fan()
    roof = zone("rz", "roof", (60, 160, 200), "+x", "-y", row(1), outer=ZoneSide(plate_mm=2.0))
    stacks = [stack("S", "rz", outer=(fan_layer("A", part, ["c1"]),))]
    survey = check_layout(layout(room((300, 200, 200), [roof]), [part], stacks)).report.survey
    assert survey is not None
    (side,) = (one for key, one in survey.depths.sides.items() if key == ("S", "outer"))
    assert spare_words(survey, side.depth) == "Nothing limits what can be added."


def test_what_more_is_asked_for_is_rounded_up() -> None:
    # 30 - 0.2 - 28.24 = 1.56: 0.44 mm are missing, and 0.4 would not be enough.
    said = found(check_layout(under_a_bar(28.0, thick=off(0.2, 0.24))).report, "worst_case")
    assert said.advice.startswith("0.5 mm more would keep 2.0 mm in the worst case")


def test_a_move_that_parts_two_things_is_rounded_up() -> None:
    # They share 0.44 mm: 0.4 would not part them, and 2.4 not keep 2 mm.
    cube = brick("cube", (40, 40, 40))
    stand = [free("A", cube, (100, 100, 0)), free("B", cube, (139.56, 100, 0))]
    report = check_layout(layout(room((400, 200, 200)), [cube], frees=stand)).report
    said = found(report, "overlap")
    assert said.advice == (
        "Move cube (A) by 0.5 mm to the rear to touch, by 2.5 mm to keep the margin."
    )


# ---- odd rooms ----


def short(report: Report) -> list[tuple[str, tuple[str, ...]]]:
    """Return what of a check would tell that something was added in vain."""
    kinds = ("leftover_depth", "worst_case", "clearance", "overlap", "port_end", "plug_room")
    return [
        (f.kind, tuple(sorted(f.ids)))
        for f in report.findings
        if f.kind in (*kinds, "outside_cavity") and f.verdict is not Verdict.CLEAR
    ]


def thicker(here: Layout, parts: Sequence[str], by_mm: float) -> Layout:
    """Return a layout with fans so much thicker, off by as much as they were."""
    changed = dict(here.parts)
    for one in parts:
        known = dimension_of(here.part(one), "thickness_mm")
        off_by = off(known.minus_mm or 0.0, known.plus_mm or 0.0)
        changed[one] = here.part(one).model_copy(
            update={
                "thickness_mm": known.nominal_mm + by_mm,
                "dimensions": FrozenMap({**here.part(one).dimensions, "thickness_mm": off_by}),
            }
        )
    return here.but(parts=FrozenMap(changed))


def to_grow(here: Layout, side: str, one: Stack) -> tuple[Layout, list[str]]:
    """Return a layout in which the fans of a layer are parts of their own, and these.

    The first layer that is of fans alone; none where there is no such.
    """
    for layer in one.side(side):  # type: ignore[arg-type]
        if not all(isinstance(here.part(item.part), Fan) for item in layer.items):
            continue
        own = {f"own {item.part}": here.part(item.part) for item in layer.items}
        items = tuple(item.but(part=f"own {item.part}") for item in layer.items)
        layers = tuple(
            each.model_copy(update={"items": items}) if each is layer else each
            for each in one.side(side)  # type: ignore[arg-type]
        )
        stacks = tuple(
            each.model_copy(update={side: layers}) if each is one else each for each in here.stacks
        )
        parts = {k: part.model_copy(update={"id": k}) for k, part in own.items()}
        return here.but(stacks=stacks, parts=FrozenMap({**here.parts, **parts})), list(parts)
    return here, []


def told_to_be_added(report: Report) -> Iterator[tuple[Finding, float]]:
    for one in report.findings:
        said = TOLD.match(one.advice)
        if one.kind == "leftover_depth" and said:
            yield one, float(said[1])


@pytest.mark.parametrize("judge", ["worst case", "nominal"])
def test_what_is_told_may_be_added_in_odd_rooms(judge: str) -> None:
    added = not_more = 0
    for seed in SEEDS:
        session = Session.of(seed)
        for step in [session.begin, *(step.layout for step in session.steps(STEPS))][::5]:
            here = step.but(settings=step.settings.model_copy(update={"judge": judge}))
            for said, mm in told_to_be_added(check_layout(here).report):
                one = here.stack(said.ids[1])
                side = (
                    "inner"
                    if any(item.id == said.ids[0] for layer in one.inner for item in layer.items)
                    else "outer"
                )
                grown, parts = to_grow(here, side, one)
                if not parts:
                    continue
                before = set(short(check_layout(grown).report))
                assert set(short(check_layout(thicker(grown, parts, mm)).report)) <= before, (
                    seed,
                    said.title,
                    mm,
                )
                added += 1
                more = set(short(check_layout(thicker(grown, parts, mm + 0.1)).report))
                not_more += not more <= before
    assert added > 20
    assert not_more > 0.5 * added, (added, not_more)
