"""Shows what a search offers on the board, marked as a preview; the layout stays as it is."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtWidgets import QBoxLayout, QFrame, QLabel

from app.drawing.frame import ViewFrame
from app.drawing.primitives import Bounds
from app.ui.board.view import BoardView
from app.ui.cut_label import CutLabel
from app.ui.session import Session
from app.ui.widgets import set_property
from geometry.layout import Layout

WAIT_MS = 70
"""A pointer that only passes over a row does not draw it."""

LEAST_PX, AWAY_PX = 28, 3
"""The least height of the bar, and how far it keeps from what is drawn."""

LEAST_WIDE_PX, MOST_WIDE_PX = 210, 360
"""Between these is its width where it stands beside the views."""

NARROW_PX, BESIDE_SHARE = 120, 0.35
"""So narrow it may be beside the views where nothing else is free, and such a share of the board's
height its words take there at most; all of it no more than half."""

LOW_BOARD_PX, LOW_SHARE = 220, 0.2
"""On a lower board, or where they would hide what is drawn, the words take this share of its height
at most, or one line."""

KEPT = ("title", "overall")
"""What is written of each view that the bar keeps clear of, by the keys on the board."""

ACROSS, UPRIGHT = QBoxLayout.Direction.LeftToRight, QBoxLayout.Direction.TopToBottom


class PreviewMark(QFrame):
    """A bar over the board that says that what is drawn is a preview.

    It lies where it hides least of the views, their titles and overall dimensions: in the gap
    between the rows of views, at the foot, at the head, or in a corner at the foot beside them.
    """

    def __init__(self, over: BoardView) -> None:
        super().__init__(over)
        self._board = over
        self.setObjectName("preview")
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        word = self._word = QLabel("PREVIEW")
        word.setObjectName("noticeWord")
        self.text = CutLabel()
        self._row = QBoxLayout(ACROSS, self)
        self._row.setContentsMargins(12, 6, 12, 6)
        self._row.addWidget(word, 0, Qt.AlignmentFlag.AlignTop)
        self._row.addWidget(self.text, 1)
        self.setAutoFillBackground(True)
        over.installEventFilter(self)
        over.window_changed.connect(self.follow)
        self.hide()

    def tell(self, text: str) -> None:
        """Show it."""
        self.text.say(text)
        self.setAccessibleName(f"Preview: {text}")
        set_property(self, "shown", "true")
        self._place()
        self.show()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep the width of the board."""
        if watched is self.parent() and event.type() is QEvent.Type.Resize:
            self.follow()
        return super().eventFilter(watched, event)

    def follow(self) -> None:
        """Take another place where the board has come to show something else."""
        if self.isVisible():
            self._place()

    def _place(self) -> None:
        views = [self._on_board(QRectF(*_sides(view.rect))) for view in self._views]
        kept = [*views, *self._rects(f"{key}:{view.name}" for key in KEPT for view in self._views)]

        def hidden(place: tuple[QBoxLayout.Direction, QRect]) -> int:
            return hidden_px2(place[1], kept)

        self._cut(low=self._board.height() < LOW_BOARD_PX)
        way, at = min(self._places(views), key=hidden)
        if hidden((way, at)):
            way, at = min((*self._beside(views), *self._places_cut(views)), key=hidden)
            self._cut_for(way, at)
        self._turn(way)
        self.setGeometry(at)
        self.raise_()

    def _cut(self, *, low: bool) -> None:
        """Say less on a low board, so that what is previewed is seen."""
        wide, high = self._board.width(), self._board.height()
        if not low:
            self.text.say(self.text.whole)
            return
        sides = self._row.contentsMargins()
        taken = sides.left() + sides.right() + self._word.sizeHint().width() + 10
        self.text.cut_to(wide - taken, round(LOW_SHARE * high))

    def _places_cut(self, views: Sequence[QRect]) -> list[tuple[QBoxLayout.Direction, QRect]]:
        self._cut(low=True)
        return self._places(views)

    def _beside(self, views: Sequence[QRect]) -> list[tuple[QBoxLayout.Direction, QRect]]:
        """Return the narrow place at the right of the views where there is one."""
        room = self._board.width() - max(one.right() for one in views) - 1 - AWAY_PX
        if room < NARROW_PX:
            return []
        narrow = QRect(0, 0, min(room, MOST_WIDE_PX), 0)
        self._cut_for(UPRIGHT, narrow)
        tall = self._height(narrow.width(), UPRIGHT)
        if 2 * tall >= self._board.height():
            return []
        foot = self._board.rect().bottomRight() - QPoint(narrow.width() - 1, tall - 1)
        return [(UPRIGHT, QRect(foot, QSize(narrow.width(), tall)))]

    def _cut_for(self, way: QBoxLayout.Direction, at: QRect) -> None:
        """Say what has room in a place."""
        if way is ACROSS:
            self._cut(low=True)
            return
        sides = self._row.contentsMargins()
        wide = at.width() - sides.left() - sides.right()
        self.text.cut_to(wide, round(BESIDE_SHARE * self._board.height()))

    def _places(self, views: Sequence[QRect]) -> list[tuple[QBoxLayout.Direction, QRect]]:
        """Return where the bar may lie, the best first where as much is hidden."""
        board = self._board.rect()
        wide, foot = board.width(), board.height()
        high = self._height(wide, ACROSS)
        strips = [QRect(0, top, wide, high) for top in (self._gap_px(views), foot - high, 0)]
        drawn = [*views, *self._rects(self._board.picture.shown_keys())]
        right = wide - max(one.right() for one in drawn) - 1 - AWAY_PX
        left = min(one.left() for one in drawn) - AWAY_PX
        corners = []
        for room, at_right in ((right, True), (left, False)):
            narrow = min(max(room, LEAST_WIDE_PX), MOST_WIDE_PX, wide)
            tall = self._height(narrow, UPRIGHT)
            corners.append(QRect(wide - narrow if at_right else 0, foot - tall, narrow, tall))
        every = [*((ACROSS, one) for one in strips), *((UPRIGHT, one) for one in corners)]
        return [one for one in every if board.contains(one[1])] or [(ACROSS, strips[1])]

    def _height(self, width: int, way: QBoxLayout.Direction) -> int:
        self._turn(way)
        return max(self.heightForWidth(width), LEAST_PX)

    def _turn(self, way: QBoxLayout.Direction) -> None:
        self._row.setDirection(way)
        self._row.setSpacing(10 if way is ACROSS else 2)

    def _gap_px(self, views: Sequence[QRect]) -> int:
        """Return where the gap between the rows of views begins; the head where there is none."""
        lowest = max(one.top() for one in views)
        return max((one.bottom() for one in views if one.bottom() <= lowest), default=0) + AWAY_PX

    @property
    def _views(self) -> Sequence[ViewFrame]:
        return self._board.picture.frame.views

    def _rects(self, keys: Iterable[str]) -> list[QRect]:
        found = map(self._board.picture.rect, keys)
        return [self._on_board(rect) for rect in found if rect is not None]

    def _on_board(self, rect: QRectF) -> QRect:
        return self._board.mapFromScene(rect).boundingRect()


def _sides(rect: Bounds) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = rect
    return x0, y0, x1 - x0, y1 - y0


def hidden_px2(at: QRect, kept: Iterable[QRect]) -> int:
    """Return how much of some rectangles another one hides; what lies in two counts twice."""
    shared = (at.intersected(one) for one in kept)
    return sum(one.width() * one.height() for one in shared if not one.isEmpty())


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
        session.shown_changed.connect(self.mark.follow)
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
        session.preview(offer.layout(session.document.layout))
        self.mark.tell(offer.text)
        self.changed.emit()
