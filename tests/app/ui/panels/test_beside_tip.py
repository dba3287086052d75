"""Tips of the findings and of the stack's words stand beside the panel, over none of its words."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QPoint
from PySide6.QtGui import QHelpEvent
from PySide6.QtWidgets import QApplication, QLabel, QToolTip, QWidget

from app.ui.mending.offer_button import OFFER_TIP
from app.ui.panels.beside_tip import place_beside

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.window import MainWindow

Open = Callable[..., "MainWindow"]


def tip_at(widget: QWidget) -> QLabel | None:
    """Rest the pointer on a widget; return the tip that is shown, if any."""
    QToolTip.hideText()
    QApplication.processEvents()
    at = widget.rect().center()
    event = QHelpEvent(QEvent.Type.ToolTip, at, widget.mapToGlobal(at))
    QApplication.sendEvent(widget, event)
    shown = (w for w in QApplication.topLevelWidgets() if w.inherits("QTipLabel"))
    return next((w for w in shown if isinstance(w, QLabel) and w.isVisible()), None)


def test_a_tip_ends_left_of_the_words_that_it_is_of(open_window: Open, qtbot: QtBot) -> None:
    window = open_window()
    window.resize(1480, 900)
    window.session.take_zone("front-zone")
    qtbot.waitUntil(lambda: bool(window.findings.cards[0].mends.buttons), timeout=20_000)
    card = window.findings.cards[0]
    for widget in (window.stack._standing, card.margin, card.mends.title):
        tip = tip_at(widget)
        assert tip is not None
        left = window.right.mapToGlobal(QPoint(0, 0)).x()
        assert tip.geometry().right() <= left, widget
        # On a screen that is wide enough it is beside the widget, not far away.
        at = place_beside(widget, tip.text()).x()
        assert left - 50 < at + tip.width() <= left
    QToolTip.hideText()


def test_no_tip_lies_over_the_changes_and_their_title_says_what_was_done(
    open_window: Open, qtbot: QtBot
) -> None:
    window = open_window()
    qtbot.waitUntil(lambda: bool(window.findings.cards[0].mends.buttons), timeout=20_000)
    mends = window.findings.cards[0].mends
    for button in mends.buttons:
        assert button.toolTip() == ""
        assert tip_at(button) is None
        assert button.accessibleDescription() == OFFER_TIP
    assert mends.title.toolTip() == OFFER_TIP
