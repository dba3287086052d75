"""How the rows of a search look: nothing of them is cut, and no tip lies over the next one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QStyleOptionViewItem, QToolTip

from app.ui.search.found import Found
from app.ui.search.rows import ALIKE, BETWEEN_ZONES, COLUMNS, TEXT, row_text
from app.ui.search.zone_lines import ZoneLines, zone_lines

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("a  |  b", ["a  |  b"]),
        ("one zone  |  two", ["one zone", "two"]),
        ("one  |  a zone with many words", ["one", "a zone", "with many", "words"]),
        ("unbreakable-word", ["unbreakable-word"]),
    ],
)
def test_zones_are_kept_whole_where_they_can_be(text: str, lines: list[str]) -> None:
    assert zone_lines(text, lambda line: len(line) < 10) == lines


def _with_row(panel: SearchPanel, **changes: object) -> Found:
    """Show the first row alone, changed."""
    found = panel._found
    assert found is not None
    shown = replace(found, rows=(replace(found.rows[0], **changes),))
    panel.results.show_found(shown, running=False)
    return shown


def test_every_zone_of_a_row_is_in_sight(searched: tuple[MainWindow, SearchPanel]) -> None:
    _, panel = searched
    zone = panel.rows[0].zones[0]
    zones = tuple(replace(zone, short=f"2 x 120, {k} mm, push-pull across") for k in range(20, 24))
    row = _with_row(panel, zones=zones).rows[0]
    table = panel.results.table
    index = panel.results.model.index_of(row.number)
    delegate = table.itemDelegateForIndex(index)
    assert isinstance(delegate, ZoneLines)
    option = QStyleOptionViewItem()
    option.font, option.fontMetrics = table.font(), table.fontMetrics()
    delegate.initStyleOption(option, index)
    lines = option.text.split("\u2028")
    assert BETWEEN_ZONES.join(lines) == f"{row.number}:  {row_text(row)}"
    assert len(lines) > 1
    cell = table.visualRect(index)
    assert max(map(table.fontMetrics().horizontalAdvance, lines)) <= cell.width()
    assert cell.height() >= len(lines) * table.fontMetrics().lineSpacing()


def test_a_column_fits_its_figures(searched: tuple[MainWindow, SearchPanel]) -> None:
    _, panel = searched
    table = panel.results.table
    row = _with_row(panel, alike=8_514_123_456_789).rows[0]
    index = panel.results.model.index_of(row.number).siblingAtColumn(COLUMNS.index(ALIKE))
    assert index.data() == "8,514,123,456,789"
    wide = table.fontMetrics().horizontalAdvance(index.data())
    assert wide + table.fontMetrics().height() <= table.columnWidth(index.column())


def test_a_tip_comes_late_is_short_and_lies_over_no_row(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    _, panel = searched
    table = panel.results.table
    row = panel.results.model.listed[0]
    index = panel.results.model.index_of(row.number)
    assert index.column() == COLUMNS.index(TEXT)
    text = index.data(Qt.ItemDataRole.ToolTipRole)
    assert len(text.split("\n")) <= 3
    place = table.visualRect(index).center()
    QTest.mouseMove(table.viewport(), place - QPoint(3, 0))
    QTest.mouseMove(table.viewport(), place)
    QTest.qWait(300)
    assert not QToolTip.isVisible()
    qtbot.waitUntil(QToolTip.isVisible, timeout=3_000)
    assert QToolTip.text() == text
    (tip,) = (w for w in QApplication.topLevelWidgets() if w.inherits("QTipLabel"))
    assert tip.geometry().bottom() <= table.viewport().mapToGlobal(QPoint(0, 0)).y()
    QTest.mouseMove(table.viewport(), place + QPoint(0, 3 * table.visualRect(index).height()))
    qtbot.waitUntil(lambda: not QToolTip.isVisible(), timeout=3_000)
