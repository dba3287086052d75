"""The board as a whole: what a finding, a leftover depth and a selection show, and what is kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import pytest

from app.demo import demo_layout
from app.drawing.board import (
    PLAIN,
    BoardFrame,
    BoardMemory,
    BoardSettings,
    board_drawing,
    paper_drawing,
)
from app.drawing.board_making import Shows
from app.drawing.frame import ViewFrame
from app.drawing.labels import crosses, figure_box
from app.drawing.owners import owners_of
from app.drawing.primitives import (
    Arc,
    Circle,
    Drawing,
    Group,
    Ink,
    LineType,
    Path,
    Primitive,
    Region,
    Text,
)
from app.drawing.silhouettes import meets_any, overlaps
from catalog.enclosure import Obstacle
from catalog.shapes import Box
from catalog.store import load_library
from geometry.checks.runner import Checked, check_layout
from geometry.finding import Finding, Verdict
from geometry.layout import Item, Layer, Layout
from geometry.measures.pose import Vec

Room = Callable[..., Layout]
Check = Callable[[Layout], Checked]


def thing(name: str, at: tuple[float, ...], size: tuple[float, ...]) -> Obstacle:
    box = Box(at_mm=at, size_mm=size)  # type: ignore[arg-type]
    return Obstacle(id=name, name=name, shapes=(box,))


def board(checked: Checked, shows: Shows = PLAIN) -> Drawing:
    frame = BoardFrame.of(checked.scene.layout, BoardSettings(end_view=True))
    return board_drawing(checked, frame, 0.5, shows)


def find(drawing: Drawing, key: str) -> Group | None:
    return next((one for one in drawing.groups if one.key == key), None)


def mark_of(finding: Finding, view: ViewFrame) -> str:
    """Return the key of what marks a finding; it stays when the finding's number is another."""
    return f"marks:{view.name}:{finding.kind}:{'+'.join(finding.ids)}"


def texts(group: Group | None) -> list[str]:
    assert group is not None
    return [one.text for one in group.primitives if isinstance(one, Text)]


def under_a_shelf(room: Room, mm: float) -> Layout:
    """A fan of 25 mm on the floor, a shelf `mm` above it."""
    shelf = thing("shelf", (100.0, 40.0, 25.0 + mm), (120.0, 120.0, 10.0))
    return room(shelf, layers=(Layer(id="L", items=(Item(id="F1", part="fan", cell="c1"),)),))


@pytest.mark.parametrize(
    ("mm", "text", "ink"),
    [
        (12.0, "12.0 clear", Ink.CLEAR),
        (2.0, "2.0 clear", Ink.CLEAR),
        (1.5, "1.5 tight", Ink.TIGHT),
        (0.0, "0.0 tight", Ink.TIGHT),
        (-4.2, "4.2 overlap", Ink.BLOCKED),
    ],
)
def test_leftover_depth_tells_its_millimetres_and_a_word(
    room: Room, check: Check, mm: float, text: str, ink: Ink
) -> None:
    """The default margin is 2.0 mm; touching the margin is clear."""
    group = find(board(check(under_a_shelf(room, mm))), "depth:S1:inner")
    # Seen in true length from the side and from the front, not from below.
    assert texts(group) == [text, text]
    assert group is not None
    assert {one.ink for one in group.primitives if isinstance(one, Text)} == {ink}


def test_leftover_depth_spans_from_the_stack_to_what_limits_it(room: Room, check: Check) -> None:
    group = find(board(check(under_a_shelf(room, 40.0))), "depth:S1:inner")
    assert group is not None
    lines = [one for one in group.primitives if isinstance(one, Path) and not one.closed]
    assert sorted(p[1] for p in lines[0].points) == pytest.approx([-65.0, -25.0])


def test_an_overlap_is_cross_hatched_where_room_is_shared_in_every_view(
    room: Room, check: Check
) -> None:
    """A block reaches 10 mm into the fan from the front: x 210..220, y 60..90, z 5..15."""
    layers = (Layer(id="L", items=(Item(id="F1", part="fan", cell="c1"),)),)
    checked = check(room(thing("block", (210.0, 60.0, 5.0), (50.0, 30.0, 10.0)), layers=layers))
    drawing = board(checked)
    (number,) = [n for n, f in enumerate(checked.report.findings, 1) if f.ids == ("F1", "block")]
    frame = BoardFrame.of(checked.scene.layout, BoardSettings(end_view=True))
    seen: dict[str, list[Region]] = {}
    for view in frame.views:
        group = find(drawing, mark_of(checked.report.findings[number - 1], view))
        assert group is not None
        seen[view.name] = [one for one in group.primitives if isinstance(one, Region)]
    for view in frame.views:
        (region,) = seen[view.name]
        assert region.fill is not None
        assert region.fill.hatch == "cross"
        corners = {tuple(round(c, 6) for c in p) for p in region.rings[0]}
        ends: list[Vec] = [(210.0, 60.0, 5.0), (220.0, 90.0, 15.0)]
        (xa, ya), (xb, yb) = (view.to_board(end) for end in ends)
        assert corners == {
            tuple(round(c, 6) for c in p) for p in ((xa, ya), (xa, yb), (xb, ya), (xb, yb))
        }
    assert texts(find(drawing, f"finding:{number}")) == [str(number), "10.0 overlap"]


