"""The list of findings: what is blocked or tight, by how much, and what would mend it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QEnterEvent, QFocusEvent, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.ui.balloon import Balloon
from app.ui.skin import Skin
from app.ui.tolerance_texts import contributors_tip, tolerance_line
from app.ui.units import Unit, length_text
from app.ui.widgets import clear_layout, heading, muted, set_property, wrapping
from geometry.finding import Finding, NotRun, Report, Verdict


def figure_words(finding: Finding, unit: Unit) -> str:
    """Return a finding's millimetres: how far short or left."""
    if finding.measured_mm is None:
        return ""
    if finding.measured_mm < 0:
        return f"{length_text(-finding.measured_mm, unit)} short"
    return f"{length_text(finding.measured_mm, unit)} left"


def margin_words(finding: Finding, unit: Unit) -> str:
    """Return what was asked for, how much is missing to it, and the room that is shared."""
    texts = []
    if finding.required_mm and finding.to_margin_mm is not None:
        asked = length_text(finding.required_mm, unit)
        short = finding.to_margin_mm < 0
        missing = f", {length_text(-finding.to_margin_mm, unit)} missing" if short else ""
        texts.append(f"{asked} asked for{missing}")
    if finding.volume_mm3:
        texts.append(f"{finding.volume_mm3 / 1000:.1f} cm³ shared")
    if finding.tolerance is not None:
        texts.append(tolerance_line(finding.tolerance, unit))
    return "; ".join(texts)


