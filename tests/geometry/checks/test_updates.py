"""Moving one part: the same answer as from nothing, and only its own pairs measured."""

from __future__ import annotations

import gc
from collections.abc import Callable, Sequence
from weakref import ref

from hypothesis import given
from hypothesis import strategies as st
from small_rooms import (
    IN_OR_OUT,
    block,
    brick,
    exchanger,
    fan,
    fan_layer,
    free,
    layout,
    one,
    room,
    row,
    stack,
    zone,
)

from catalog.enclosure import Enclosure, OutsideSolid, ZoneSide
from catalog.model import FrozenMap
from catalog.shapes import Box, Plug
from geometry.checks.runner import Checked, check_layout
from geometry.edits import (
    EditError,
    flip_port_end,
    move_free,
    next_thickness,
    remove,
    replace_enclosure,
    set_held,
    set_margin,
    set_slide,
    set_state,
    toggle_air,
    turn_over,
)
from geometry.layout import Held, Layout
from geometry.scene import build_scene

LEAD = Plug(
    id="lead", name="lead", at_mm=(15, 0, 10), facing="+x", width_mm=10, height_mm=10,
    plug_mm=10, bend_mm=10,
)  # fmt: skip
CUBE = brick("cube", (30, 30, 30), (LEAD,))
FANS = (fan(15), fan(25))
CORES = (exchanger(2, 30), exchanger(2, 45))


def crowded() -> Layout:
    """Two stacks, an obstacle that can be taken out, and three free blocks."""
    peg = block("peg", (310, 90, 140), (318, 110, 200), states=IN_OR_OUT)
    cells = row(2, slot_u_mm=8.0)
    zones = [
        zone("roof-zone", "roof", (40, 160, 200), "+x", "-y", cells, outer=ZoneSide(plate_mm=2.0)),
        zone("floor-zone", "floor", (60, 40, 0), "+x", "+y", row(2)),
    ]
    return layout(
        room((400, 200, 200), zones, [peg]),
        [*FANS, *CORES, CUBE],
        [
            stack("R", "roof-zone", fan_layer("A", FANS[1], ["c1", "c2"]), one("E1", CORES[0])),
            stack("F", "floor-zone", one("E2", CORES[1])),
        ],
        [
            free("P", CUBE, (350, 40, 0)),
            free("Q", CUBE, (350, 100, 0)),
            free("T", CUBE, (350, 160, 0), x_to="-x"),
        ],
    )


Edit = Callable[[Layout], Layout]

ITEMS = ("A.1", "A.2", "E1", "E2", "P", "Q", "T")
PLACES = st.tuples(st.floats(0, 400, allow_nan=False), st.floats(0, 200), st.floats(-10, 190)).map(
    lambda p: tuple(round(v, 1) for v in p)
)


def edits() -> st.SearchStrategy[Edit]:
    frees = st.sampled_from(("P", "Q", "T"))
    items = st.sampled_from(ITEMS)
    return st.one_of(
        st.builds(lambda i, p: lambda y: move_free(y, i, p), frees, PLACES),
        st.builds(lambda i: lambda y: flip_port_end(y, i), items),
        st.builds(lambda i: lambda y: turn_over(y, i), items),
        st.builds(lambda i: lambda y: toggle_air(y, i), items),
        st.builds(lambda i: lambda y: remove(y, i), items),
        st.builds(
            lambda i, k: lambda y: next_thickness(y, i, (*FANS, *CORES), k),
            items,
            st.sampled_from((1, -1)),
        ),
        st.builds(lambda u: lambda y: set_slide(y, "R", u, 0.0), st.integers(-9, 9).map(float)),
        st.builds(lambda s: lambda y: set_state(y, "peg", s), st.sampled_from(("in-place", "out"))),
        st.builds(lambda m: lambda y: set_margin(y, m), st.sampled_from((0.0, 2.0, 5.0))),
        st.builds(
            lambda i, on: lambda y: set_held(y, i, Held(by="clamp", on=on)),
            frees,
            st.sampled_from(("floor", "roof", "peg", "E2")),
        ),
    )