def test_a_gap_under_its_margin_has_arrows_and_the_margin_hatched_one_way(
    room: Room, check: Check
) -> None:
    """A block 1.5 mm before the fan: x 221.5.., y 60..90, z 5..15; the margin is 2.0 mm.

    The margin reaches to x = 222, half a millimetre into the block.
    """
    layers = (Layer(id="L", items=(Item(id="F1", part="fan", cell="c1"),)),)
    checked = check(room(thing("block", (221.5, 60.0, 5.0), (50.0, 30.0, 10.0)), layers=layers))
    ids = [finding.ids for finding in checked.report.findings]
    number = ids.index(("F1", "block")) + 1
    drawing = board(checked)
    frame = BoardFrame.of(checked.scene.layout, BoardSettings())
    group = find(drawing, mark_of(checked.report.findings[number - 1], frame.view("side")))
    assert group is not None
    (region,) = [one for one in group.primitives if isinstance(one, Region)]
    assert region.fill is not None
    assert (region.fill.ink, region.fill.hatch) == (Ink.TIGHT, "diagonal")
    assert region.stroke is not None
    assert region.stroke.line_type is LineType.DASHED
    assert {round(p[0], 6) for p in region.rings[0]} == {221.5, 222.0}
    heads = [one for one in group.primitives if isinstance(one, Path) and one.closed]
    assert sorted(one.points[0][0] for one in heads) == pytest.approx([220.0, 221.5])
    assert texts(find(drawing, f"finding:{number}")) == [str(number), "1.5 tight"]


def test_a_stopped_port_end_shows_its_envelope(room: Room, check: Check) -> None:
    """A peg 4 mm into the port end, which reaches to x = 248."""
    layers = (Layer(id="L", items=(Item(id="E1", part="ex", cell="c1"),)),)
    checked = check(room(thing("peg", (244.0, 60.0, 5.0), (50.0, 20.0, 10.0)), layers=layers))
    kinds = [finding.kind for finding in checked.report.findings]
    number = kinds.index("port_end") + 1
    frame = BoardFrame.of(checked.scene.layout, BoardSettings())
    finding = checked.report.findings[number - 1]
    group = find(board(checked), mark_of(finding, frame.view("side")))
    assert group is not None
    envelope = [
        one
        for one in group.primitives
        if isinstance(one, Path) and one.stroke and one.stroke.line_type is LineType.DOUBLE_CHAIN
    ]
    assert [min(p[0] for p in one.points) for one in envelope] == [220.0]
    assert {one.stroke.ink for one in envelope if one.stroke} == {Ink.BLOCKED}


def test_a_finding_shows_in_the_view_that_has_its_shift_in_true_length(
    room: Room, check: Check
) -> None:
    checked = check(room(layers=()))
    frame = BoardFrame.of(checked.scene.layout)
    for shift, name in (((0.0, 5.0, 0.0), "bottom"), ((0.0, 0.0, 5.0), "side"), (None, "side")):
        finding = Finding(
            "overlap", Verdict.BLOCKED, ("a",), "t", "", (10.0, 20.0, 30.0), -5.0, 2.0, shift=shift
        )
        report = replace(checked.report, findings=(finding,))
        group = find(board_drawing(Checked(checked.scene, report), frame, 0.5), "finding:1")
        assert group is not None
        leader = next(one for one in group.primitives if isinstance(one, Path))
        assert leader.points[1] == frame.view(name).to_board((10.0, 20.0, 30.0))


def test_clear_findings_have_no_balloon_and_the_rest_are_numbered_as_listed(
    room: Room, check: Check
) -> None:
    checked = check(under_a_shelf(room, -4.2))
    verdicts = [finding.verdict for finding in checked.report.findings]
    shown = [one.key for one in board(checked).groups if one.key.startswith("finding:")]
    loud = sum(verdict is not Verdict.CLEAR for verdict in verdicts)
    assert loud > 0
    assert shown == [f"finding:{n}" for n in range(1, loud + 1)]


