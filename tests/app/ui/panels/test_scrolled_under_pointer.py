"""A list of findings that is scrolled under a still pointer lights what is then under it."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QCursor, QEnterEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from app.ui.mending.offer_button import OfferButton


def enter(widget: QWidget) -> None:
    """Put the pointer on a widget near its head and let it tell so."""
    spot = QPoint(20, 8)
    at = widget.mapToGlobal(spot)
    QCursor.setPos(at)
    widget.setAttribute(Qt.WidgetAttribute.WA_UnderMouse)
    local = QPointF(spot)
    QApplication.sendEvent(widget, QEnterEvent(local, local, QPointF(at)))


def test_scrolling_lights_the_card_that_comes_under_the_pointer(open_window, hand) -> None:
    window = open_window(size=(1480, 700))
    hand(window).wait_for_remedies()
    findings, picture = window.findings, window.board.picture
    first, second = findings.cards[:2]
    bar = findings._scroll.verticalScrollBar()
    bar.setValue(0)
    QTest.qWait(20)
    assert bar.maximum() > 0
    enter(first)
    assert picture._lit == 0
    bar.setValue(second.y() - first.y())
    QTest.qWait(50)
    assert second.underMouse()
    assert picture._lit == 1
    assert not first.underMouse()


def test_scrolling_ends_the_preview_of_a_change_that_goes_off(open_window, hand) -> None:
    window = open_window(size=(1480, 700))
    me = hand(window)
    me.wait_for_remedies()
    button = next(b for b in window.findings.findChildren(OfferButton) if b.isVisible())
    window.findings._scroll.ensureWidgetVisible(button)
    QTest.qWait(20)
    enter(button)
    me.qtbot.waitUntil(lambda: window.session.previewing, timeout=5_000)
    bar = window.findings._scroll.verticalScrollBar()
    bar.setValue(bar.maximum() if bar.value() < bar.maximum() / 2 else 0)
    QTest.qWait(50)
    assert not button.underMouse()
    assert not window.session.previewing


def test_a_move_right_off_what_scrolling_brought_under_the_pointer_ends_its_preview(
    open_window, hand
) -> None:
    # Qt does not know of a pointer that the scrolling has brought to a change, so it tells the
    # change nothing when the next move goes to the board at once. What is put under a pointer that
    # stands still waits for a move, so that stands elsewhere first.
    QCursor.setPos(0, 0)
    window = open_window(size=(1480, 700))
    me = hand(window)
    me.wait_for_remedies()
    scroll = window.findings._scroll
    bar = scroll.verticalScrollBar()
    button = next(b for b in window.findings.findChildren(OfferButton) if b.isVisible())
    scroll.ensureWidgetVisible(button)
    QTest.qWait(20)
    there, aside = bar.value(), bar.value() - 60 if bar.value() >= 60 else bar.value() + 60
    assert aside <= bar.maximum()
    at = button.mapToGlobal(QPoint(20, 8))
    bar.setValue(aside)
    QCursor.setPos(at)
    QTest.qWait(50)
    assert not button.in_use
    bar.setValue(there)
    me.qtbot.waitUntil(lambda: window.session.previewing, timeout=5_000)
    assert button.in_use
    QCursor.setPos(window.board.mapToGlobal(window.board.rect().center()))
    me.qtbot.waitUntil(lambda: not button.in_use, timeout=2_000)
    assert not window.session.previewing
