"""Panels begin as they were left, at another scale too, and leave the board half of the window."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication

from app.ui.panel_widths import PanelWidths, usual_widths

HANDLES_PX = 10


def test_in_a_window_as_wide_they_are_as_they_were_left() -> None:
    left = PanelWidths(300, 500, 1480)
    assert left.fitted(1480, HANDLES_PX) == left
    assert PanelWidths.read(left.text) == left


def test_at_twice_the_scale_the_board_keeps_half_of_the_window() -> None:
    # 1600 px across are 800 points at 200 %: half are 400, ten of which are handles.
    at_two = PanelWidths(270, 350, 1600).fitted(800, HANDLES_PX)
    assert at_two.parts + at_two.right <= 400 - HANDLES_PX
    assert (at_two.parts, at_two.right) == (140, 250)


def test_back_at_the_single_scale_they_are_not_squeezed() -> None:
    back = PanelWidths(140, 250, 800).fitted(1600, HANDLES_PX)
    assert (back.parts, back.right) == (280, 500)


def test_where_no_list_of_parts_has_room_the_window_begins_without() -> None:
    assert usual_widths(512).fitted(512, HANDLES_PX) == PanelWidths(0, 250, 512)


@pytest.mark.parametrize("text", ["", "270", "a b c", "0 0 0", "270 350 -1", "1 2 3 4"])
def test_what_is_no_widths_is_none(text: str) -> None:
    assert PanelWidths.read(text) is None


def test_a_window_opened_at_another_scale_shows_the_board(open_window) -> None:
    first = open_window(size=(1480, 920))
    first._splitter.moveSplitter(400, 1)
    QApplication.processEvents()
    first.close()
    assert PanelWidths.read(first.preferences.panel_widths) is not None
    again = open_window(size=(1480, 920))
    assert again._splitter.sizes()[0] == first._splitter.sizes()[0]
    narrow = open_window(size=(1024, 640))
    assert narrow.pane.width() >= narrow.width() // 2


def test_panels_that_nobody_has_moved_are_not_remembered(open_window) -> None:
    window = open_window(size=(1100, 700))
    window.close()
    assert window.preferences.panel_widths == ""
