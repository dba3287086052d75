"""The commands that mend: search for the smallest change, show one on the board, apply it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal

from app.ui.board.in_sight import keep_in_sight
from app.ui.board.view import BoardView
from app.ui.mending.offers import Goal, Mended, Offer
from app.ui.mending.search import MendSearch
from app.ui.panels.findings_panel import FindingsPanel
from app.ui.session import Session
from catalog.parts import Part
from geometry.checks.runner import Checked

if TYPE_CHECKING:
    from app.ui.search.preview import PreviewMark


class MendCommands(QObject):
    """Joins the list of findings, the search behind it and the session.

    `changed`: there is more to show of what would mend the document's findings.
    """

    changed = Signal()

    def __init__(
        self,
        session: Session,
        parts: Sequence[Part],
        findings: FindingsPanel,
        board: BoardView,
        parent: QObject,
    ) -> None:
        super().__init__(parent)
        self._session, self._board, self._findings = session, board, findings
        self._mark: PreviewMark | None = None
        self._marked: Offer | None = None
        """The offer that the mark tells of."""
        self._search = MendSearch(session, parts, self)
        self._search.changed.connect(self.changed)
        findings.mend_wanted.connect(self.search)
        findings.stop_wanted.connect(self._search.stop)
        findings.cutting_changed.connect(self._search.set_cutting)
        findings.offer_taken.connect(self.apply)
        findings.previewed.connect(self._preview)
        session.shown_changed.connect(self._follow)

    @property
    def searching(self) -> bool:
        """Whether a search is under way."""
        return self._search.running

    def found_for(self, checked: Checked) -> Mended:
        """Return what searches have found for a layout: something for the document's only."""
        if checked is self._session.settled:
            return self._search.found
        return Mended(checked.scene.layout)

    def search(self, goal: Goal) -> None:
        """Look for the smallest changes that clear one fault, or all (None)."""
        self._search.start(goal)

    def apply(self, offer: Offer) -> None:
        """Apply an offered change as one edit, with the name that it was offered by."""
        name = self._findings.say(offer.name)
        self._session.end_preview()
        self._end_mark()
        # The button will be gone, and the field that came next would take the key for undo.
        self._board.setFocus(Qt.FocusReason.OtherFocusReason)
        before = self._session.checked.scene
        if self._session.apply(name, lambda _: offer.layout):
            keep_in_sight(self._board, before, self._session.checked.scene)

    def close(self) -> None:
        """End what is searched behind the user."""
        self._search.close()

    def _preview(self, offer: Offer | None) -> None:
        if offer is None:
            self._session.end_preview()
            self._end_mark()
            return
        self._session.preview(offer.layout)
        if self._session.previewing:
            self._show_mark(offer)

    def _show_mark(self, offer: Offer) -> None:
        if self._mark is None:
            # Loaded here: it brings all of the search with it, which the start need not wait for.
            from app.ui.search.preview import PreviewMark

            self._mark = PreviewMark(self._board)
        caution = " Cutting is irreversible." if offer.cuts else ""
        name = self._findings.say(offer.name)
        self._marked = offer
        self._mark.tell(f"{name}.{caution} Nothing is changed yet; click to apply.")

    def _follow(self) -> None:
        """Take the mark away when its offer is on the board no more, whoever has ended it."""
        marked, session = self._marked, self._session
        if marked and not (session.previewing and session.layout is marked.layout):
            self._end_mark()

    def _end_mark(self) -> None:
        self._marked = None
        if self._mark is not None:
            self._mark.hide()
