"""The list of findings: what is blocked or tight, by how much, and what would mend it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QVBoxLayout,
    QWidget,
)

from app.document.own_texts import texts_with_lengths
from app.ui.mending.list import FIND_ALL, MendList
from app.ui.mending.offers import Goal, Mended, Offer, Say, all_title, offers
from app.ui.panels.finding_card import FindingCard
from app.ui.panels.under_pointer import follow_scrolling
from app.ui.skin import Skin
from app.ui.tick_box import TickBox
from app.ui.units import Unit, in_unit
from app.ui.widgets import AS_NOW, AS_NOW_TIP, heading, muted, scrolled, set_property, wrapping
from geometry.finding import Finding, NotRun, Report, Verdict
from geometry.layout import Layout
from geometry.remedies import fault_key


class FindingsPanel(QWidget):
    """Blocked findings first, then tight ones, numbered as the balloons on the board.

    `offer_taken`: the change that is to be applied. `previewed`: the one to show on the board, or
    None. `mend_wanted`: what a search shall mend (None: all of it); `stop_wanted` ends it.
    """

    chosen = Signal(int)
    hovered = Signal(object)
    offer_taken = Signal(object)
    previewed = Signal(object)
    mend_wanted = Signal(object)
    stop_wanted = Signal()
    cutting_changed = Signal(bool)

    def __init__(self, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._skin = skin
        self._current: int | None = None
        self._keys: list[tuple[str, tuple[str, ...]]] = []
        self._current_key: tuple[str, tuple[str, ...]] | None = None
        self.say: Say = str
        """How sentences of findings are told: with lengths in the unit chosen."""
        self._cards: list[FindingCard] = []
        self._used = 0
        self._counts = QLabel()
        self._counts.setObjectName("muted")
        title = QHBoxLayout()
        title.setContentsMargins(12, 8, 12, 4)
        title.addWidget(heading("Findings"))
        title.addStretch(1)
        title.addWidget(self._counts)
        self.no_cutting = TickBox("No cutting")
        self.no_cutting.setChecked(True)
        self.no_cutting.setToolTip(
            "On: the enclosure stays as it is. Off: cuts in its obstacles are looked for as well, "
            "and marked; cutting is irreversible.\nThe same setting as in the panel of what fits"
        )
        self.no_cutting.toggled.connect(lambda on: self.cutting_changed.emit(not on))
        switch = QHBoxLayout()
        switch.setContentsMargins(12, 0, 12, 4)
        switch.addWidget(self.no_cutting)
        switch.addStretch(1)
        # Beside what is there already: a line that came and went would move what is pointed at.
        self.as_now = QLabel(AS_NOW)
        self.as_now.setObjectName("muted")
        self.as_now.setToolTip(AS_NOW_TIP)
        self.as_now.hide()
        switch.addWidget(self.as_now)
        self.all_mends = MendList(all_title((), 0, done=False), FIND_ALL)
        self._all_card = QFrame()
        self._all_card.setObjectName("plain")
        all_column = QVBoxLayout(self._all_card)
        all_column.setContentsMargins(9, 7, 9, 8)
        all_column.addWidget(self.all_mends)
        self._connect_mends(self.all_mends, lambda: None)
        self._base: Layout | None = None
        self._empty = wrapping()
        self._empty.setObjectName("empty")
        self._not_run_title = QLabel()
        self._not_run_title.setObjectName("group")
        self._not_run = muted()
        body = QWidget()
        body.setObjectName("scrolled")
        self._column = QVBoxLayout(body)
        self._column.setContentsMargins(10, 2, 10, 10)
        self._column.setSpacing(6)
        self._looking = muted("Checking worst cases and looking for changes…")
        for widget in (self._empty, self._all_card, self._looking, self._not_run_title):
            self._column.addWidget(widget)
        self._column.addWidget(self._not_run)
        self._column.addStretch(1)
        self._scroll = scrolled(body)
        follow_scrolling(self._scroll, body)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(title)
        column.addLayout(switch)
        column.addWidget(self._scroll, 1)

    @property
    def cards(self) -> tuple[FindingCard, ...]:
        """The cards in use, in the order of their numbers."""
        return tuple(self._cards[: self._used])

    def show_report(
        self,
        report: Report,
        placed: int,
        mended: Mended,
        *,
        stale: bool,
        looking: bool,
        previewing: bool,
    ) -> None:
        """Show what the checks said of so many placed parts, and what would mend it.

        `stale` tells that a newer layout is being checked, `looking` that remedies are looked for,
        `previewing` that the board shows another layout.
        """
        unit = self._skin.unit
        self.say = self._saying(report, mended)
        listed = [f for f in report.findings if f.verdict is not Verdict.CLEAR]
        while len(self._cards) < len(listed):
            self._add_card()
        for card, finding in zip(self._cards, listed, strict=False):
            card.show_finding(finding, unit, self.say)
            card.show()
        for card in self._cards[len(listed) :]:
            card.hide()
        self._used = len(listed)
        self.as_now.setVisible(previewing)
        self._show_mends(listed, mended, ready=not (looking or stale))
        counts = f"{report.blocked} blocked   {report.tight} tight"
        self._counts.setText("checking…" if stale else counts)
        self._empty.setVisible(not listed)
        self._looking.setVisible(looking and placed > 0)
        self._empty.setText(
            "Nothing is blocked or tight. Checks that were not run are listed below."
            if placed and report.not_run
            else "Nothing is blocked or tight."
            if placed
            else "Nothing is placed yet. Drag a part from the list on the left over the board, "
            "or choose one there and press Enter."
        )
        self._show_not_run(report.not_run)
        self._follow_current(listed)

    def _saying(self, report: Report, mended: Mended) -> Say:
        """Return how sentences are told: lengths in the unit chosen, names as they are.

        A change that is offered may name a part that only its own layout has.
        """
        unit = self._skin.unit
        if unit is Unit.MM:
            return str
        remedies = (remedy.layout for one in report.findings for remedy in one.remedies)
        mends = (mend.layout for state in mended.states.values() for mend in state.found)
        own = [] if report.survey is None else [report.survey.scene.layout]
        kept = texts_with_lengths([*own, mended.base, *remedies, *mends])
        return lambda text: in_unit(text, unit, kept)

    def _show_mends(self, listed: Sequence[Finding], mended: Mended, *, ready: bool) -> None:
        fresh, self._base = mended.base is not self._base, mended.base
        for card, finding in zip(self._cards, listed, strict=False):
            goal = fault_key(finding)
            state = mended.states.get(goal)
            found = () if state is None else state.found
            offered = offers(mended.base, finding.remedies, found, len(listed))
            card.mends.say = self.say
            card.show_mends(goal, offered, state, ready=ready, fresh=fresh)
        state = mended.states.get(None)
        found = () if state is None else state.found
        offered = offers(mended.base, (), found, len(listed))
        done = state is not None and not state.running and not state.stopped
        self.all_mends.title.setText(all_title(found, len(listed), done=done))
        self.all_mends.say = self.say
        self.all_mends.show_mends(offered, state, ready=ready, fresh=fresh)
        self._all_card.setVisible(len(listed) > 1)
        set_property(self._all_card, "full", "true" if state is not None else "false")
        self.no_cutting.setVisible(bool(listed))

    def tell_stale(self) -> None:
        """Say at once that what is listed is of an earlier layout; the list follows at its pace."""
        self._counts.setText("checking…")

    def _follow_current(self, listed: Sequence[Finding]) -> None:
        """Keep the mark on the same finding when its number is another; drop it when it is gone."""
        keys = [(finding.kind, finding.ids) for finding in listed]
        self._keys = keys
        if self._current is None:
            return
        now = keys.index(self._current_key) if self._current_key in keys else None
        if now != self._current:
            self._mark(now)
            self.hovered.emit(None)

    def set_current(self, index: int | None) -> None:
        """Mark the finding that is shown on the board, and bring its card into sight."""
        self._mark(index)
        if index is not None and index < self._used:
            self._scroll.ensureWidgetVisible(self._cards[index], 0, 20)

    def _mark(self, index: int | None) -> None:
        self._current = index
        self._current_key = None if index is None else self._keys[index]
        for number, card in enumerate(self._cards):
            card.set_current(number == index)

    def _add_card(self) -> None:
        card = FindingCard(len(self._cards), self._skin)
        card.chosen.connect(self.chosen)
        card.hovered.connect(self.hovered)
        card.step_wanted.connect(self._step)
        self._connect_mends(card.mends, lambda: card.goal)
        self._column.insertWidget(len(self._cards) + 2, card)
        self._cards.append(card)

    def _connect_mends(self, mends: MendList, goal: Callable[[], Goal]) -> None:
        mends.taken.connect(self.offer_taken)
        mends.previewed.connect(self._on_previewed)
        mends.search_wanted.connect(lambda: self.mend_wanted.emit(goal()))
        mends.stop_wanted.connect(self.stop_wanted)
        mends.ended.connect(lambda heir: QTimer.singleShot(0, self, lambda: self._show_up(heir)))

    def _show_up(self, widget: QWidget) -> None:
        """Bring a widget into sight, once the list has the heights of all that is new in it."""
        if widget.hasFocus():
            self._scroll.ensureWidgetVisible(widget, 0, 20)

    def _on_previewed(self, offer: Offer | None) -> None:
        """Light no finding while a change is on show: its findings have other numbers."""
        if offer is not None:
            self.hovered.emit(None)
        self.previewed.emit(offer)
        if offer is None:
            under = next((k for k, card in enumerate(self.cards) if card.underMouse()), None)
            self.hovered.emit(under)

    def _step(self, index: int, step: int) -> None:
        wanted = index + step
        if 0 <= wanted < self._used:
            self._cards[wanted].setFocus(Qt.FocusReason.TabFocusReason)
            self._scroll.ensureWidgetVisible(self._cards[wanted], 0, 20)

    def _show_not_run(self, not_run: Sequence[NotRun]) -> None:
        self._not_run_title.setVisible(bool(not_run))
        self._not_run.setVisible(bool(not_run))
        self._not_run_title.setText(f"Not run ({len(not_run)})")
        lines = [
            f"{', '.join(one.ids)}: {one.reason}" if one.ids else one.reason for one in not_run
        ]
        self._not_run.setText(self.say("\n".join(lines)))
