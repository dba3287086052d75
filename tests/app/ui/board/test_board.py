"""The board: dragging placed parts, keys, zoom and pan, rulers, what is drawn and reused."""

from __future__ import annotations

from time import thread_time

import pytest
from large_rooms import hall
from PySide6.QtCore import QPoint, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QPainter, QPixmap, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from geometry.edits import add_free
from geometry.layout import Layout

ALT = Qt.KeyboardModifier.AltModifier


@pytest.fixture
def free_fan(shipped) -> Layout:
    """A bench box with one free fan in the middle of the room, seat face down."""
    empty = Layout(name="One fan", enclosure=shipped.enclosure("bench-box"))
    return add_free(empty, shipped.part("fan-80-25"), (300.0, 60.0, 250.0))[0]


def free_at(window) -> tuple[float, float, float]:
    return window.session.layout.free[0].at_mm


def test_a_free_part_dragged_in_one_view_is_moved_in_the_other(open_window, hand, free_fan) -> None:
    window = open_window(free_fan)
    me = hand(window)
    picture = window.board.picture
    before = picture.rect("solid:bottom:F1").center()
    start = me.at(me.middle_of("F1"))
    me.press(start)
    me.move(start + QPoint(15, 0), ALT)
    me.move(start + QPoint(30, 0), ALT)
    # Thirty pixels to the right along x; y and z stay.
    by_mm = 30 * window.board.mm_per_px
    at = free_at(window)
    assert at == pytest.approx((300.0 + by_mm, 60.0, 250.0), abs=1e-6)
    me.qtbot.waitUntil(lambda: not picture.behind)
    after = picture.rect("solid:bottom:F1").center()
    assert after.x() == pytest.approx(before.x() + by_mm, abs=0.1)
    assert window.session.trying
    me.release(start + QPoint(30, 0))
    assert not window.session.trying
    assert window.session.document.history_names == ("Move Fan 80 x 25",)


def test_a_drag_snaps_to_the_grid_and_with_alt_to_nothing(open_window, hand, free_fan) -> None:
    window = open_window(free_fan)
    me = hand(window)
    start = me.at(me.middle_of("F1"))
    me.drag(start, start + QPoint(33, -21))
    # The grid is 1 mm and catches the least corner: 40 mm left of the seat's middle, so whole.
    at = free_at(window)
    assert at[0] == round(at[0])
    assert at[2] == round(at[2])
    start = me.at(me.middle_of("F1"))
    me.drag(start, start + QPoint(17, -13), ALT)
    moved = free_at(window)
    step = window.board.mm_per_px
    assert moved[0] - at[0] == pytest.approx(17 * step, abs=1e-6)
    assert moved[2] - at[2] == pytest.approx(13 * step, abs=1e-6)


def test_esc_cancels_a_drag(open_window, hand, free_fan) -> None:
    window = open_window(free_fan)
    me = hand(window)
    before = window.session.document.layout
    start = me.at(me.middle_of("F1"))
    me.press(start)
    me.move(start + QPoint(40, 40))
    assert window.session.trying
    QTest.keyClick(window.board, Qt.Key.Key_Escape)
    assert not window.session.trying
    me.release(start + QPoint(40, 40))
    assert window.session.document.layout is before
    assert window.session.selected == "F1"


def test_a_stacked_part_slides_in_its_slots_and_is_lifted_out_when_carried_away(
    open_window, hand
) -> None:
    window = open_window()
    me = hand(window)
    middle = me.middle_of("E1")
    start = me.at(middle)
    me.drag(start, me.at((middle[0], middle[1], middle[2] - 13.0)))
    front = window.session.document.layout.stacks[0]
    assert window.session.document.undo_name == "Slide stack"
    # The slots let it go 12 mm either way; the end of the slot catches it.
    assert front.slide_u_mm == -12.0
    start = me.at(me.middle_of("E1"))
    me.drag(start, me.at((150.0, middle[1], 260.0)))
    assert [free.id for free in window.session.document.layout.free] == ["R1", "E1"]
    window.session.undo()
    assert [free.id for free in window.session.document.layout.free] == ["R1"]


def test_a_locked_part_is_not_dragged_and_the_notice_says_so(open_window, hand, free_fan) -> None:
    window = open_window(free_fan)
    me = hand(window)
    start = me.at(me.middle_of("F1"))
    me.click(start)
    me.key("L")
    assert window.session.document.undo_name == "Lock Fan 80 x 25"
    me.drag(start, start + QPoint(60, 0))
    assert free_at(window) == (300.0, 60.0, 250.0)
    assert "locked" in window.notice.text


