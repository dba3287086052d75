"""What would mend a finding, or all of them: one list of changes, each a click away."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QCursor
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.ui.mending.offer_button import OFFER_TIP, OfferButton
from app.ui.mending.offers import MendState, Offer, Say
from app.ui.panels.beside_tip import TipBeside
from app.ui.widgets import group_label, muted, wrapping
from geometry.edits import CUT_CAUTION

MOST_SHOWN = 5
"""So many changes are listed at once; the others are a click away."""

FIND = "Find the smallest change"
FIND_ALL = "Find the smallest change for all"


class MendList(QWidget):
    """`taken`: the offer that is to be applied. `previewed`: the one to show, or None.

    `search_wanted` and `stop_wanted` lead the search behind. `ended`: one that was waited for is
    done, with the widget that has the focus now.
    """

    taken = Signal(object)
    previewed = Signal(object)
    search_wanted = Signal()
    stop_wanted = Signal()
    ended = Signal(object)

    def __init__(
        self,
        title: str = "Changes that clear it",
        find: str = FIND,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.say: Say = str
        """How the changes are told; the panel sets it before it shows them."""
        self._offers: tuple[Offer, ...] = ()
        self._waiting: tuple[Offer, ...] | None = None
        self._all_shown = False
        self._still_at: QPoint | None = None
        """Where the pointer was when what is listed became that of another layout."""
        self._find_text = find
        self.title = group_label(title)
        self.title.setWordWrap(True)
        self.title.setToolTip(OFFER_TIP)
        self._buttons: list[OfferButton] = []
        self._more = QPushButton()
        self._more.setObjectName("quiet")
        self._more.clicked.connect(self._show_more)
        self._caution = wrapping(f"Caution: {CUT_CAUTION}")
        self.note = muted()
        self._find = QPushButton(find)
        self._find.setObjectName("quiet")
        self._find.setToolTip(
            "Try single changes, then pairs: slides, turns, flips, thinner parts, fans on one "
            "face, another order or zone. Every one is checked in full.\nNot tried: other "
            "fittings, plugs and screws, parts added or removed, three changes at once"
        )
        for tipped in (self.title, self._find):
            TipBeside(tipped)
        self._find.clicked.connect(self._on_find)
        self._running = False
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(4)
        foot = QHBoxLayout()
        foot.setContentsMargins(0, 0, 0, 0)
        foot.addWidget(self.note, 1)
        foot.addWidget(self._find, 0, Qt.AlignmentFlag.AlignTop)
        foot.addStretch(0)
        self._foot = foot
        for widget in (self.title, self._more, self._caution):
            self._column.addWidget(widget)
        self._column.addLayout(foot)
        self._show_offers(())

    @property
    def buttons(self) -> tuple[OfferButton, ...]:
        """The changes on show, in their order."""
        return tuple(b for b in self._buttons if not b.isHidden())

    def show_mends(
        self, offers: Sequence[Offer], state: MendState | None, *, ready: bool, fresh: bool
    ) -> None:
        """Show what is offered and how far the search is; `ready` when one may be begun.

        The list stands still while the pointer is on one of its changes, unless it is `fresh`,
        of another finding or layout.
        """
        if fresh:
            self._all_shown = False
            self._still_at = QCursor.pos() if self.isVisible() else None
        elif any(button.in_use for button in self._buttons):
            self._waiting = tuple(offers)
            self._show_state(state, ready=ready)
            return
        self._show_offers(tuple(offers))
        self._show_state(state, ready=ready)

    def _show_state(self, state: MendState | None, *, ready: bool) -> None:
        self._running = state is not None and state.running
        self.note.setText(state.words if state is not None else "")
        self.note.setVisible(state is not None)
        done = state is not None and not state.running and not state.stopped
        if done and self._find.hasFocus():
            self._hand_on_focus()
        self._find.setText("Stop" if self._running else self._find_text)
        self._find.setVisible(not done)
        self._find.setEnabled(self._running or ready)

    def _hand_on_focus(self) -> None:
        """Let the focus go from what is about to vanish to what was found, the first of it.

        Qt would give it to whatever comes next, and scroll there.
        """
        first = next(iter(self.buttons), None)
        heir = first if first is not None else self.parentWidget()
        if heir is not None:
            heir.setFocus(Qt.FocusReason.OtherFocusReason)
            self.ended.emit(heir)

    def _show_offers(self, offers: tuple[Offer, ...]) -> None:
        self._waiting = None
        if offers != self._offers:
            self._offers = offers
        shown = offers if self._all_shown or len(offers) <= MOST_SHOWN + 1 else offers[:MOST_SHOWN]
        while len(self._buttons) < len(shown):
            self._add_button(shown[len(self._buttons)])
        for button, offer in zip(self._buttons, shown, strict=False):
            if button.offer is not offer:
                button.show_offer(offer, self.say)
            button.still_at = self._still_at
            button.show()
        for button in self._buttons[len(shown) :]:
            button.hide()
        hidden = len(offers) - len(shown)
        self._more.setVisible(hidden > 0)
        self._more.setText(f"Show {hidden} more")
        self.title.setVisible(bool(offers))
        self._caution.setVisible(any(offer.cuts for offer in shown))

    def _add_button(self, offer: Offer) -> None:
        button = OfferButton(offer, self.say)
        button.taken.connect(self.taken)
        button.hovered.connect(self._on_hovered)
        self._column.insertWidget(len(self._buttons) + 1, button)
        self._buttons.append(button)

    def _on_hovered(self, offer: Offer | None) -> None:
        self.previewed.emit(offer)
        if offer is None and self._waiting is not None:
            self._show_offers(self._waiting)

    def _on_find(self) -> None:
        if self._running:
            self.stop_wanted.emit()
        else:
            self.search_wanted.emit()

    def _show_more(self) -> None:
        self._all_shown = True
        self._show_offers(self._offers)
