"""A part's name in the list goes on in the second line of its row before it is cut."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QFont, QFontMetrics

from app.ui.panels.part_list import cut_size, name_lines
from app.ui.start import make_app


@pytest.fixture
def metrics() -> QFontMetrics:
    make_app()
    return QFontMetrics(QFont())


BESIDE_PX = 60


def test_a_name_is_broken_between_words_and_whole(metrics: QFontMetrics) -> None:
    name = "Compact body 60 x 60 x 40 on a 120 plate"
    width = metrics.horizontalAdvance("Compact body 60 x 60 x 40 on")
    lines = ("Compact body 60 x 60 x 40 on", "a 120 plate")
    assert name_lines(name, metrics, width, BESIDE_PX) == lines
    whole = metrics.horizontalAdvance(name)
    assert name_lines(name, metrics, whole + BESIDE_PX, BESIDE_PX) == (name,)
    # Beside a name that fills its line the size has no room, and gets one of its own.
    assert name_lines(name, metrics, whole, BESIDE_PX) == (name, "")
    assert name_lines(name, metrics, width, width) == (*lines, "")


def test_only_what_has_no_room_in_two_lines_is_cut(metrics: QFontMetrics) -> None:
    name = "Standing body with many words in its name"
    width = metrics.horizontalAdvance("Standing body with")
    first, second, free = name_lines(name, metrics, width, BESIDE_PX)
    assert first == "Standing body with"
    assert "…" in second
    assert metrics.horizontalAdvance(second) <= width
    assert free == ""


def test_a_word_that_is_wider_than_the_list_is_cut(metrics: QFontMetrics) -> None:
    first, free = name_lines("Ab" * 40, metrics, 60, 30)
    assert "…" in first
    assert free == ""


def test_a_size_without_room_keeps_its_first_numbers(metrics: QFontMetrics) -> None:
    size = "200 × 80 × 20 core, 27 at the tanks"
    whole = metrics.horizontalAdvance(size)
    assert cut_size(size, metrics, whole + 1) == size
    cut = cut_size(size, metrics, whole // 2)
    assert metrics.horizontalAdvance(cut) <= whole // 2
    assert cut.startswith("200 ×")
    assert cut.endswith("…")
