"""What is under a pointer that rests while a list is scrolled beneath it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, Qt, QTimer
from PySide6.QtGui import QCursor, QEnterEvent
from PySide6.QtWidgets import QApplication, QScrollArea, QWidget


def follow_scrolling(scroll: QScrollArea, body: QWidget) -> None:
    """Tell the widgets in a body that is scrolled that the pointer left them, or came to them.

    Qt tells it with the next move of the pointer only. Under an open menu nothing is pointed at.
    """
    soon = QTimer(scroll, singleShot=True, interval=0)
    soon.timeout.connect(lambda: _tell(scroll.viewport(), body))
    scroll.verticalScrollBar().valueChanged.connect(lambda _: soon.start())


def _tell(port: QWidget, body: QWidget) -> None:
    at = QCursor.pos()
    under: list[QWidget] = []
    one = None if QApplication.activePopupWidget() else port.childAt(port.mapFromGlobal(at))
    while one is not None and body.isAncestorOf(one):
        under.insert(0, one)
        one = one.parentWidget()
    for widget in body.findChildren(QWidget):
        if widget.underMouse() and widget not in under:
            widget.setAttribute(Qt.WidgetAttribute.WA_UnderMouse, False)
            QApplication.sendEvent(widget, QEvent(QEvent.Type.Leave))
    for widget in under:
        if not widget.underMouse():
            local, window = widget.mapFromGlobal(at), widget.window().mapFromGlobal(at)
            widget.setAttribute(Qt.WidgetAttribute.WA_UnderMouse)
            entered = QEnterEvent(QPointF(local), QPointF(window), QPointF(at))
            QApplication.sendEvent(widget, entered)
