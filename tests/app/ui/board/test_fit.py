"""Showing all views shows all parts too, also one that stands out of the enclosure."""

from __future__ import annotations

from app.drawing.primitives import Bounds
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


def test_what_was_laid_out_to_find_the_scale_is_shown_as_it_is(open_window, monkeypatch) -> None:
    """A scale that differed in its last figure had all laid out once more."""
    window = open_window(size=(1600, 1000))
    picture, tried = window.board.picture, set()
    bounds_at = picture.bounds_at

    def bounds_and_note(mm_per_px: float) -> Bounds:
        tried.add(mm_per_px)
        return bounds_at(mm_per_px)

    monkeypatch.setattr(picture, "bounds_at", bounds_and_note)
    for turns in range(1, 4):
        tried.clear()
        window.session.apply("Turn", lambda layout, turns=turns: rotate(layout, "E2", turns))
        window.pane.fit()
        assert window.board.mm_per_px in tried