def test_a_selected_part_is_outlined_and_its_stack_dimensioned(room: Room, check: Check) -> None:
    checked = check(room())
    plain, selected = board(checked), board(checked, Shows(frozenset({"F1"})))
    assert find(plain, "selected:side:F1") is None
    group = find(selected, "selected:side:F1")
    assert group is not None
    assert {one.stroke.ink for one in group.primitives if isinstance(one, Path) and one.stroke} == {
        Ink.SELECTION
    }
    # 30 of the exchanger, 25 of the fan, 55 in all.
    assert texts(find(selected, "stack:side:S1:inner")) == ["30", "25", "55"]
    assert find(selected, "stack:bottom:S1:inner") is None
    assert find(plain, "stack:side:S1:inner") is None


def test_overall_dimensions_are_those_of_the_outer_shape_each_once(
    room: Room, check: Check
) -> None:
    drawing = board(check(room()))
    assert texts(find(drawing, "overall:side")) == ["404", "184"]
    assert texts(find(drawing, "overall:bottom")) == ["204"]
    assert find(drawing, "overall:end") is None


def moved(layout: Layout, x_mm: float) -> Layout:
    """The same layout with the obstacle named mover elsewhere."""
    places = tuple(
        thing("mover", (x_mm, 150.0, 140.0), (20.0, 20.0, 20.0)) if one.id == "mover" else one
        for one in layout.enclosure.obstacles
    )
    return layout.but(enclosure=layout.enclosure.but(obstacles=places))


def test_what_did_not_change_is_the_same_object_as_before(room: Room, check: Check) -> None:
    layout = room(thing("mover", (300.0, 150.0, 140.0), (20.0, 20.0, 20.0)))
    checked = check(layout)
    frame, memory = BoardFrame.of(layout), BoardMemory()
    first = board_drawing(checked, frame, 0.5, memory=memory)
    memory.remade = 0
    again = board_drawing(checked, frame, 0.5, memory=memory)
    assert memory.remade == 0
    kept = ("wall", "zone", "solid", "hidden", "label", "marks", "finding")
    old = {one.key: one for one in first.groups if one.key.split(":")[0] in kept}
    assert old
    for one in again.groups:
        if one.key in old:
            assert one is old[one.key]


def test_marks_of_findings_that_are_renumbered_are_those_before(room: Room, check: Check) -> None:
    fans = Layer(id="L", items=(Item(id="F1", part="fan", cell="c1"),))
    shelves = [thing(f"s{k}", (100.0, 40.0 + 60.0 * k, 22.0), (120.0, 50.0, 10.0)) for k in (0, 1)]
    checked = check(room(*shelves, layers=(fans,)))
    findings = checked.report.findings
    blocked = {one.ids for one in findings if one.verdict is Verdict.BLOCKED}
    assert len(blocked) >= 2
    frame, memory = BoardFrame.of(checked.scene.layout), BoardMemory()
    first = board_drawing(checked, frame, 0.5, memory=memory)
    turned = Checked(checked.scene, replace(checked.report, findings=findings[::-1]))
    second = board_drawing(turned, frame, 0.5, memory=memory)
    old = {one.key: one for one in first.groups if one.key.startswith("marks:")}
    new = {one.key: one for one in second.groups if one.key.startswith("marks:")}
    assert len(old) > 2
    assert old.keys() == new.keys()
    assert all(new[key] is one for key, one in old.items())


def test_a_turned_fan_remakes_its_own_groups_alone(room: Room, check: Check) -> None:
    """Set against the air it keeps its solids: only its own arrows in each view are drawn anew."""
    layout = room(thing("back", (300.0, 150.0, 100.0), (20.0, 20.0, 20.0)))
    stack = layout.stacks[0]
    fan = stack.inner[1].items[0]
    against = stack.inner[1].but(items=(fan.but(air="against"),))
    turned = layout.but(stacks=(stack.but(inner=(stack.inner[0], against)),))
    frame, memory = BoardFrame.of(layout), BoardMemory()
    from geometry.scene import build_scene

    scene = build_scene(layout)
    report = check(layout).report
    first = board_drawing(Checked(scene, report), frame, 0.5, memory=memory)
    later = Checked(build_scene(turned, scene), report)
    second = board_drawing(later, frame, 0.5, memory=memory)
    old = {one.key: one for one in first.groups}
    differs = {one.key for one in second.groups if one != old.get(one.key)}
    assert differs == {"solid:side:F1", "solid:bottom:F1"}


def test_annotation_keeps_its_size_on_screen(room: Room, check: Check) -> None:
    checked = check(under_a_shelf(room, 12.0))
    frame = BoardFrame.of(checked.scene.layout)
    heights = []
    for mm_per_px in (0.25, 1.0):
        group = find(board_drawing(checked, frame, mm_per_px), "depth:S1:inner")
        assert group is not None
        (text,) = [one for one in group.primitives if isinstance(one, Text)]
        heights.append(text.height_mm / mm_per_px)
    assert heights == [8.75, 8.75]


