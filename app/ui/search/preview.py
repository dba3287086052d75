"""Shows what a search offers on the board, marked as a preview; the layout stays as it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel

from app.ui.board.view import BoardView
from app.ui.session import Session
from app.ui.widgets import set_property
from geometry.layout import Layout

WAIT_MS = 70
"""A pointer that only passes over a row does not draw it."""

LEAST_PX, AWAY_PX = 28, 3
"""The least height of the bar, and how far it keeps from what is drawn."""


class PreviewMark(QFrame):
    """A bar over the board that says that what is drawn is a preview.

    It lies in the gap between the rows of views, where it covers nothing of them, their titles and
    dimensions; where the gap is out of sight or too narrow it lies at the foot.
    """

    def __init__(self, over: BoardView) -> None:
        super().__init__(over)
        self._board = over
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
        over.window_changed.connect(self._follow)
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
        if watched is self.parent() and event.type() is QEvent.Type.Resize:
            self._follow()
        return super().eventFilter(watched, event)

    def _follow(self) -> None:
        if self.isVisible():
            self._place()

    def _place(self) -> None:
        wide, foot = self._board.width(), self._board.height()
        high = max(self.heightForWidth(wide), LEAST_PX)
        top, end = self._gap_px()
        at = top if top >= 0 and top + high <= min(end, foot) else foot - high
        self.setGeometry(0, at, wide, high)
        self.raise_()

    def _gap_px(self) -> tuple[int, int]:
        """Return from where to where nothing is drawn between the rows of views."""
        views = self._board.picture.frame.views
        lower = max(views, key=lambda view: view.rect[1])
        above = [view.rect[3] for view in views if view.rect[3] <= lower.rect[1]]
        title = self._board.picture.items.rect(f"title:{lower.name}")
        end = title.top() if title is not None else lower.rect[1]
        top = max(above, default=end)
        place = self._board.mapFromScene
        return place(0.0, top).y() + AWAY_PX, place(0.0, end).y() - AWAY_PX


@dataclass(frozen=True, eq=False)
class Offer:
    """A layout that can be looked at: what is said of it, and how the one at hand becomes it."""

    key: object
    text: str
    layout: Callable[[Layout], Layout]


class RowPreview(QObject):
    """Shows at most one offer at a time; `changed` tells that another one, or none, is shown."""

    changed = Signal()

    def __init__(self, session: Session, over: BoardView, parent: QObject | None = None) -> None:
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
