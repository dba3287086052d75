"""Shows what a search offers on the board, marked as a preview; the layout stays as it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QWidget

from app.ui.session import Session
from app.ui.widgets import set_property
from geometry.layout import Layout

WAIT_MS = 70
"""A pointer that only passes over a row does not draw it."""


class PreviewMark(QFrame):
    """A bar over the board that says that what is drawn is a preview."""

    def __init__(self, over: QWidget) -> None:
        super().__init__(over)
        self.setObjectName("preview")
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        word = QLabel("PREVIEW")
        word.setObjectName("noticeWord")
        self._text = QLabel()
        self._text.setWordWrap(True)
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 6, 12, 6)
        row.setSpacing(10)
        row.addWidget(word, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self._text, 1)
        self.setAutoFillBackground(True)
        over.installEventFilter(self)
        self.hide()

    @property
    def text(self) -> str:
        """What it says; empty when it is not shown."""
        return "" if self.isHidden() else self._text.text()

    def tell(self, text: str) -> None:
        """Show it."""
        self._text.setText(text)
        self.setAccessibleName(f"Preview: {text}")
        set_property(self, "shown", "true")
        self._place()
        self.show()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep the width of the board."""
        if watched is self.parent() and event.type() is QEvent.Type.Resize and self.isVisible():
            self._place()
        return super().eventFilter(watched, event)

    def _place(self) -> None:
        over = self.parentWidget()
        if over is not None:
            self.setGeometry(0, 0, over.width(), max(self.heightForWidth(over.width()), 28))
            self.raise_()


@dataclass(frozen=True, eq=False)
class Offer:
    """A layout that can be looked at: what is said of it, and how the one at hand becomes it."""

    key: object
    text: str
    layout: Callable[[Layout], Layout]


class RowPreview(QObject):
    """Shows at most one offer at a time; `changed` tells that another one, or none, is shown."""

    changed = Signal()

    def __init__(self, session: Session, over: QWidget, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.mark = PreviewMark(over)
        self._wanted: Offer | None = None
        self._shown: Offer | None = None
        self._timer = QTimer(self, singleShot=True, interval=WAIT_MS)
        self._timer.timeout.connect(self._show)
        session.document_changed.connect(self.end)

    @property
    def shown(self) -> object | None:
        """The key of the offer on the board; None when the board shows the layout itself."""
        return self._shown.key if self._shown is not None else None

    def want(self, offer: Offer | None) -> None:
        """Show an offer in a moment, or the layout again at once."""
        if offer is None:
            self.end()
            return
        self._wanted = offer
        if self.shown is offer.key:
            self._timer.stop()
        else:
            self._timer.start()

    def end(self) -> None:
        """Put the board back at once."""
        self._timer.stop()
        self._wanted = None
        if self._shown is not None:
            self._shown = None
            self.mark.hide()
            self._session.end_preview()
            self.changed.emit()

    def _show(self) -> None:
        offer, session = self._wanted, self._session
        if offer is None or (session.trying and not session.previewing):
            return
        self._shown = offer
        self.mark.tell(offer.text)
        session.preview(offer.layout(session.document.layout))
        self.changed.emit()