class FindingCard(QFrame):
    """One finding; it takes the focus, Enter goes to it, and its remedies are buttons."""

    chosen = Signal(int)
    hovered = Signal(object)
    remedy_wanted = Signal(int, int)
    step_wanted = Signal(int, int)

    def __init__(self, index: int, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("card")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self._index = index
        self._shown: tuple[Any, ...] = ()
        self._balloon = Balloon(skin)
        self._title = wrapping()
        font = self._title.font()
        font.setBold(True)
        self._title.setFont(font)
        self._word = QLabel()
        self._figure = QLabel()
        self._figure.setFont(font)
        self.margin = wrapping()
        self._advice = muted()
        self._buttons = QVBoxLayout()
        self._buttons.setSpacing(4)
        grid = QGridLayout(self)
        grid.setContentsMargins(8, 7, 9, 8)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(3)
        top = Qt.AlignmentFlag.AlignTop
        grid.addWidget(self._balloon, 0, 0, 5, 1, top)
        grid.addWidget(self._word, 0, 1)
        grid.addWidget(self._figure, 0, 2, Qt.AlignmentFlag.AlignRight)
        grid.addWidget(self._title, 1, 1, 1, 2)
        grid.addWidget(self.margin, 2, 1, 1, 2)
        grid.addWidget(self._advice, 3, 1, 1, 2)
        grid.addLayout(self._buttons, 4, 1, 1, 2)
        grid.setColumnStretch(1, 1)

    def show_finding(self, finding: Finding, unit: Unit) -> None:
        """Show a finding; only what differs from the one before is set."""
        look = (
            finding.title,
            finding.verdict,
            figure_words(finding, unit),
            finding.advice,
            tuple((r.name, r.gives) for r in finding.remedies),
            margin_words(finding, unit),
        )
        if look == self._shown:
            return
        old = self._shown
        self._shown = look
        self._balloon.set_verdict(str(self._index + 1), finding.verdict)
        self._title.setText(finding.title)
        self._word.setText(finding.verdict.value)
        set_property(self._word, "verdict", finding.verdict.value)
        self._figure.setText(look[2])
        self.margin.setText(look[5])
        self.margin.setVisible(bool(look[5]))
        figure = finding.tolerance
        self.margin.setToolTip(contributors_tip(figure) if figure is not None else "")
        self._advice.setText(finding.advice)
        self._advice.setVisible(bool(finding.advice))
        if not old or old[4] != look[4]:
            self._show_remedies(finding)
        self.setAccessibleName(
            f"Finding {self._index + 1}, {finding.verdict.value}: {finding.title}. {look[2]}"
        )
        self.setAccessibleDescription(finding.advice)

    def _show_remedies(self, finding: Finding) -> None:
        clear_layout(self._buttons)
        for number, remedy in enumerate(finding.remedies):
            text = f"{remedy.name}: {remedy.gives}" if remedy.gives else remedy.name
            button = RemedyButton(text)
            button.setToolTip(f"{text}\nTried on a copy and checked again; Undo takes it back")
            button.clicked.connect(
                lambda _=False, n=number: self.remedy_wanted.emit(self._index, n)
            )
            self._buttons.addWidget(button)

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


class RemedyButton(QPushButton):
    """A button whose text may take several lines."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.setObjectName("remedy")
        self.setAccessibleName(text)
        self._label = wrapping(text)
        self._row = QHBoxLayout(self)
        self._label.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._row.setContentsMargins(9, 4, 9, 4)
        self._row.addWidget(self._label)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def text_shown(self) -> str:
        """Return the text on the button."""
        return self._label.text()

    def sizeHint(self) -> QSize:
        """Return the size that the text wants."""
        return self._row.sizeHint()

    def minimumSizeHint(self) -> QSize:
        """Return a width under which the text would no longer be read."""
        return QSize(80, self._row.minimumSize().height())

    def hasHeightForWidth(self) -> bool:
        """Say that a narrower button is a higher one."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height that the text takes at a width."""
        return self._row.heightForWidth(width)


class FindingsPanel(QWidget):
    """Blocked findings first, then tight ones, numbered as the balloons on the board."""

    chosen = Signal(int)
    hovered = Signal(object)
    remedy_wanted = Signal(int, int)

    def __init__(self, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._skin = skin
        self._current: int | None = None
        self._keys: list[tuple[str, tuple[str, ...]]] = []
        self._current_key: tuple[str, tuple[str, ...]] | None = None
        self._cards: list[FindingCard] = []
        self._used = 0
        self._counts = QLabel()
        self._counts.setObjectName("muted")
        title = QHBoxLayout()
        title.setContentsMargins(12, 8, 12, 4)
        title.addWidget(heading("Findings"))
        title.addStretch(1)
        title.addWidget(self._counts)
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
        self._looking = muted("Looking for remedies…")
        for widget in (self._empty, self._looking, self._not_run_title, self._not_run):
            self._column.addWidget(widget)
        self._column.addStretch(1)
        self._scroll = QScrollArea()
        self._scroll.setWidget(body)
        self._scroll.setWidgetResizable(True)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(title)
        column.addWidget(self._scroll, 1)

    @property
    def current(self) -> int | None:
        """The place in the list of the finding that is marked."""
        return self._current

    @property
    def cards(self) -> tuple[FindingCard, ...]:
        """The cards in use, in the order of their numbers."""
        return tuple(self._cards[: self._used])

    def show_report(
        self, report: Report, placed: int, stale: bool = False, looking: bool = False
    ) -> None:
        """Show what the checks said of so many placed parts.

        `stale` tells that a newer layout is being checked, `looking` that remedies are looked for.
        """
        unit = self._skin.unit
        listed = [f for f in report.findings if f.verdict is not Verdict.CLEAR]
        while len(self._cards) < len(listed):
            self._add_card()
        for card, finding in zip(self._cards, listed, strict=False):
            card.show_finding(finding, unit)
            card.show()
        for card in self._cards[len(listed) :]:
            card.hide()
        self._used = len(listed)
        counts = f"{report.blocked} blocked   {report.tight} tight"
        self._counts.setText("checking…" if stale else counts)
        self._empty.setVisible(not listed)
        self._looking.setVisible(looking and bool(listed))
        self._empty.setText(
            "Nothing is blocked and nothing is tight. What could not be checked is listed below."
            if placed and report.not_run
            else "Nothing is blocked and nothing is tight."
            if placed
            else "Nothing is placed yet. Drag a part from the list on the left over the board, "
            "or choose one there and press Enter."
        )
        self._show_not_run(report.not_run)
        self._follow_current(listed)

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
        card.remedy_wanted.connect(self.remedy_wanted)
        card.step_wanted.connect(self._step)
        self._column.insertWidget(len(self._cards) + 1, card)
        self._cards.append(card)

    def _step(self, index: int, step: int) -> None:
        wanted = index + step
        if 0 <= wanted < self._used:
            self._cards[wanted].setFocus(Qt.FocusReason.TabFocusReason)
            self._scroll.ensureWidgetVisible(self._cards[wanted], 0, 20)

    def _show_not_run(self, not_run: Sequence[NotRun]) -> None:
        self._not_run_title.setVisible(bool(not_run))
        self._not_run.setVisible(bool(not_run))
        self._not_run_title.setText(f"Not checked ({len(not_run)})")
        lines = [
            f"{', '.join(one.ids)}: {one.reason}" if one.ids else one.reason for one in not_run
        ]
        self._not_run.setText("\n".join(lines))
