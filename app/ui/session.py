"""What the window shows: the document, what is selected, and a layout that is tried out."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from PySide6.QtCore import QObject, Signal

from app.document.document import Document
from app.ui.live_check import LiveCheck
from app.ui.mending.remedy_search import RemedySearch
from geometry.checks.runner import Checked, check_layout
from geometry.edits import EditError
from geometry.finding import Finding, Verdict
from geometry.layout import Layout, Side, Stack

Edit = Callable[[Layout], Layout]


class ZoneSide(NamedTuple):
    """The zone at hand and the side of its plate."""

    zone: str
    side: Side = "inner"


class Session(QObject):
    """Widgets read from here and ask for edits here; they keep ids, no models.

    `shown_changed`: the layout, its report, or both are others than before (an edit, an undo, a
    drag). `document_changed`: something that concerns the file (name, dirty, history).
    `document_leaving`: another document is about to be edited; `document_replaced`: it is.
    `selection_changed`: another part, obstacle or zone is selected or at hand; of a zone that a
    part on its way comes to, `shown_changed` tells with the rest. `refused`: an edit could not be
    done, and why. `told`: what an edit did beside what it was asked for.
    """

    shown_changed = Signal()
    document_changed = Signal()
    document_leaving = Signal()
    document_replaced = Signal()
    selection_changed = Signal()
    refused = Signal(str)
    told = Signal(str)

    def __init__(
        self, document: Document, parent: QObject | None = None, *, waiting: bool = False
    ) -> None:
        """Show a document; while `waiting`, nothing is worked out behind until `begin`."""
        super().__init__(parent)
        self._document = document
        self._unsubscribe = document.subscribe(self._on_document)
        self._live = LiveCheck(self)
        self._live.answered.connect(self._on_answer)
        self._search = RemedySearch(self)
        self._search.found.connect(self._on_remedies)
        self._search.failed.connect(self._on_no_remedies)
        self._waiting = waiting
        self._settled = check_layout(document.layout, remedies=False, worst_cases=False)
        self._mended = self._left_off = False
        self._trial: Checked | None = None
        self._stale = False
        self._previewing = False
        self._selected: str | None = None
        self._at_hand: ZoneSide | None = None
        self._settle_at_hand()
        self._look_for_remedies()

    # the document

    @property
    def document(self) -> Document:
        """The document being edited."""
        return self._document

    def set_document(self, document: Document) -> None:
        """Edit another document; where its layout cannot be checked, go on with this one."""
        settled = self._quickly_checked(document.layout)
        self.document_leaving.emit()
        self._unsubscribe()
        self._document = document
        self._unsubscribe = document.subscribe(self._on_document)
        self._live.forget()
        self._drop_trial()
        self._selected, self._at_hand = None, None
        self._settle(settled)
        self._settle_at_hand()
        self.selection_changed.emit()
        self.shown_changed.emit()
        self.document_changed.emit()
        self.document_replaced.emit()

    def begin(self) -> None:
        """Let worst cases and remedies be worked out from now on."""
        if self._waiting:
            self._waiting = False
            self._look_for_remedies()

    def close(self) -> None:
        """End what is worked out behind the user; the session is not used after that."""
        self._waiting = False
        self._unsubscribe()
        self._live.close()
        self._search.close()

    def apply(self, name: str, edit: Edit, merge_key: str | None = None) -> bool:
        """Do one edit as one step; False when it is refused (`refused` says why).

        Edits in a row with the same `merge_key` become one step.
        """
        try:
            self._document.apply(name, edit, merge_key)
        except EditError as error:
            self.refused.emit(sentence(str(error)))
            return False
        return True

    def undo(self) -> None:
        """Take the last edit back."""
        self._document.undo()

    def redo(self) -> None:
        """Do the edit again that was taken back."""
        self._document.redo()

    # what is shown

    @property
    def checked(self) -> Checked:
        """The scene and the report on show: of a layout that is tried out, or the document's."""
        return self._trial if self._trial is not None else self._settled

    @property
    def settled(self) -> Checked:
        """The document's own scene and report, whatever is tried out at the moment.

        Remedies are looked for behind the user; `looking` tells whether they are still to come.
        """
        return self._settled

    @property
    def edited(self) -> Checked:
        """What panels show and edits build on: the document's own while an offer is previewed."""
        return self._settled if self._previewing else self.checked

    @property
    def looking(self) -> bool:
        """Whether remedies are looked for."""
        return not self._mended

    @property
    def layout(self) -> Layout:
        """The layout on show."""
        return self.checked.scene.layout

    @property
    def trying(self) -> bool:
        """Whether a layout is tried out, as while a part is dragged."""
        return self._trial is not None

    @property
    def previewing(self) -> bool:
        """Whether what is tried out is an offer of a list that is looked at, not a gesture."""
        return self._previewing

    @property
    def as_drawn(self) -> bool:
        """Whether the verdicts on show leave out worst cases by which the layout is judged."""
        return (self.trying or self._left_off) and self.layout.settings.judge == "worst case"

    @property
    def stale(self) -> bool:
        """Whether the report on show is of an earlier layout than the scene."""
        return self._stale

    @property
    def balloons(self) -> tuple[Finding, ...]:
        """The blocked and tight findings, in the order of their numbers."""
        found = self.checked.report.findings
        return tuple(f for f in found if f.verdict is not Verdict.CLEAR)

    def try_layout(self, layout: Layout, on_its_way: str | None = None) -> None:
        """Show a layout and check it; nothing of it is kept until `apply`.

        The part that is on its way in it, if any, is selected.
        """
        self._search.stop()
        self._previewing = False
        quick = self._live.ask(layout, self._settled)
        self._trial, self._stale = quick, not self._live.up_to_date
        chosen = on_its_way is not None and self._choose(on_its_way)[0]
        self.shown_changed.emit()
        if chosen:
            self.selection_changed.emit()

    def end_trial(self) -> None:
        """Show the document again."""
        self._live.forget()
        if self._trial is not None:
            stopped = not self._previewing
            self._drop_trial()
            if stopped:
                self._look_for_remedies()
            self.shown_changed.emit()

    def preview(self, layout: Layout) -> None:
        """Show an offered layout on the board until `end_preview`, an edit, or another preview.

        The list that offers it keeps showing what belongs to the document.
        """
        if self._trial is not None and not self._previewing:
            return
        quick = self._live.ask(layout, self._settled)
        self._trial, self._stale = quick, not self._live.up_to_date
        self._previewing = True
        self.shown_changed.emit()

    def end_preview(self) -> None:
        """Show the document again where an offer is shown; a gesture goes on undisturbed."""
        if self._previewing:
            self.end_trial()

    def _drop_trial(self) -> None:
        self._trial, self._stale, self._previewing = None, False, False

    def _quickly_checked(self, layout: Layout) -> Checked:
        """Check a layout, so much that it can be shown; worst cases and remedies come later."""
        return check_layout(layout, self._settled, remedies=False, worst_cases=False)

    def _settle(self, settled: Checked) -> None:
        self._settled = settled
        self._mended = self._left_off = False
        self._look_for_remedies()

    def _look_for_remedies(self) -> None:
        if not (self._waiting or self._mended) and self._trial is None:
            self._search.start(self._settled)

    def _on_remedies(self, checked: Checked) -> None:
        if checked.scene is self._settled.scene:
            self._settled, self._mended = checked, True
            self.shown_changed.emit()

    def _on_no_remedies(self) -> None:
        """Leave it at what is known; the fault that ended the search is told by itself."""
        self._mended = self._left_off = True
        self.shown_changed.emit()

    def _on_answer(self, checked: Checked) -> None:
        if self._trial is None:
            return
        self._trial = Checked(self._trial.scene, checked.report)
        self._stale = not self._live.up_to_date
        if not self._stale:
            self._trial = checked
        self.shown_changed.emit()

    def _on_document(self) -> None:
        if self._previewing:
            self._live.forget()
            self._drop_trial()
        if self._document.layout is not self._settled.scene.layout:
            self._settle(self._quickly_checked(self._document.layout))
        if self._selected is not None and not self._known(self._selected):
            self._selected = None
            self.selection_changed.emit()
        self._settle_at_hand()
        self.shown_changed.emit()
        self.document_changed.emit()

    # what is selected

    @property
    def selected(self) -> str | None:
        """The id of the selected part, obstacle or zone."""
        return self._selected

    @property
    def selected_part(self) -> str | None:
        """The id of the selected placed part; None when something else or nothing is selected."""
        if self._selected is not None and self._selected in self.edited.scene.placed:
            return self._selected
        return None

    def select(self, thing: str | None) -> None:
        """Select by id; None, or what is not there, selects nothing.

        The zone at hand follows a stacked part.
        """
        if any(self._choose(thing)):
            self.selection_changed.emit()

    def _choose(self, thing: str | None) -> tuple[bool, bool]:
        """Select by id; return whether another thing is selected, another zone at hand."""
        placed = self.checked.scene.placed.get(thing or "")
        if thing is not None and placed is None and not self._known(thing):
            thing = None
        another, another_zone = thing != self._selected, False
        self._selected = thing
        if placed is not None and placed.frame is not None and placed.side is not None:
            another_zone = self._take(ZoneSide(placed.frame.zone.id, placed.side))
        elif thing in self._zone_ids():
            another_zone = self._take(ZoneSide(thing, self._first_side(thing)))
        return another, another_zone

    @property
    def at_hand(self) -> ZoneSide | None:
        """The zone that the stack panel shows; None when the enclosure has none."""
        return self._at_hand

    @property
    def stack_at_hand(self) -> Stack | None:
        """The stack on the zone at hand; None when the zone is empty."""
        if self._at_hand is None:
            return None
        zone = self._at_hand.zone
        stacks = self.edited.scene.layout.stacks
        return next((stack for stack in stacks if stack.zone == zone), None)

    def take_zone(self, zone: str, side: Side | None = None) -> None:
        """Bring a zone to hand."""
        if self._take(ZoneSide(zone, side or self._first_side(zone))):
            self.selection_changed.emit()

    def _take(self, wanted: ZoneSide) -> bool:
        changed = wanted != self._at_hand
        self._at_hand = wanted
        return changed

    def _first_side(self, zone_id: str | None) -> Side:
        zone = next((z for z in self.layout.enclosure.zones if z.id == zone_id), None)
        return "outer" if zone is not None and zone.inner is None else "inner"

    def _zone_ids(self) -> tuple[str, ...]:
        return tuple(zone.id for zone in self.layout.enclosure.zones)

    def _known(self, thing: str) -> bool:
        layout = self._document.layout
        obstacles = (obstacle.id for obstacle in layout.enclosure.obstacles)
        return (
            thing in self._settled.scene.placed or thing in obstacles or thing in self._zone_ids()
        )

    def _settle_at_hand(self) -> None:
        """Keep the zone at hand one that is there; prefer one with a stack."""
        zones = self._zone_ids()
        if self._at_hand is not None and self._at_hand.zone in zones:
            return
        stacked = [stack.zone for stack in self.layout.stacks if stack.zone in zones]
        wanted = (*stacked, *zones)
        self._at_hand = ZoneSide(wanted[0], self._first_side(wanted[0])) if wanted else None


def sentence(text: str) -> str:
    """Return a message that begins with a capital and ends with a full stop."""
    text = text.strip()
    text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "!", "?")) else text + "."
