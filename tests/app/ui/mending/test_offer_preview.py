"""A change that is offered is shown on the board while the pointer rests on it, and no longer."""

from __future__ import annotations

from mend_hand import enter, leave, two_pegs
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QCursor, QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from search_hand import text_on

from app.ui.mending.offer_button import PREVIEW_MS
from app.ui.search.preview import PreviewMark


def test_resting_on_a_change_shows_it_on_the_board_and_leaves_no_trace(mending) -> None:
    window, _ = mending(two_pegs(317.0))
    before = window.session.document.layout
    card = window.findings.cards[0]
    titles = [f.title for f in window.session.balloons]
    button = card.mends.buttons[0]
    enter(button)
    assert window.session.layout is button.offer.layout
    assert window.session.previewing
    assert window.findings.cards[0].mends.buttons[0] is button
    mark = window.findChild(PreviewMark)
    assert text_on(mark).startswith(button.offer.name)
    assert "Nothing is changed yet" in text_on(mark)
    covered = window.board.mapToScene(mark.geometry()).boundingRect()
    items = window.board.picture.items
    for key in ("title:side", "title:bottom", "overall:side", "overall:bottom"):
        assert not covered.intersects(items.rect(key)), key
    leave(button)
    assert text_on(mark) == ""
    assert window.session.layout is before
    assert [f.title for f in window.session.balloons] == titles
    assert not window.session.document.can_undo


def test_a_change_is_applied_while_it_is_previewed(mending) -> None:
    window, _ = mending(two_pegs(317.0))
    button = window.findings.cards[0].mends.buttons[0]
    wanted = button.offer.layout
    enter(button)
    button.click()
    assert not window.session.trying
    assert window.session.document.layout is wanted
    assert window.session.layout is wanted


def test_the_list_stands_still_under_the_pointer(mending) -> None:
    window, search = mending(two_pegs(317.0, spare=True))
    card = window.findings.cards[0]
    count = len(card.mends.buttons)
    enter(card.mends.buttons[0])
    search(card.goal)
    assert len(card.mends.buttons) == count
    leave(card.mends.buttons[0])
    assert len(card.mends.buttons) > count


def test_the_mark_goes_whoever_ends_the_preview(mending) -> None:
    window, _ = mending(two_pegs(317.0))
    session, button = window.session, window.findings.cards[0].mends.buttons[0]
    enter(button)
    mark = window.findChild(PreviewMark)
    assert text_on(mark)
    session.try_layout(session.document.layout)  # as when a part is dragged on the board
    session.end_trial()
    assert not session.previewing
    assert text_on(mark) == ""


def test_a_change_that_is_hidden_under_the_pointer_is_shown_no_more(mending) -> None:
    window, _ = mending(two_pegs(317.0))
    button = window.findings.cards[0].mends.buttons[0]
    enter(button)
    assert window.session.previewing
    button.hide()
    assert not button.in_use
    assert not window.session.previewing
    assert text_on(window.findChild(PreviewMark)) == ""


def test_a_change_that_comes_under_a_still_pointer_waits_until_it_moves(mending, hand) -> None:
    window, _ = mending(two_pegs(317.0, 317.0))
    button = window.findings.cards[0].mends.buttons[0]
    at = button.mapToGlobal(QPoint(20, 8))
    QCursor.setPos(at)
    enter(button, at)
    assert window.session.previewing
    button.click()
    hand(window).wait_for_remedies()
    next_one = window.findings.cards[0].mends.buttons[0]
    enter(next_one, at)
    assert not window.session.previewing
    still = QPointF(at)
    for to, shown in ((still, False), (still + QPointF(1, 0), True)):
        moved = QMouseEvent(
            QEvent.Type.MouseMove, QPointF(20, 8), to, Qt.MouseButton.NoButton,
            Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier,
        )  # fmt: skip
        QApplication.sendEvent(next_one, moved)
        QTest.qWait(PREVIEW_MS + 50)
        assert window.session.previewing is shown