def applied(edit: Edit, to: Layout) -> Layout:
    """The layout after an edit; the same one where the edit is refused or its part is gone."""
    try:
        return edit(to)
    except EditError:
        return to


@given(st.lists(edits(), min_size=1, max_size=6))
def test_an_update_after_every_edit_equals_a_run_from_nothing(steps: list[Edit]) -> None:
    of = crowded()
    checked: Checked | None = None
    for step in steps:
        of = applied(step, of)
        checked = check_layout(of, checked, remedies=False)
        assert checked.report == check_layout(of, remedies=False).report


@given(st.lists(edits(), min_size=1, max_size=4))
def test_remedies_are_told_for_any_layout_and_each_does_what_it_says(steps: list[Edit]) -> None:
    of = crowded()
    for step in steps:
        of = applied(step, of)
    report = check_layout(of).report
    for finding in report.findings:
        for remedy in finding.remedies:
            after = check_layout(remedy.layout, remedies=False).report
            same = [
                f
                for f in after.findings
                if (f.kind, set(f.ids)) == (finding.kind, set(finding.ids))
                and f.verdict.value != "clear"
            ]
            assert same == []
            assert after.blocked <= report.blocked


def test_moving_one_part_measures_only_its_pairs() -> None:
    of = crowded()
    first = check_layout(of, remedies=False)
    # P is a block and its plug. In the middle of the room nothing is near it; back on the floor in
    # front of the exchanger, its block is near the floor, and nothing else is within 2 mm.
    away = check_layout(move_free(of, "P", (350, 40, 60)), first, remedies=False)
    assert away.report.survey is not None
    assert away.report.survey.pairs.measured_now == 0
    assert away.report.survey.depths.measured_now == 0
    back = check_layout(move_free(away.scene.layout, "P", (350, 40, 1)), away, remedies=False)
    assert back.report.survey is not None
    assert back.report.survey.pairs.measured_now == 1
    assert back.report.survey.depths.measured_now == 0


def test_a_part_that_moves_leaves_alone_what_hangs_on_no_place() -> None:
    # The edit makes the ports of P anew. They are as they were, and so is all that is told of
    # ports without a fitting and of parts without a plug.
    of = crowded()
    first = check_layout(of, remedies=False)
    moved = check_layout(move_free(of, "P", (350, 40, 60)), first, remedies=False)
    assert moved.scene.placed["P"].use.ports is not first.scene.placed["P"].use.ports
    assert first.report.survey is not None
    assert moved.report.survey is not None
    assert moved.report.survey.things is first.report.survey.things
    for kind in ("port_thread", "plug_room", "port_end"):
        assert moved.report.survey.said[kind] is first.report.survey.said[kind]


def test_a_layer_that_changes_sides_in_its_place_in_the_order_is_seen_by_both_sides() -> None:
    # The exchanger that was the last inside is the first outside: parts are listed as before.
    of = crowded()
    both = of.stack("R")
    outside = both.but(inner=both.inner[:1], outer=both.inner[1:])
    there = of.but(stacks=(outside, *of.stacks[1:]))
    for before, after in ((of, there), (there, of)):
        checked = check_layout(after, check_layout(before, remedies=False), remedies=False)
        assert list(checked.scene.placed) == list(build_scene(before).placed)
        assert checked.report == check_layout(after, remedies=False).report
        assert {depth.side for depth in checked.report.depths if depth.stack == "R"} == (
            {"inner", "outer"} if after is there else {"inner"}
        )


def of_boxes(boxes: Sequence[Box], *outside: OutsideSolid) -> Enclosure:
    """An enclosure of which the cavity is some boxes, in one outer shape."""
    return room((200, 150, 150), []).but(cavity=tuple(boxes), outside=outside)


def box_to(x0: float, x1: float, z0: float = 0.0) -> Box:
    return Box(at_mm=(x0, 0, z0), size_mm=(x1 - x0, 150, 150 - z0))


def moved_on(
    part_at: tuple[float, float, float], *rooms: Enclosure, x_to: str = "+x"
) -> list[Checked]:
    """A cube put into one room after the other, each checked from the one before."""
    checked: list[Checked] = []
    for enclosure in rooms:
        of = replace_enclosure(
            layout(rooms[0], [CUBE], [], [free("P", CUBE, part_at, x_to=x_to)]), enclosure
        )
        of = set_margin(of, 5.0)
        checked.append(check_layout(of, checked[-1] if checked else None, remedies=False))
        assert checked[-1].report == check_layout(of, remedies=False).report
    return checked