def test_on_paper_lettering_is_two_and_a_half_millimetres_high(room: Room, check: Check) -> None:
    """ISO 3098 height 2.5 at 1:5 is 12.5 mm of the enclosure."""
    checked = check(under_a_shelf(room, 12.0))
    drawing = paper_drawing(checked, BoardFrame.of(checked.scene.layout), 5.0)
    group = find(drawing, "depth:S1:inner")
    assert group is not None
    assert {one.height_mm for one in group.primitives if isinstance(one, Text)} == {12.5}


def test_bounds_hold_everything_that_stands_beside_the_views(room: Room, check: Check) -> None:
    checked = check(room(thing("peg", (244.0, 60.0, 5.0), (50.0, 20.0, 10.0))))
    x0, y0, x1, y1 = board(checked).bounds
    for group in board(checked).groups:
        for x, y in (point for one in group.primitives for point in points(one)):
            assert x0 - 3.0 <= x <= x1 + 3.0
            assert y0 - 3.0 <= y <= y1 + 3.0


def points(one: Primitive) -> list[tuple[float, float]]:
    if isinstance(one, Path):
        return list(one.points)
    if isinstance(one, Region):
        return [point for ring in one.rings for point in ring]
    return [one.at] if isinstance(one, Text) else [one.centre]


@pytest.mark.parametrize("name", sorted(load_library().enclosures))
@pytest.mark.parametrize("mm_per_px", [0.05, 0.9, 30.0])
def test_every_shipped_enclosure_is_drawn_at_any_scale(
    check: Check, name: str, mm_per_px: float
) -> None:
    checked = check(Layout(name="empty", enclosure=load_library().enclosures[name]))
    for projection in ("third-angle", "first-angle"):
        settings = BoardSettings(projection, end_view=True)  # type: ignore[arg-type]
        frame = BoardFrame.of(checked.scene.layout, settings)
        drawing = board_drawing(checked, frame, mm_per_px)
        assert {f"wall:{view.name}" for view in frame.views} <= {one.key for one in drawing.groups}
        for group in drawing.groups:
            for one in group.primitives:
                assert isinstance(one, Path | Region | Circle | Arc | Text)
                assert all(abs(c) < 1e5 for point in points(one) for c in point)


def test_figures_of_a_chain_cover_no_part_wall_or_leader_and_no_other_figure(shipped) -> None:
    """In the demo they lay over the drive cage, the exchanger on the floor, and the walls."""
    checked = check_layout(demo_layout(shipped), remedies=False)
    frame = BoardFrame.of(checked.scene.layout, BoardSettings(end_view=True))
    chains = 0
    for part_id in ("E1", "E2", "F7"):
        drawing = board_drawing(checked, frame, 0.6, Shows(frozenset([part_id])))
        leaders = [
            (one.points[0], one.points[1])
            for group in drawing.groups
            if group.key.startswith("finding:")
            for one in group.primitives
            if isinstance(one, Path) and len(one.points) == 2
        ]
        for view in frame.views:
            chain = [g for g in drawing.groups if g.key.startswith(f"stack:{view.name}:")]
            chains += len(chain)
            figures = [one for group in chain for one in group.primitives if isinstance(one, Text)]
            boxes = [figure_box(one) for one in figures]
            for shown in owners_of(checked.scene):
                for box in shown.seen(view).boxes:
                    assert not meets_any(box, boxes), (part_id, view.name, shown.owner)
            assert not [(a, b) for a, b in combinations(boxes, 2) if overlaps(a, b)]
            assert not [line for line in leaders for box in boxes if crosses(line, box)]
    assert chains >= 3


def test_a_chain_set_outside_its_view_has_all_its_figures_and_extension_lines(shipped) -> None:
    checked = check_layout(demo_layout(shipped), remedies=False)
    frame = BoardFrame.of(checked.scene.layout, BoardSettings())
    drawing = board_drawing(checked, frame, 0.6, Shows(frozenset(["E1"])))
    chain = next(g for g in drawing.groups if g.key.startswith("stack:side:"))
    figures = [one for one in chain.primitives if isinstance(one, Text)]
    # The gasket of 1.5 mm is too thin to have its figure between those of its neighbours.
    assert {one.text for one in figures} >= {"25", "30", "43", "124.5"}
    foot = frame.view("side").rect[3]
    assert all(one.at[1] > foot for one in figures)
    assert any(
        isinstance(one, Path) and one.points[0][1] < foot < one.points[-1][1]
        for one in chain.primitives
    )
