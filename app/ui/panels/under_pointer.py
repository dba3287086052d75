"""What is under a pointer that rests while a list is scrolled beneath it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QPointF, Qt, QTimer
from PySide6.QtGui import QCursor, QEnterEvent
from PySide6.QtWidgets import QApplication, QScrollArea, QWidget


def follow_scrolling(scroll: QScrollArea, body: QWidget) -> None:
    """Tell the widgets in a body that is scrolled that the pointer left them, or came to them.

    Qt tells it with the next move of the pointer only. Under an open menu nothing is pointed at.
    """
    _Follower(scroll, body)


class _Follower(QObject):
    """Looks again after the pointer's next move: Qt does not know what was told in its place.

    A move right off a widget that had come under the pointer by scrolling left it lit for good.
    """

    def __init__(self, scroll: QScrollArea, body: QWidget) -> None:
        super().__init__(scroll)
        self._port, self._body = scroll.viewport(), body
        self._soon = QTimer(self, singleShot=True, interval=0)
        self._soon.timeout.connect(self._look)
        scroll.verticalScrollBar().valueChanged.connect(lambda _: self._soon.start())

    def _look(self) -> None:
        app = QApplication.instance()
        assert app is not None
        if _tell(self._port, self._body):
            app.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Look once more when the pointer has moved."""
        if event.type() in (QEvent.Type.MouseMove, QEvent.Type.Enter, QEvent.Type.Leave):
            app = QApplication.instance()
            assert app is not None
            app.removeEventFilter(self)
            self._soon.start()
        return super().eventFilter(watched, event)


def _tell(port: QWidget, body: QWidget) -> bool:
    """Tell what is no longer under the pointer, and what has come to be; whether anything has."""
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
    come = [widget for widget in under if not widget.underMouse()]
    for widget in come:
        if not widget.underMouse():
            local, window = widget.mapFromGlobal(at), widget.window().mapFromGlobal(at)
            widget.setAttribute(Qt.WidgetAttribute.WA_UnderMouse)
            entered = QEnterEvent(QPointF(local), QPointF(window), QPointF(at))
            QApplication.sendEvent(widget, entered)
    return bool(come)
