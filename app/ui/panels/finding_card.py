"""One finding as a card: what is wrong, by how much, and what would mend it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QEnterEvent, QFocusEvent, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QWidget

from app.drawing.verdict_words import short_word
from app.ui.board.balloon import Balloon
from app.ui.mending.list import MendList
from app.ui.mending.offers import Goal, MendState, Offer, Say
from app.ui.panels.beside_tip import TipBeside
from app.ui.panels.tolerance_texts import contributors_tip, tolerance_line
from app.ui.skin import Skin
from app.ui.units import Unit, length_text
from app.ui.widgets import muted, set_property, wrapping
from geometry.finding import Finding, second_to_changes


def figure_words(finding: Finding, unit: Unit) -> str:
    """Return a finding's millimetres: what is shared, missing or left."""
    if finding.measured_mm is None:
        return ""
    if finding.measured_mm < 0:
        told = length_text(-finding.measured_mm, unit)
        return f"overlaps {told}" if finding.overlaps else f"{told} {short_word(finding)}"
    return f"{length_text(finding.measured_mm, unit)} left"


def margin_words(finding: Finding, unit: Unit) -> str:
    """Return what was asked for, how much is missing to it, and the room that is shared."""
    texts = []
    if finding.required_mm and finding.to_margin_mm is not None:
        asked = length_text(finding.required_mm, unit)
        short = finding.to_margin_mm < 0
        missing = f", {length_text(-finding.to_margin_mm, unit)} missing" if short else ""
        texts.append(f"{asked} required{missing}")
    if finding.volume_mm3:
        texts.append(f"{finding.volume_mm3 / 1000:.1f} cm³ shared")
    if finding.tolerance is not None:
        texts.append(tolerance_line(finding.tolerance, unit))
    return "; ".join(texts)


class FindingCard(QFrame):
    """One finding; it takes the focus, Enter goes to it, and `mends` lists what would mend it."""

    chosen = Signal(int)
    hovered = Signal(object)
    step_wanted = Signal(int, int)

    def __init__(self, index: int, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("card")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self._index = index
        self._shown: tuple[Any, ...] = ()
        self._goal: Goal = None
        self._balloon = Balloon(skin)
        self._title = wrapping()
        font = self._title.font()
        font.setBold(True)
        self._title.setFont(font)
        self._word = QLabel()
        self._figure = QLabel()
        self._figure.setFont(font)
        self.margin = wrapping()
        TipBeside(self.margin)
        self._advice = muted()
        self.mends = MendList()
        self._said = ""
        self._changes_first = False
        self._grid = grid = QGridLayout(self)
        grid.setContentsMargins(8, 7, 9, 8)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(3)
        top = Qt.AlignmentFlag.AlignTop
        grid.addWidget(self._balloon, 0, 0, 5, 1, top)
        grid.addWidget(self._word, 0, 1)
        grid.addWidget(self._figure, 0, 2, Qt.AlignmentFlag.AlignRight)
        grid.addWidget(self._title, 1, 1, 1, 2)
        grid.addWidget(self.margin, 2, 1, 1, 2)
        self._place_changes()
        grid.setColumnStretch(1, 1)

    def show_finding(self, finding: Finding, unit: Unit, say: Say = str) -> None:
        """Show a finding, its sentences as `say` tells them; only what differs is set."""
        title, advice = say(finding.title), say(finding.advice)
        look = (
            title,
            finding.verdict,
            figure_words(finding, unit),
            advice,
            margin_words(finding, unit),
        )
        if look == self._shown:
            return
        self._shown = look
        self._balloon.set_verdict(str(self._index + 1), finding.verdict)
        self._title.setText(title)
        self._word.setText(finding.verdict.value)
        set_property(self._word, "verdict", finding.verdict.value)
        self._figure.setText(look[2])
        self.margin.setText(look[4])
        self.margin.setVisible(bool(look[4]))
        figure = finding.tolerance
        self.margin.setToolTip(contributors_tip(figure) if figure is not None else "")
        self._said = advice
        self._advice.setVisible(bool(advice))
        self._tell_advice()
        self.setAccessibleName(
            f"Finding {self._index + 1}, {finding.verdict.value}: {title}. {look[2]}"
        )

    def _tell_advice(self) -> None:
        told = second_to_changes(self._said) if self._changes_first else self._said
        self._advice.setText(told)
        self.setAccessibleDescription(told)

    def _place_changes(self) -> None:
        """Put the changes under the advice, or over it where one was tried that cuts nothing."""
        both = (self.mends, self._advice) if self._changes_first else (self._advice, self.mends)
        for row, widget in enumerate(both, 3):
            self._grid.removeWidget(widget)
            self._grid.addWidget(widget, row, 1, 1, 2)

    def show_mends(
        self,
        goal: Goal,
        offers: Sequence[Offer],
        state: MendState | None,
        *,
        ready: bool,
        fresh: bool,
    ) -> None:
        """Show what would mend the finding, which has this key; `fresh` of another layout."""
        fresh, self._goal = fresh or goal != self._goal, goal
        self.mends.show_mends(offers, state, ready=ready, fresh=fresh)
        changes_first = any(not offer.cuts for offer in offers)
        if changes_first != self._changes_first:
            self._changes_first = changes_first
            self._place_changes()
            self._tell_advice()

    @property
    def goal(self) -> Goal:
        """The key of the fault on the card."""
        return self._goal

    def set_current(self, current: bool) -> None:
        """Mark the finding that is shown on the board."""
        set_property(self, "current", "true" if current else "false")

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Go to the finding."""
        if event.button() is Qt.MouseButton.LeftButton:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.chosen.emit(self._index)
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter or Space goes to it; up and down go to its neighbours."""
        key = event.key()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.chosen.emit(self._index)
        elif key in (Qt.Key.Key_Down, Qt.Key.Key_Up):
            self.step_wanted.emit(self._index, 1 if key == Qt.Key.Key_Down else -1)
        else:
            super().keyPressEvent(event)

    def enterEvent(self, event: QEnterEvent) -> None:
        """Light its parts on the board."""
        self.hovered.emit(self._index)
        super().enterEvent(event)

    def leaveEvent(self, event: QEvent) -> None:
        """Let its parts go dark again."""
        self.hovered.emit(None)
        super().leaveEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Light its parts when it is reached by keyboard as well."""
        self.hovered.emit(self._index)
        super().focusInEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Let its parts go dark again."""
        self.hovered.emit(None)
        super().focusOutEvent(event)
