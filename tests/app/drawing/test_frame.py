"""The views lie as ISO 5456-2:1996, 5.1, says, and points go to and fro.

Third angle: view from below underneath the principal view, view from the right on its right.
First angle: view from below above it, view from the right on its left.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from app.drawing.frame import BoardFrame, BoardSettings, Projection
from geometry.layout import Layout, Settings

Room = Callable[..., Layout]


def frame(room: Room, projection: Projection) -> BoardFrame:
    return BoardFrame.of(room(), BoardSettings(projection, end_view=True))


def test_third_angle_puts_the_view_from_below_underneath_and_from_the_right_right(
    room: Room,
) -> None:
    board = frame(room, "third-angle")
    side, bottom, end = (board.view(name).rect for name in ("side", "bottom", "end"))
    assert bottom[1] == side[3] + board.gap_mm
    assert (bottom[0], bottom[2]) == (side[0], side[2])
    assert end[0] == side[2] + board.gap_mm
    assert (end[1], end[3]) == (side[1], side[3])


def test_first_angle_puts_the_view_from_below_above_and_from_the_right_left(room: Room) -> None:
    board = frame(room, "first-angle")
    side, bottom, end = (board.view(name).rect for name in ("side", "bottom", "end"))
    assert bottom[3] == side[1] - board.gap_mm
    assert (bottom[0], bottom[2]) == (side[0], side[2])
    assert end[2] < side[0]
    assert (end[1], end[3]) == (side[1], side[3])


@pytest.mark.parametrize("name", ["side", "bottom", "end"])
def test_no_view_is_a_mirror_image(room: Room, name: str) -> None:
    """To the right, up the page and towards the viewer make a right-handed frame."""
    view = frame(room, "third-angle").view(name)
    assert view.right.cross(-view.down) == view.toward


def test_views_look_from_the_access_side_from_below_and_from_the_front(room: Room) -> None:
    board = frame(room, "third-angle")
    assert [view.toward.name for view in board.views] == ["-y", "-z", "+x"]
    assert [view.right.name for view in board.views] == ["+x", "+x", "+y"]


def test_third_angle_unfolds_so_that_the_access_side_stays_next_to_the_side_view(
    room: Room,
) -> None:
    """The side nearest to the viewer of the principal view is the nearest in its neighbours."""
    board = frame(room, "third-angle")
    near, far = (0.0, 0.0, 0.0), (0.0, 200.0, 0.0)
    bottom, end = board.view("bottom"), board.view("end")
    assert bottom.to_board(near)[1] < bottom.to_board(far)[1]
    assert end.to_board(near)[0] < end.to_board(far)[0]


def test_first_angle_rolls_so_that_the_access_side_is_farthest_from_the_side_view(
    room: Room,
) -> None:
    board = frame(room, "first-angle")
    near, far = (0.0, 0.0, 0.0), (0.0, 200.0, 0.0)
    side, bottom, end = (board.view(name) for name in ("side", "bottom", "end"))
    away = [abs(bottom.to_board(p)[1] - side.rect[1]) for p in (near, far)]
    assert away[0] > away[1]
    away = [abs(end.to_board(p)[0] - side.rect[0]) for p in (near, far)]
    assert away[0] > away[1]


def test_the_side_view_needs_no_shift(room: Room) -> None:
    side = frame(room, "third-angle").view("side")
    assert side.to_board((123.0, 45.0, 67.0)) == (123.0, -67.0)


@pytest.mark.parametrize("projection", ["third-angle", "first-angle"])
def test_a_board_point_goes_back_to_the_world_but_for_the_line_of_sight(
    room: Room, projection: Projection
) -> None:
    world = (123.0, 45.0, 67.0)
    for view in frame(room, projection).views:
        back = view.to_world(view.to_board(world))
        assert back[view.toward.axis] is None
        for k in {0, 1, 2} - {view.toward.axis}:
            assert back[k] == pytest.approx(world[k], abs=1e-9)


def test_the_view_at_a_point_reaches_half_way_to_its_neighbour(room: Room) -> None:
    board = frame(room, "third-angle")
    side = board.view("side")
    x, below = (side.rect[0] + side.rect[2]) / 2, side.rect[3]
    found = [board.view_at((x, below + share * board.gap_mm)) for share in (-0.1, 0.49, 0.51)]
    assert [view.name for view in found if view is not None] == ["side", "side", "bottom"]
    assert board.view_at((x, side.rect[1] - board.gap_mm)) is None


def test_the_layouts_own_projection_holds_unless_another_is_asked_for(room: Room) -> None:
    layout = room().but(settings=Settings(projection="first-angle"))
    assert BoardFrame.of(layout).projection == "first-angle"
    assert BoardFrame.of(layout, BoardSettings()).projection == "third-angle"


def test_a_view_that_is_not_shown_is_no_view(room: Room) -> None:
    board = BoardFrame.of(room())
    assert [view.name for view in board.views] == ["side", "bottom"]
    with pytest.raises(KeyError):
        board.view("end")


def test_the_wall_next_to_the_viewer_is_cut_away(room: Room) -> None:
    """Cavity from (0, 0, 0) to (400, 200, 180): seen from -y, -z and +x."""
    assert [view.cut for view in frame(room, "third-angle").views] == [0.0, 0.0, 400.0]
