"""What was cut off an obstacle, on the board: its initial outline, dimensioned and marked."""

from __future__ import annotations

from collections.abc import Callable

from app.drawing.board import BoardFrame, BoardMemory, BoardSettings, board_drawing
from app.drawing.labels import text_box
from app.drawing.primitives import Drawing, Group, Ink, LineType, Path, Primitive, Text
from app.drawing.silhouettes import overlaps
from catalog.enclosure import Obstacle
from catalog.shapes import Box
from geometry.checks.runner import Checked
from geometry.edits import cut_out_obstacle, trim_obstacle
from geometry.layout import Layout

Room = Callable[..., Layout]
Check = Callable[[Layout], Checked]


def duct() -> Obstacle:
    """A duct of 200 x 20 x 30 mm along x whose least corner is at (100, 50, 140)."""
    shape = Box(at_mm=(100.0, 50.0, 140.0), size_mm=(200.0, 20.0, 30.0))
    return Obstacle(id="duct", name="duct", kind="duct", shapes=(shape,))


def board(checked: Checked, memory: BoardMemory | None = None) -> Drawing:
    frame = BoardFrame.of(checked.scene.layout, BoardSettings(end_view=True))
    return board_drawing(checked, frame, 0.5, memory=memory)


def of_cuts(drawing: Drawing) -> dict[str, Group]:
    return {one.key: one for one in drawing.groups if one.key.startswith("cut")}


def box(one: Primitive) -> tuple[float, float, float, float]:
    assert isinstance(one, Path)
    xs, ys = zip(*one.points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def test_what_was_trimmed_is_outlined_where_it_stood(room: Room, check: Check) -> None:
    cut = check(trim_obstacle(room(duct(), layers=()), "duct", "+x", 38.0))
    groups = of_cuts(board(cut))
    # Seen from the front the outline of what went would lie on that of what is left.
    assert set(groups) == {"cut:side:duct:+x", "cut:bottom:duct:+x", "cut-mark:side:duct:+x"}
    (outline,) = groups["cut:side:duct:+x"].primitives
    # In the side view the board has (x, -z).
    assert box(outline) == (262.0, -170.0, 300.0, -140.0)
    assert isinstance(outline, Path)
    assert outline.stroke is not None
    assert outline.stroke.line_type is LineType.DOUBLE_CHAIN
    assert outline.fill is None


def test_how_much_went_is_dimensioned_once_from_the_cut_to_the_former_end(
    room: Room, check: Check
) -> None:
    cut = check(trim_obstacle(room(duct(), layers=()), "duct", "+x", 38.0))
    mark = of_cuts(board(cut))["cut-mark:side:duct:+x"]
    (figure,) = (one for one in mark.primitives if isinstance(one, Text))
    assert (figure.text, figure.ink) == ("38 cut off", Ink.DIMENSION)
    lines = [box(one) for one in mark.primitives if isinstance(one, Path) and not one.closed]
    upright = sorted(line[0] for line in lines if line[0] == line[2])
    level = [line for line in lines if line[1] == line[3]]
    assert upright == [262.0, 300.0]
    assert min(line[0] for line in level) <= 262.0
    assert max(line[2] for line in level) >= 300.0


def test_a_length_along_the_depth_is_dimensioned_in_the_bottom_view(
    room: Room, check: Check
) -> None:
    cut = check(trim_obstacle(room(duct(), layers=()), "duct", "+y", 4.5))
    groups = of_cuts(board(cut))
    assert set(groups) == {"cut:bottom:duct:+y", "cut:end:duct:+y", "cut-mark:bottom:duct:+y"}
    texts = [
        one.text for one in groups["cut-mark:bottom:duct:+y"].primitives if isinstance(one, Text)
    ]
    assert texts == ["4.5 cut off"]


def test_what_was_cut_out_is_outlined_whole_and_marked_in_every_view(
    room: Room, check: Check
) -> None:
    groups = of_cuts(board(check(cut_out_obstacle(room(duct(), layers=()), "duct"))))
    views = ("side", "bottom", "end")
    assert set(groups) == {f"{kind}:{v}:duct:all" for v in views for kind in ("cut", "cut-mark")}
    assert box(groups["cut:side:duct:all"].primitives[0]) == (100.0, -170.0, 300.0, -140.0)
    (mark,) = groups["cut-mark:side:duct:all"].primitives
    assert isinstance(mark, Text)
    assert mark.text == "cut out"
    assert 100.0 < mark.at[0] < 300.0
    assert -170.0 < mark.at[1] < -140.0


def test_marks_of_what_stood_one_behind_the_other_keep_off_each_other(
    room: Room, check: Check
) -> None:
    behind = Box(at_mm=(100.0, 120.0, 140.0), size_mm=(200.0, 20.0, 30.0))
    other = Obstacle(id="other", name="other", kind="duct", shapes=(behind,))
    both = room(duct(), other, layers=())
    for one in ("duct", "other"):
        both = cut_out_obstacle(both, one)
    groups = of_cuts(board(check(both)))
    first, second = (
        text_box(mark.at, mark.text, mark.height_mm)
        for one in ("duct", "other")
        for mark in groups[f"cut-mark:side:{one}:all"].primitives
        if isinstance(mark, Text)
    )
    assert not overlaps(first, second)


def test_an_enclosure_that_is_whole_has_no_marks_and_cuts_are_drawn_once(
    room: Room, check: Check
) -> None:
    assert of_cuts(board(check(room(duct())))) == {}
    memory = BoardMemory()
    cut = check(trim_obstacle(room(duct()), "duct", "+x", 38.0))
    before, after = of_cuts(board(cut, memory)), of_cuts(board(cut, memory))
    assert before
    assert all(after[key] is group for key, group in before.items())
