"""A bar at the foot of the board: what went wrong or what was done, without stopping the user."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QApplication,
    QBoxLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QToolButton,
    QWidget,
)

from app.ui.board_area import ROOMY_PX
from app.ui.cut_label import CutLabel
from app.ui.overlay_bar import OverlayBar

LEAST_MS, LETTER_MS, BUTTON_MS = 4000, 60, 15_000
"""How long a plain notice stays: so long at least, so long for each letter of it, and so much
longer where it offers a button. Reading takes about 60 ms a letter (common practice, no source).
"""
LOW_SHARE = 0.3
"""Of a low board, which a text may cover."""

BESIDE_PX = 480
"""In a narrower bar the button stands under the text, not beside it."""


class Choice(NamedTuple):
    """A button of a notice: its words, and what is done where it is pressed."""

    words: str
    act: Callable[[], object]


class NoticeBar(OverlayBar):
    """Shows one message at a time: a word that says its weight, the text, buttons where it has any.

    It lies at the foot of its parent, above what lies there already (`over`): one of a line covers
    nothing of the board where that leaves it a strip, and none covers the heading of a view. What
    was done and hints go by themselves, unless the pointer or the keyboard is on them; what failed
    stays. What is offered gives way to any other message and comes back after it, until the user
    answers or closes it.
    """

    closed = Signal()

    def __init__(self, parent: QWidget | None = None, over: QWidget | None = None) -> None:
        super().__init__(parent)
        self._over = over
        self.setAccessibleName("Notice")
        self._word = QLabel()
        self._word.setObjectName("noticeWord")
        self._text = CutLabel()
        self._text.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByMouse
            | Qt.TextInteractionFlag.TextSelectableByKeyboard
        )
        self._button, self._other_button = QPushButton(), QPushButton()
        self._buttons = buttons = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        buttons.setSpacing(6)
        for number, button in enumerate((self._button, self._other_button)):
            button.hide()
            button.clicked.connect(lambda _=False, n=number: self._on_button(n))
            buttons.addWidget(button)
        close = self._close = QToolButton()
        close.setText("✕")
        close.setToolTip("Close this notice")
        close.setAccessibleName("Close this notice")
        close.clicked.connect(self._on_close)
        self._middle = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._middle.setSpacing(6)
        self._middle.addWidget(self._text, 1)
        self._middle.addLayout(buttons)
        self._middle.setAlignment(buttons, Qt.AlignmentFlag.AlignRight)
        self._row = row = QHBoxLayout(self)
        row.setContentsMargins(12, 4, 6, 4)
        row.setSpacing(10)
        row.addWidget(self._word, 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(self._middle, 1)
        row.addWidget(close, 0, Qt.AlignmentFlag.AlignTop)
        self._choices: tuple[Choice, ...] = ()
        self._offered: tuple[str, tuple[Choice, ...]] | None = None
        self._shows_offer = False
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self._on_time)
        if over is not None:
            over.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Lie above what lies at the foot as long as it does."""
        if watched is self._over and event.type() in (QEvent.Type.Show, QEvent.Type.Hide):
            self.keep_to_parent()
        return super().eventFilter(watched, event)

    def fit_width(self, width_px: int) -> None:
        """Put the buttons beside the text where there is room, else under it.

        Over a low board the text is cut to what leaves the most of it in sight.
        """
        beside = width_px >= BESIDE_PX
        way = QBoxLayout.Direction
        self._middle.setDirection(way.LeftToRight if beside else way.TopToBottom)
        buttons = (self._button, self._other_button)[: len(self._choices)]
        wide = sum(one.sizeHint().width() + self._row.spacing() for one in buttons)
        sides = (self._word, self._close)
        room = width_px - 18 - sum(one.sizeHint().width() + self._row.spacing() for one in sides)
        self._buttons.setDirection(way.LeftToRight if wide <= room else way.TopToBottom)
        over, text_px = self.parentWidget(), room - (wide if beside else 0)
        if over is not None and over.height() < ROOMY_PX:
            self._text.cut_to(text_px, round(LOW_SHARE * over.height()))
        else:
            self._text.say(self._text.whole)
        # The word stands beside the first line: of a single one, which is centred, too.
        single = self._text.heightForWidth(text_px) < 2 * self.fontMetrics().lineSpacing()
        alike = Qt.AlignmentFlag.AlignVCenter if single and beside else Qt.AlignmentFlag.AlignTop
        self._row.setAlignment(self._word, alike)
        # What changed inside a layout is not known to those round it before they are asked.
        self._buttons.invalidate()
        self._middle.invalidate()
        self._row.invalidate()

    def top_px(self, room_px: int, tall_px: int) -> int:
        """Lie at the foot."""
        taken = self._over.height() if self._over is not None and self._over.isVisible() else 0
        return max(0, room_px - taken - tall_px)

    def brief(self, text: str) -> None:
        """Show what was done."""
        self.tell(text)

    def error(self, text: str) -> None:
        """Show what failed, in the user's words."""
        self._show("Problem", "error", text)

    def error_too(self, text: str) -> None:
        """Show what failed, under what is shown as failed already."""
        shown = self.text if self.property("weight") == "error" else ""
        if shown:
            self._show("Problem", "error", f"{shown}\n{text}", self._choices)
        else:
            self.error(text)

    def tell(self, text: str, button: str = "", act: Callable[[], object] | None = None) -> None:
        """Show what was done, with a button for what one may want next."""
        self._show("Done", "done", text, () if act is None else (Choice(button, act),))
        self._go_by_itself(BUTTON_MS if button else 0)

    def ask(self, text: str, button: str, act: Callable[[], object]) -> None:
        """Show what failed, with a button for the way on."""
        self._show("Problem", "error", text, (Choice(button, act),))

    def offer(self, text: str, choice: Choice, other: Choice) -> None:
        """Show what the user may do by either button, once no other message is shown.

        It takes the place of what was offered before.
        """
        self._offered = (text, (choice, other))
        if self.isHidden() or self._shows_offer:
            self._show_offer()

    def withdraw(self) -> None:
        """Offer nothing any more."""
        self._offered = None
        if self._shows_offer:
            self.dismiss()

    def hint(self, text: str, *, stays: bool = False) -> None:
        """Show what the user may do next; one that `stays` holds until it is taken away."""
        self._show("Hint", "hint", text)
        if not stays:
            self._go_by_itself()

    @property
    def text(self) -> str:
        """The message shown; empty when none is."""
        return "" if self.isHidden() else self._text.whole

    def pass_by(self) -> None:
        """Take the message away once the user has gone on, unless it offers a button."""
        if not self._choices:
            self.dismiss()

    def dismiss(self) -> None:
        """Take the message away; what is offered is shown then, or still."""
        self._timer.stop()
        if self._offered is not None:
            self._show_offer()
        else:
            self._shows_offer = False
            self.hide()
            self.closed.emit()

    def _go_by_itself(self, longer_ms: int = 0) -> None:
        self._timer.start(max(LEAST_MS, LETTER_MS * len(self._text.whole)) + longer_ms)

    def _on_time(self) -> None:
        focus = QApplication.focusWidget()
        if self.underMouse() or (focus is not None and self.isAncestorOf(focus)):
            self._timer.start(LEAST_MS)
        else:
            self.dismiss()

    def _show_offer(self) -> None:
        if self._offered is not None:
            text, choices = self._offered
            self._show("Hint", "hint", text, choices)
            self._shows_offer = True

    def _show(self, word: str, weight: str, text: str, choices: tuple[Choice, ...] = ()) -> None:
        self._timer.stop()
        self._shows_offer = False
        self._word.setText(word)
        self._text.say(text)
        self._choices = choices
        for number, button in enumerate((self._button, self._other_button)):
            button.setText(choices[number].words if number < len(choices) else "")
            button.setVisible(number < len(choices))
        self.setProperty("weight", weight)
        self.style().unpolish(self)
        self.style().polish(self)
        self.setAccessibleDescription(text)
        self.keep_to_parent()
        self.show()

    def _on_close(self) -> None:
        if self._shows_offer:
            self._offered = None
        self.dismiss()

    def _on_button(self, number: int) -> None:
        choice = self._choices[number]
        self._on_close()
        choice.act()
