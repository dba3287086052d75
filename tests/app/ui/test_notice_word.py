"""The word of a notice stands on the line of its text, be that one line or several."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QLabel

SHORT = "Saved."
LONG = "What it had found is kept; try fewer parts or zones, or give it more time than that. " * 2


def first_line_px(label: QLabel, bar) -> int:
    """Return where the first line of a label begins, in the bar."""
    style, metrics = label.style(), label.fontMetrics()
    flags = int(label.alignment())
    rect = style.itemTextRect(metrics, label.contentsRect(), flags, True, label.text())
    flags |= Qt.TextFlag.TextWordWrap.value
    wrapped = metrics.boundingRect(label.contentsRect(), flags, label.text())
    return label.mapTo(bar, QPoint(0, min(rect.top(), wrapped.top()))).y()


@pytest.mark.parametrize("text", [SHORT, LONG], ids=["one line", "several"])
@pytest.mark.parametrize("button", ["", "Open folder"])
def test_the_word_begins_where_the_text_does(open_window, text: str, button: str) -> None:
    window = open_window(size=(1280, 720))
    window.notice.tell(text, button, (lambda: None) if button else None)
    QApplication.processEvents()
    bar = window.notice
    word, said = bar._word, bar._text
    assert said.text() == text
    assert abs(first_line_px(word, bar) - first_line_px(said, bar)) <= 1
