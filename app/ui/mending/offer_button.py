"""A change that is offered, as a button whose text may take several lines."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPoint, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QEnterEvent, QFocusEvent, QHideEvent, QMouseEvent
from PySide6.QtWidgets import QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app.ui.mending.offers import Offer, Say
from app.ui.widgets import set_property, wrapping

PREVIEW_MS = 150
"""The pointer rests so long on a button before its change is shown on the board."""

CUT_WORDS = "Cuts the enclosure"
OFFER_TIP = "Tried on a copy and checked again; click to apply, Undo to revert"
"""Said of all changes at their title: a tip of each would lie over the next one."""


class OfferButton(QPushButton):
    """`hovered` carries the offer while the pointer or the keyboard rests on it, then None."""

    hovered = Signal(object)
    taken = Signal(object)

    def __init__(self, offer: Offer, say: Say = str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("offer")
        self.offer = offer
        self._cut = QLabel(CUT_WORDS)
        set_property(self._cut, "verdict", "blocked")
        self.label = wrapping()
        self._column = column = QVBoxLayout(self)
        column.setContentsMargins(9, 4, 9, 4)
        column.setSpacing(1)
        for label in (self._cut, self.label):
            label.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
            column.addWidget(label)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self._rest = QTimer(self, singleShot=True, interval=PREVIEW_MS)
        self._rest.timeout.connect(lambda: self._tell(showing=True))
        self._showing = False
        self.still_at: QPoint | None = None
        """While the pointer is still here, it has not come to the button: the button came to it."""
        self.setMouseTracking(True)
        self.clicked.connect(lambda: self.taken.emit(self.offer))
        self.show_offer(offer, say)

    def show_offer(self, offer: Offer, say: Say = str) -> None:
        """Offer another change, in the words that `say` gives it."""
        self.offer = offer
        text = say(offer.text)
        self.label.setText(text)
        self._cut.setVisible(offer.cuts)
        self.setAccessibleName(f"{CUT_WORDS}. {text}" if offer.cuts else text)
        self.setAccessibleDescription(OFFER_TIP)

    @property
    def in_use(self) -> bool:
        """Whether the pointer is on it, or its change is on show."""
        return self._showing or self._rest.isActive()

    def enterEvent(self, event: QEnterEvent) -> None:
        """Show the change on the board once the pointer rests."""
        self._come_to(event.globalPosition().toPoint())
        super().enterEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Show the change too when a list has put it under a pointer that now moves."""
        if not self.in_use:
            self._come_to(event.globalPosition().toPoint())
        super().mouseMoveEvent(event)

    def _come_to(self, at: QPoint) -> None:
        if at != self.still_at:
            self.still_at = None
            self._rest.start()

    def leaveEvent(self, event: QEvent) -> None:
        """Show the document again."""
        self._tell(showing=False)
        super().leaveEvent(event)

    def hideEvent(self, event: QHideEvent) -> None:
        """Show the document again: under a pointer that stands still no leave need follow."""
        self._tell(showing=False)
        super().hideEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the change when it is reached with the keyboard as well."""
        if event.reason() in (Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason):
            self._rest.start()
        super().focusInEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show the document again."""
        self._tell(showing=False)
        super().focusOutEvent(event)

    def _tell(self, *, showing: bool) -> None:
        self._rest.stop()
        if showing != self._showing:
            self._showing = showing
            self.hovered.emit(self.offer if showing else None)

    def sizeHint(self) -> QSize:
        """Return the size that the text wants."""
        return self._column.sizeHint()

    def minimumSizeHint(self) -> QSize:
        """Return a width under which the text would no longer be read."""
        return QSize(80, self._column.minimumSize().height())

    def hasHeightForWidth(self) -> bool:
        """Say that a narrower button is a higher one."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height that the text takes at a width."""
        return self._column.heightForWidth(width)
