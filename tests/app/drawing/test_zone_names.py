"""Names of zones on the board: also of one that is seen from its edge in every view."""

from __future__ import annotations

from small_rooms import fan, layout, room, row, zone

from app.drawing.board import BoardFrame, BoardSettings, board_drawing
from app.drawing.primitives import Text
from geometry.checks.runner import check_layout

FRONT = zone("front-zone", "front", (400, 40, 20), "+z", "+y", row(1))
CHECKED = check_layout(layout(room((400, 200, 180), [FRONT]), [fan()]), remedies=False)


def names(*, end_view: bool) -> dict[str, Text]:
    frame = BoardFrame.of(CHECKED.scene.layout, BoardSettings(end_view=end_view))
    drawn = board_drawing(CHECKED, frame, 0.5)
    return {
        group.key: text
        for group in drawn.groups
        if group.key.startswith("zone-name:")
        for text in group.primitives
        if isinstance(text, Text)
    }


def test_a_zone_that_no_view_shows_face_on_is_named_beside_its_line() -> None:
    """The front zone stands at x = 400: in the side view a line there, named outside the room."""
    (told,) = names(end_view=False).items()
    key, name = told
    assert key == "zone-name:side:front-zone"
    assert name.text == FRONT.name
    assert 400 < name.at[0] < 440
    assert name.at[1] == -(20 + FRONT.length_mm / 2)


def test_where_a_view_shows_it_face_on_it_is_named_there_alone() -> None:
    assert list(names(end_view=True)) == ["zone-name:end:front-zone"]