def test_what_stands_outside_another_cavity_is_beside_what_is_outside() -> None:
    # The handle begins 202 from the rear, 3 before the cube, with the wall of the cavity between
    # them while that ends at 200. In a cavity that ends at 180 the cube reaches out through it.
    handle = OutsideSolid(
        id="handle", name="handle", shapes=(Box(at_mm=(202, 40, 40), size_mm=(20, 20, 20)),)
    )
    long, short = (of_boxes([box_to(0, end)], handle) for end in (200, 180))
    checked = moved_on((184, 40, 40), long, short, long, x_to="-x")
    told = [{finding.ids[1] for finding in one.report.findings} for one in checked]
    assert told == [{"front"}, {"front", "handle"}, {"front"}]
    solids = {s for one in checked for s in one.scene.solids if s.owner == "handle"}
    assert len(solids) == 1


def test_the_way_back_inside_is_that_of_the_cavity_as_it_is_now() -> None:
    # A sill 50 high from 100 to 130, with the plug of the cube and its cable from 115 to 135 in it.
    # Before a front wall at 200 they go 15 on; one at 140 would stop them, so they go back by 35.
    boxes = [box_to(0, 100), box_to(100, 130, 50.0)]
    long, short = (of_boxes([*boxes, box_to(130, end)]) for end in (200, 140))
    shifts = [
        finding.shift
        for one in moved_on((100, 60, 0), long, short, long)
        for finding in one.report.findings
        if finding.kind == "plug_room"
    ]
    assert shifts == [(15.0, 0.0, 0.0), (-35.0, 0.0, 0.0), (15.0, 0.0, 0.0)]


def test_nothing_is_measured_again_where_nothing_changed() -> None:
    of = crowded()
    first = check_layout(of, remedies=False)
    again = check_layout(of.but(name="Renamed"), first, remedies=False)
    assert again.report.survey is not None
    assert again.report.survey.pairs.measured_now == 0
    assert again.report.survey.depths.measured_now == 0
    assert again.scene.solids == first.scene.solids


def test_a_part_that_enters_a_column_is_seen_by_its_stack() -> None:
    # Under the roof stack, 25 + 30 = 55 deep with its fitting 24 mm farther: 200 - 55 = 145. A
    # block of 30 mm under the core reaches z = 75 when it stands at 45: 145 - 75 = 70 are left.
    of = crowded()
    of = remove(of, "E2")
    first = check_layout(of, remedies=False)
    assert first.report.depths[0].least.mm == 121.0
    moved = check_layout(move_free(of, "P", (100, 100, 45)), first, remedies=False)
    assert [(c.cell, c.mm, c.limited_by) for c in moved.report.depths[0].cells] == [
        ("c1", 70.0, "P"),
        ("c2", 70.0, "P"),
    ]
    out = check_layout(of, moved, remedies=False)
    assert out.report == first.report


def test_states_of_an_obstacle_make_new_solids_and_the_old_ones_are_forgotten() -> None:
    of = crowded()
    first = check_layout(of, remedies=False)
    out = check_layout(of.but(states=FrozenMap({"peg": "out"})), first, remedies=False)
    assert "peg" not in {s.owner for s in out.scene.solids}
    assert out.report == check_layout(out.scene.layout, remedies=False).report


def test_nothing_holds_the_checks_before_the_last() -> None:
    # P is moved into Q again and again, so that there is a finding to take over each time.
    of = crowded()
    checked = check_layout(of, remedies=False)
    gone: list[ref[object]] = []
    for step in range(4):
        assert checked.report.survey is not None
        gone += [ref(checked.scene), ref(checked.report.survey)]
        checked = check_layout(move_free(of, "P", (350, 90 + step, 0)), checked, remedies=False)
        assert any(finding.kind == "overlap" for finding in checked.report.findings)
    gc.collect()
    assert [one() for one in gone[:-2]] == [None] * 6
