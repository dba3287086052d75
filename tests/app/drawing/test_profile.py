"""The depth profile on the board: lines at the depths, figures and places beside them."""

from __future__ import annotations

from small_rooms import block, fan, fan_layer, layout, row, zone
from small_rooms import room as room_of
from small_rooms import stack as stack_of

from app.drawing.board import BoardFrame, BoardSettings, board_drawing
from app.drawing.dimensions import Room
from app.drawing.drafting import Drafting
from app.drawing.labels import figure_box
from app.drawing.primitives import Circle, Path, Text
from app.drawing.profile_drawing import profile_groups, room_beside
from app.drawing.silhouettes import overlaps
from geometry.checks.runner import check_layout
from geometry.scene import build_scene
from geometry.zone_profile import zone_profile

FAN = fan()
FLOOR = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(2))
LAYOUT = layout(
    room_of((400, 200, 180), [FLOOR], [block("bar", (100, 0, 120), (150, 200, 140))]),
    [FAN],
    [stack_of("S", "floor-zone", fan_layer("A", FAN, ["c1"]))],
)


def test_bar_over_a_floor_zone_on_the_board() -> None:
    # Roof at 180 from x = 40 to 100, the bar's underside at 120 to x = 150, roof to x = 280.
    # The side view has board coordinates (x, -z).
    frame = BoardFrame.of(LAYOUT, BoardSettings(end_view=True))
    found = zone_profile(build_scene(LAYOUT), "floor-zone")
    (group,) = profile_groups(found, frame, Drafting.on_screen(0.5))
    assert group.key == "profile:side:floor-zone:inner"
    line = max(
        (p for p in group.primitives if isinstance(p, Path) and not p.closed),
        key=lambda p: len(p.points),
    )
    assert line.points == (
        (40, -180), (100, -180), (100, -120), (150, -120), (150, -180), (280, -180),
    )  # fmt: skip
    dashed = [p.points for p in group.primitives if isinstance(p, Path) and len(p.points) == 2]
    assert dashed == [((100, 0), (100, -180)), ((150, 0), (150, -120))]
    texts = [p.text for p in group.primitives if isinstance(p, Text)]
    # Depths, and where the breakpoints stand from the zone's corner: 100 - 40, 150 - 40.
    assert texts == ["180.0 deep", "at 0", "120.0 deep", "at 60.0", "180.0 deep", "at 110.0"]
    (origin,) = (p for p in group.primitives if isinstance(p, Circle))
    assert origin.centre == (40, 0)
    (coarse,) = profile_groups(found, frame, Drafting.on_screen(0.72))
    told = [p.text for p in coarse.primitives if isinstance(p, Text) and p.bold]
    assert told == ["180.0 deep", "120.0", "180.0 deep"], "no room for the word over the bar"


def test_a_profile_across_is_seen_from_the_end() -> None:
    frame = BoardFrame.of(LAYOUT, BoardSettings(end_view=True))
    across = zone_profile(build_scene(LAYOUT), "floor-zone", across=True)
    keys = [g.key for g in profile_groups(across, frame, Drafting.on_screen(0.5))]
    assert keys == ["profile:end:floor-zone:inner"]
    plain = BoardFrame.of(LAYOUT, BoardSettings())
    assert list(profile_groups(across, plain, Drafting.on_screen(0.5))) == []


def figures(*room: Room) -> list[Text]:
    found = zone_profile(build_scene(LAYOUT), "floor-zone")
    frame = BoardFrame.of(LAYOUT, BoardSettings())
    (group,) = profile_groups(found, frame, Drafting.on_screen(0.72), *room)
    return [one for one in group.primitives if isinstance(one, Text)]


def test_its_figures_keep_off_what_is_taken_and_off_each_other() -> None:
    heedless = figures()
    for taken in map(figure_box, heedless):
        boxes = [figure_box(one) for one in figures(Room((taken,)))]
        assert len(boxes) >= len(heedless) - 1
        assert not any(overlaps(box, taken) for box in boxes)
        assert not any(overlaps(a, b) for k, a in enumerate(boxes) for b in boxes[:k])


def test_what_the_board_tells_already_is_taken() -> None:
    drawing = board_drawing(check_layout(LAYOUT), BoardFrame.of(LAYOUT, BoardSettings()), 0.72)
    texts = [one for g in drawing.groups for one in g.primitives if isinstance(one, Text)]
    assert any(one.text.endswith(" clear") for one in texts)
    room = room_beside(drawing, None)
    assert not any(room.free(figure_box(one)) for one in texts)
    assert not any(overlaps(figure_box(a), figure_box(b)) for a in figures(room) for b in texts)