@pytest.mark.parametrize(
    ("keys", "moved"),
    [
        ("Right", (1.0, 0.0, 0.0)),
        ("Up", (0.0, 0.0, 1.0)),
        ("Shift+Left", (-10.0, 0.0, 0.0)),
        ("Ctrl+Down", (0.0, 0.0, -0.1)),
    ],
)
def test_arrow_keys_nudge_by_one_ten_and_a_tenth(open_window, hand, free_fan, keys, moved) -> None:
    window = open_window(free_fan)
    me = hand(window)
    me.click(me.at(me.middle_of("F1")))
    me.key(keys)
    at = free_at(window)
    assert tuple(round(a - b, 6) for a, b in zip(at, (300.0, 60.0, 250.0), strict=True)) == moved


def test_ten_nudges_are_one_step_and_follow_the_view_that_was_clicked(
    open_window, hand, free_fan
) -> None:
    window = open_window(free_fan)
    me = hand(window)
    me.click(me.at(me.middle_of("F1"), "bottom"))
    for _ in range(10):
        me.key("Ctrl+Down")
    # Down the page in the bottom view is +y; ten tenths make one.
    assert free_at(window) == (300.0, 61.0, 250.0)
    assert len(window.session.document.history_names) == 1


def test_the_wheel_zooms_to_the_pointer(open_window, hand) -> None:
    window = open_window()
    board = window.board
    at = QPointF(200.0, 150.0)
    before = board.mapToScene(at.toPoint())
    scale = board.px_per_mm
    wheel = QWheelEvent(
        at,
        QPointF(board.viewport().mapToGlobal(at.toPoint())),
        QPoint(),
        QPoint(0, 240),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(board.viewport(), wheel)
    assert board.px_per_mm == pytest.approx(scale * 1.25**2)
    after = board.mapToScene(at.toPoint())
    # The paper under the pointer stays where it is, to the pixel on which views scroll.
    assert (after - before).manhattanLength() <= 2 * board.mm_per_px


def test_the_middle_button_and_space_with_the_left_one_pan(open_window, hand) -> None:
    window = open_window()
    board = window.board
    for button, space in ((Qt.MouseButton.MiddleButton, False), (Qt.MouseButton.LeftButton, True)):
        board.setFocus()
        if space:
            QTest.keyPress(board, Qt.Key.Key_Space)
        before = board.mapToScene(QPoint(100, 100))
        QTest.mousePress(board.viewport(), button, Qt.KeyboardModifier.NoModifier, QPoint(300, 300))
        QTest.mouseMove(board.viewport(), QPoint(340, 320))
        QTest.mouseRelease(
            board.viewport(), button, Qt.KeyboardModifier.NoModifier, QPoint(340, 320)
        )
        if space:
            QTest.keyRelease(board, Qt.Key.Key_Space)
        moved = before - board.mapToScene(QPoint(100, 100))
        pixel = board.mm_per_px
        assert moved.x() == pytest.approx(40 * pixel, abs=1.5 * pixel)
        assert moved.y() == pytest.approx(20 * pixel, abs=1.5 * pixel)
        assert not board.panning


def test_space_that_goes_up_elsewhere_is_not_held_on(open_window) -> None:
    window = open_window()
    board = window.board
    board.setFocus()
    QTest.keyPress(board, Qt.Key.Key_Space)
    assert board.panning
    window.parts.list.setFocus()
    QTest.keyRelease(window.parts.list, Qt.Key.Key_Space)
    assert not board.panning


def test_dragging_the_bare_paper_pans(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    board = window.board
    before = board.mapToScene(QPoint(100, 100))
    corner = QPoint(15, board.viewport().height() - 15)
    me.drag(corner, corner + QPoint(50, -30))
    moved = before - board.mapToScene(QPoint(100, 100))
    assert moved.x() == pytest.approx(50 * board.mm_per_px, abs=1.5 * board.mm_per_px)
    assert not board.panning
    assert window.session.selected is None


def test_zoom_to_fit_shows_all_that_is_drawn(open_window) -> None:
    window = open_window()
    window.board.zoom_by(6.0)
    window.actions_by_name["zoom_fit"].trigger()
    x0, y0, x1, y1 = window.board.picture.drawing.bounds
    seen = window.board.seen
    assert seen.left() <= x0
    assert seen.right() >= x1
    assert seen.top() <= y0
    assert seen.bottom() >= y1


def test_the_pointer_is_told_in_enclosure_coordinates_and_in_inches(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    at = me.at((100.0, 50.0, 200.0))
    QTest.mouseMove(window.board.viewport(), at)
    text = window.statusBar().place.text()
    words = text.split()
    assert (words[0], words[2], words[4]) == ("x", "z", "side")
    assert float(words[1]) == pytest.approx(100.0, abs=1.0)
    assert float(words[3]) == pytest.approx(200.0, abs=1.0)
    window.actions_by_name["inches"].trigger()
    QTest.mouseMove(window.board.viewport(), at + QPoint(1, 0))
    words = window.statusBar().place.text().split()
    # 100 mm are 3.937 in, 200 mm 7.874 in.
    assert float(words[1]) == pytest.approx(3.937, abs=0.1)
    assert float(words[3]) == pytest.approx(7.874, abs=0.1)


def test_the_end_view_and_the_projection_are_switched(open_window) -> None:
    window = open_window()
    frame = window.board.picture.frame
    assert [view.name for view in frame.views] == ["side", "bottom"]
    assert frame.view("bottom").rect[1] > frame.view("side").rect[3]
    window.actions_by_name["end_view"].trigger()
    assert window.board.picture.frame.view("end").rect[0] > frame.view("side").rect[2]
    window.actions_by_name["first_angle"].trigger()
    frame = window.board.picture.frame
    assert frame.view("bottom").rect[3] < frame.view("side").rect[1]
    assert window.session.document.undo_name == "Projection: first-angle"
    assert window.actions_by_name["first_angle"].isChecked()
    window.session.undo()
    assert not window.actions_by_name["first_angle"].isChecked()


def test_moving_one_part_rebuilds_few_groups(open_window, hand, free_fan) -> None:
    window = open_window(free_fan)
    me = hand(window)
    me.click(me.at(me.middle_of("F1")))
    items = window.board.picture.items
    me.wait_for_remedies()
    before = items.rebuilt
    window.board.picture.refresh()
    assert items.rebuilt == before
    me.key("Right")
    moved = {key for key in items.shown_keys() if key.endswith(":F1")}
    assert 0 < items.rebuilt - before <= len(moved) + 8


def test_clicking_again_selects_what_lies_behind(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    at = me.at(me.middle_of("P1"), "bottom")
    me.click(at)
    first = window.session.selected
    me.click(at)
    second = window.session.selected
    assert first != second
    behind = window.board.owners_at(window.board.mapToScene(at))
    assert {first, second} <= set(behind)


def test_tab_goes_through_the_parts_and_leaves_the_board_at_the_end(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    me.focus_board()
    seen = []
    for _ in range(60):
        QTest.keyClick(window.board, Qt.Key.Key_Tab)
        if not window.board.hasFocus():
            break
        seen.append(window.session.selected)
    assert seen[: len(window.session.checked.scene.placed)] == list(
        window.session.checked.scene.placed
    )
    assert not window.board.hasFocus()


def test_a_corner_of_the_board_is_painted_without_looking_at_all_that_is_on_it(open_window) -> None:
    """Parents of items, which show nothing, all lay at the origin: each was gone through there."""
    board = open_window(hall(60)).board
    corner = board.mapFromScene(QPointF(0.0, 0.0))

    def least_s(rect: QRect) -> float:
        picture = QPixmap(board.viewport().size())
        painter = QPainter(picture)
        times = []
        for _ in range(7):
            start = thread_time()
            board.render(painter, QRectF(rect), rect)
            times.append(thread_time() - start)
        painter.end()
        return min(times)

    whole = least_s(board.viewport().rect())
    assert least_s(QRect(corner - QPoint(3, 3), corner + QPoint(3, 3))) < whole / 6


def test_the_first_click_selects_what_is_in_front(open_window, hand) -> None:
    """The reservoir's hidden edges are drawn over the exchanger's tank, which is before it."""
    window = open_window()
    me = hand(window)
    scene = window.session.checked.scene
    tank = [s.bounds for s in scene.solids_of["E2"]]
    reservoir = [s.bounds for s in scene.solids_of["R1"] if s.hard]
    x = max(min(b[0] for b in tank), min(b[0] for b in reservoir)) + 4.0
    y = max(min(b[1] for b in tank), min(b[1] for b in reservoir)) + 4.0
    at = me.at((x, y, 0.0), "bottom")
    assert {"E2", "R1"} <= {*window.board.owners_at(window.board.mapToScene(at))}
    me.click(at)
    assert window.session.selected == "E2"
    me.click(at)
    assert window.session.selected == "R1"
    window.session.select(None)
    me.drag(at, at + QPoint(-20, 0))
    assert window.session.document.history_names == ("Slide stack",)
