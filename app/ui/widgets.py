"""Small builders that the panels share."""

from __future__ import annotations

import re
import textwrap

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import (
    QLabel,
    QLayout,
    QScrollArea,
    QSizePolicy,
    QStylePainter,
    QVBoxLayout,
    QWidget,
)

FRAME_PX = QSize(2, 30)
"""What a title bar and frame take, before they are known."""

NO_BREAK = "\N{NO-BREAK SPACE}"
_FIGURE = re.compile(r"(\d) (mm|in|cm³)\b")

TIP_LETTERS = 60
"""How many letters a line of a long tip has at most."""


def whole_figures(text: str) -> str:
    """Return a text that is never broken between a figure and its unit."""
    return _FIGURE.sub(rf"\1{NO_BREAK}\2", text)


def tip_lines(text: str) -> str:
    """Return a sentence in lines, as a tip: Qt shows plain ones in one line, however long."""
    return textwrap.fill(
        whole_figures(text), TIP_LETTERS, break_long_words=False, break_on_hyphens=False
    )


AS_NOW = "without the preview"
"""Said by what shows the layout as it is while board and status line show a preview."""

AS_NOW_TIP = "The board and the status line show a preview; this is the layout as it is now"


def as_now(title: str, previewing: bool) -> str:
    """Return a panel's title; while there is a preview it says that the panel is not of it."""
    return f"{title}, {AS_NOW}" if previewing else title


def heading(text: str) -> QLabel:
    """Return the title of a panel."""
    label = QLabel(text)
    label.setObjectName("heading")
    return label


def group_label(text: str) -> QLabel:
    """Return the title of a group inside a panel."""
    label = QLabel(text)
    label.setObjectName("group")
    return label


def muted(text: str = "") -> QLabel:
    """Return a label in the quieter colour, wrapping."""
    label = wrapping(text)
    label.setObjectName("muted")
    return label


def hint(text: str = "") -> QLabel:
    """Return a quiet label that stays at the top where there is nothing below it."""
    label = muted(text)
    label.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
    return label


class WrappingLabel(QLabel):
    """A label in lines, which are never broken between a figure and its unit."""

    def __init__(self, text: str = "") -> None:
        super().__init__()
        self.setWordWrap(True)
        self.setText(text)

    def setText(self, text: str) -> None:
        """Show a text."""
        super().setText(whole_figures(text))

    def text(self) -> str:
        """Return what is shown, as it was given."""
        return super().text().replace(NO_BREAK, " ")


class WordsLabel(QLabel):
    """A label of one line that leaves out the last of its words where it has too little room."""

    GAP = "    "

    def __init__(self) -> None:
        super().__init__()
        self._words: tuple[str, ...] = ()

    def set_words(self, words: tuple[str, ...]) -> None:
        """Show as many of these as there is room for, the first ones before the others."""
        self._words = words
        self.setText(self.GAP.join(words))

    @property
    def words(self) -> tuple[str, ...]:
        """All of them."""
        return self._words

    @property
    def shown_text(self) -> str:
        """What there is room for."""
        for count in range(len(self._words), 0, -1):
            text = self.GAP.join(self._words[:count])
            if self.fontMetrics().horizontalAdvance(text) <= self.contentsRect().width():
                return text
        return ""

    def minimumSizeHint(self) -> QSize:
        """Ask for no width at all."""
        return QSize(0, super().minimumSizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Paint what there is room for."""
        QStylePainter(self).drawItemText(
            self.contentsRect(), self.alignment(), self.palette(), self.isEnabled(),
            self.shown_text, self.foregroundRole(),
        )  # fmt: skip


def wrapping(text: str = "") -> QLabel:
    """Return a label that takes as many lines as its width asks for, and never asks for width."""
    label = WrappingLabel(text)
    policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    policy.setHeightForWidth(True)
    label.setSizePolicy(policy)
    return label


def scrolled(body: QWidget) -> QScrollArea:
    """Return what scrolls a body up and down that is as wide as there is room.

    The keyboard goes through what is in it, which then comes into sight; it does not stop at the
    area itself, where nobody would see it.
    """
    scroll = QScrollArea()
    scroll.setWidget(body)
    scroll.setWidgetResizable(True)
    scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    return scroll


def scroll_through(panel: QWidget, body: QWidget) -> None:
    """Fill a panel with a body that is as wide, and that is scrolled up and down."""
    outer = QVBoxLayout(panel)
    outer.setContentsMargins(0, 0, 0, 0)
    outer.addWidget(scrolled(body))


def room_on_screen(window: QWidget) -> QSize:
    """Return how large a window may be on its screen, with the frame that the system adds."""
    return window.screen().availableGeometry().size() - FRAME_PX


def keep_on_screen(window: QWidget, wanted: QSize) -> None:
    """Give a window the size that it wants, as far as the screen has room for it."""
    window.resize(wanted.boundedTo(room_on_screen(window)))


def clear_layout(layout: QLayout) -> None:
    """Take all widgets out of a layout, and out of sight at once."""
    while layout.count():
        taken = layout.takeAt(0)
        widget = taken.widget() if taken is not None else None
        if widget is not None:
            widget.hide()
            widget.deleteLater()


def set_property(widget: QWidget, name: str, value: str) -> None:
    """Set a property that the style sheet asks for, and let the style look again."""
    if widget.property(name) == value:
        return
    widget.setProperty(name, value)
    # One that has not been on the screen yet is looked at when it gets there.
    if widget.testAttribute(Qt.WidgetAttribute.WA_WState_Polished):
        widget.style().unpolish(widget)
        widget.style().polish(widget)


def follow_in_tab_order(first: QWidget, panel: QWidget) -> None:
    """Let the keyboard go from one widget on through a panel that was put in later."""
    # Not by the chain that Qt keeps: what `nextInFocusChain` returns is taken for a child of the
    # widget that was asked, and cannot be used from Python any more once that one is gone.
    for after in panel.findChildren(QWidget):
        if panel.isAncestorOf(after) and after.focusPolicy() & Qt.FocusPolicy.TabFocus:
            QWidget.setTabOrder(first, after)
            first = after
