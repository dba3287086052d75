"""Showing all views shows all parts too, also one that stands out of the enclosure."""

from __future__ import annotations

from app.ui.window import MainWindow
from geometry.edits import rotate


def parts_out_of_sight(window: MainWindow) -> list[str]:
    """Return the views' solids that the window does not show whole."""
    picture, seen = window.board.picture, window.board.seen
    return [
        key
        for key in picture.shown_keys()
        if key.startswith("solid:") and not seen.contains(picture.rect(key))
    ]


def test_a_part_turned_out_of_the_room_is_shown_whole(open_window) -> None:
    """The exchanger on the floor, turned, stuck out below the bottom view and was cut off."""
    window = open_window(size=(1600, 1000))
    for end_view in (False, True):
        window.board.picture.set_end_view(end_view)
        assert window.session.apply("Turn", lambda layout: rotate(layout, "E2", 1))
        window.pane.fit()
        assert parts_out_of_sight(window) == []
        window.session.undo()


def test_where_all_parts_are_in_the_room_it_fits_as_before(open_window) -> None:
    window = open_window()
    assert window.board.picture.extent == window.board.picture.frame.bounds
