"""A drag leaves out the worst case, and says so beside the pointer and before the counts."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPointF
from small_rooms import brick, free, layout, room
from ui_hand import Hand, counts_told

from app.drawing.verdict_words import note_text
from app.ui.board.session_overlay import AS_DRAWN
from geometry.checks.runner import check_layout
from geometry.layout import Layout, Settings

CUBE = brick("cube", (40, 40, 40))


def two_cubes(judge: str = "worst case", gap_mm: float = 30.0) -> Layout:
    return layout(
        room((300, 200, 200)),
        [CUBE],
        frees=[free("A", CUBE, (100, 100, 10)), free("B", CUBE, (140 + gap_mm, 100, 10))],
        settings=Settings(judge=judge),  # type: ignore[arg-type]
    )


def drag_b(me: Hand, by_mm: float) -> None:
    x, y, z = me.middle_of("B")
    me.press(me.at((x, y, z)))
    for share in (0.4, 0.7, 1.0):
        me.move(me.at((x + share * by_mm, y, z)))
    me.qtbot.waitUntil(lambda: not me.board.picture.older, timeout=20_000)


def test_the_note_and_the_counts_say_that_a_drag_is_judged_as_drawn(open_window, hand) -> None:
    """At 2 mm, the margin, it is clear under way and tight once dropped."""
    window = open_window(two_cubes())
    me = hand(window)
    assert not window.statusBar().as_drawn.isVisible()
    drag_b(me, -28.0)
    said = me.texts("note")
    assert "x: 2 mm off cube" in said
    assert said.count(AS_DRAWN) == 1
    assert window.statusBar().as_drawn.isVisible()
    assert "0 tight" in counts_told(window)
    x, y, z = me.middle_of("B")
    me.release(me.at((x, y, z)))
    me.wait_for_remedies()
    assert not window.statusBar().as_drawn.isVisible()
    assert "1 tight" in counts_told(window)
    # Of 2.0 mm as drawn 1.1 may be taken: see tests/geometry/test_worst_case.py.
    assert "2.0, 0.9 at worst" in me.texts("finding")


def test_where_tolerances_change_no_verdict_nothing_is_said_of_them(open_window, hand) -> None:
    window = open_window(two_cubes("nominal"))
    me = hand(window)
    drag_b(me, -28.0)
    assert AS_DRAWN not in me.texts("note")
    assert not window.statusBar().as_drawn.isVisible()


def test_a_place_above_the_views_is_not_between_them(open_window) -> None:
    window = open_window(two_cubes())
    x0, y0, x1, _ = window.board.picture.frame.bounds
    window.board.pointer_moved.emit(QPointF((x0 + x1) / 2, y0 - 200.0))
    assert window.statusBar().place.text() == "beside the views"
    side = window.board.picture.frame.view("side").rect
    bottom = window.board.picture.frame.view("bottom").rect
    window.board.pointer_moved.emit(QPointF((x0 + x1) / 2, (side[3] + bottom[1]) / 2))
    assert window.statusBar().place.text().endswith(("side", "bottom"))


@pytest.mark.parametrize(
    ("gap_mm", "text"),
    [
        (2.5, "2.5, 1.4 at worst"),
        (1.9, "1.9 tight"),  # tight as drawn already
    ],
)
def test_a_label_tells_the_figure_that_fails(gap_mm: float, text: str) -> None:
    (found,) = check_layout(two_cubes(gap_mm=gap_mm)).report.findings
    assert note_text(found) == text
