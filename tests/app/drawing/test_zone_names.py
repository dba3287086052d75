"""Names of zones on the board: also of one that is seen from its edge in every view."""

from __future__ import annotations

import pytest
from small_rooms import fan, layout, room, row, zone

from app.drawing.board import BoardFrame, BoardSettings, board_drawing
from app.drawing.drafting import Drafting
from app.drawing.labels import crosses, label_box
from app.drawing.primitives import XY, Drawing, Path, Text
from app.drawing.room import Hurdles, zone_edge_label
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


def lines_of(drawn: Drawing) -> list[tuple[XY, XY]]:
    """Return the straight lines of leaders and overall dimensions."""
    return [
        (one.points[0], one.points[1])
        for group in drawn.groups
        if group.key.startswith(("finding:", "overall:"))
        for one in group.primitives
        if isinstance(one, Path) and len(one.points) == 2
    ]


REAR = zone("rear-zone", "rear", (0, 40, 20), "+y", "+z", row(1))


def test_no_dimension_runs_through_the_name_of_a_zone_of_an_empty_room() -> None:
    """The rear zone is named left of the side view, where the height is dimensioned."""
    for mm_per_px in (0.3, 0.5, 0.8):
        checked = check_layout(layout(room((400, 200, 180), [REAR]), []), remedies=False)
        frame = BoardFrame.of(checked.scene.layout, BoardSettings())
        drawn = board_drawing(checked, frame, mm_per_px)
        (name,) = [
            text
            for group in drawn.groups
            if group.key.startswith("zone-name:side:rear")
            for text in group.primitives
            if isinstance(text, Text)
        ]
        lines = lines_of(drawn)
        assert len(lines) > 3
        assert not [line for line in lines if crosses(line, label_box(name))]


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_a_name_goes_where_no_leader_crosses_it(share: float) -> None:
    checked = check_layout(layout(room((400, 200, 180), [REAR]), []), remedies=False)
    frame = BoardFrame.of(checked.scene.layout, BoardSettings())
    view, drafting = frame.view("side"), Drafting.on_screen(0.5)
    zone_frame = checked.scene.frames["rear-zone"]
    free = zone_edge_label(zone_frame, "rear", view, drafting, Hurdles())
    assert free is not None
    leader = ((-500.0, free.at[1]), (300.0, free.at[1] + (share - 0.5)))
    moved = zone_edge_label(zone_frame, "rear", view, drafting, Hurdles(lines=(leader,)))
    assert moved is not None
    assert crosses(leader, label_box(free))
    assert not crosses(leader, label_box(moved))


def test_zones_of_one_name_are_told_apart_by_their_ids() -> None:
    twins = [
        zone("left", "floor", (10, 20, 0), "+x", "+y", row(1)).but(name="floor"),
        zone("right", "floor", (200, 20, 0), "+x", "+y", row(1)).but(name="floor"),
    ]
    checked = check_layout(layout(room((400, 200, 180), twins), []), remedies=False)
    frame = BoardFrame.of(checked.scene.layout, BoardSettings())
    drawn = board_drawing(checked, frame, 0.4)
    told = {
        group.key: [one.text for one in group.primitives if isinstance(one, Text)]
        for group in drawn.groups
        if group.key.startswith("zone-name:bottom:")
    }
    assert told == {
        "zone-name:bottom:left": ["floor (left)"],
        "zone-name:bottom:right": ["floor (right)"],
    }
