"""How the rows of a search look: nothing of them is cut, and no tip lies over the next one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QFont, QFontMetrics
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QStyle, QStyleOptionViewItem, QToolTip

from app.ui.search.found_so_far import Found
from app.ui.search.rows import ALIKE, BETWEEN_ZONES, COLUMNS, LEFT_WORST, TEXT, named_text
from app.ui.search.zone_lines import ZoneLines, zone_lines
from app.ui.units import Unit

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
    zones = tuple(
        replace(zone, name=f"{where} wall", short=f"2 x 120, {k} mm, push-pull across")
        for k, where in enumerate(("front", "rear", "left", "right"), start=20)
    )
    row = _with_row(panel, zones=zones).rows[0]
    table = panel.results.table
    index = panel.results.model.index_of(row.number)
    delegate = table.itemDelegateForIndex(index)
    assert isinstance(delegate, ZoneLines)
    option = QStyleOptionViewItem()
    option.font, option.fontMetrics = table.font(), table.fontMetrics()
    delegate.initStyleOption(option, index)
    lines = option.text.split("\u2028")
    assert lines[:2] == [
        f"{row.number}:  front: 2 x 120, 20 mm, push-pull across",
        "rear: 2 x 120, 21 mm, push-pull across",
    ]
    assert BETWEEN_ZONES.join(lines) == f"{row.number}:  {named_text(row)}"
    cell = table.visualRect(index)
    widest = max(map(table.fontMetrics().horizontalAdvance, lines))
    assert widest <= _room_of_text(panel, option, cell)
    assert cell.height() >= len(lines) * table.fontMetrics().lineSpacing()


def _room_of_text(panel: SearchPanel, option: QStyleOptionViewItem, cell: QRect) -> int:
    """Return how wide the style lets a text be in a cell; what is wider it cuts."""
    table, option.rect = panel.results.table, cell
    kind, margin = QStyle.SubElement.SE_ItemViewItemText, QStyle.PixelMetric.PM_FocusFrameHMargin
    text = table.style().subElementRect(kind, option, table)
    return text.width() - 2 * (table.style().pixelMetric(margin, option, table) + 1)


@pytest.mark.parametrize("width", [700, 900, 1180])
def test_no_line_of_a_row_is_cut_at_any_width(
    searched: tuple[MainWindow, SearchPanel], width: int
) -> None:
    _, panel = searched
    zone = panel.rows[0].zones[0]
    shorts = [f"{k} x 92, 20 mm, push-pull, turned a quarter" for k in range(1, 9)]
    zones = tuple(replace(zone, name=f"z{k}", short=text) for k, text in enumerate(shorts))
    table = panel.results.table
    for count in range(1, len(zones) + 1):
        row = _with_row(panel, zones=zones[:count]).rows[0]
        table.header().resizeSection(COLUMNS.index(TEXT), width // 2 - count)
        index = panel.results.model.index_of(row.number)
        option = QStyleOptionViewItem()
        option.font, option.fontMetrics = table.font(), table.fontMetrics()
        table.itemDelegateForIndex(index).initStyleOption(option, index)
        room = _room_of_text(panel, option, table.visualRect(index))
        for line in option.text.split("\u2028"):
            assert table.fontMetrics().horizontalAdvance(line) <= room, line


def test_a_line_of_a_zone_is_whole_where_the_first_figures_leave_room(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    zone = replace(panel.rows[0].zones[0], short="1 x 92, 20 mm, push-pull, turned a quarter")
    zones = tuple(replace(zone, name=f"wall{k}") for k in range(3))
    row = _with_row(panel, zones=zones).rows[0]
    table = panel.results.table
    table.resize(860, 300)
    index = panel.results.model.index_of(row.number)
    option = QStyleOptionViewItem()
    option.font, option.fontMetrics = table.font(), table.fontMetrics()
    table.itemDelegateForIndex(index).initStyleOption(option, index)
    assert len(option.text.split("\u2028")) == len(zones)


def test_a_narrow_table_folds_what_does_not_count_and_needs_no_scrolling(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    table, wanted = panel.results.table, panel.results.model.wanted

    def seen() -> list[str]:
        return [c for k, c in enumerate(COLUMNS) if not table.isColumnHidden(k)]

    table.resize(1600, 300)
    assert seen() == list(COLUMNS)
    table.resize(760, 300)
    assert {TEXT, *wanted} <= {*seen()} < {*COLUMNS}
    assert sum(map(table.columnWidth, range(len(COLUMNS)))) <= table.viewport().width()
    table.resize(1600, 300)
    assert seen() == list(COLUMNS)


@pytest.mark.parametrize("unit", list(Unit))
def test_every_head_is_whole_in_either_unit(
    searched: tuple[MainWindow, SearchPanel], unit: Unit
) -> None:
    window, panel = searched
    window.preferences.unit = unit
    table, model = panel.results.table, panel.results.model
    table.resize(1600, 300)
    bold = QFontMetrics(_bold(table.header().font()))
    for at in range(len(COLUMNS)):
        text = model.headerData(at, Qt.Orientation.Horizontal, Qt.ItemDataRole.DisplayRole)
        wide = max(map(bold.horizontalAdvance, text.split("\n")))
        assert wide + 16 <= table.header().sectionSize(at), text
    last = model.headerData(len(COLUMNS) - 1, Qt.Orientation.Horizontal)
    assert last == "Same\npattern"


def test_the_mark_of_the_order_stands_beside_the_head_and_its_tip_tells_the_order(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    table, model, at = panel.results.table, panel.results.model, COLUMNS.index("leftover")
    head = table.header()
    place = QPoint(head.sectionViewportPosition(at) + 20, head.height() // 2)

    def told(role: Qt.ItemDataRole) -> str:
        return model.headerData(at, Qt.Orientation.Horizontal, role)

    seen = []
    for _ in range(3):
        QTest.mouseClick(head.viewport(), Qt.MouseButton.LeftButton, pos=place)
        text, tip = told(Qt.ItemDataRole.DisplayRole), told(Qt.ItemDataRole.ToolTipRole)
        seen.append((text, tip.split("\n")[-1]))
        wide = max(map(QFontMetrics(_bold(head.font())).horizontalAdvance, text.split("\n")))
        assert wide + 16 <= head.sectionSize(at)
    assert set(seen) == {
        ("Leftover\n▾ mm", "Sorted: greatest first"),
        ("Leftover\n▴ mm", "Sorted: least first"),
        ("Leftover\nmm", "Click to sort"),
    }
    assert not head.isSortIndicatorShown(), "the style draws that over the text"


def _bold(font: QFont) -> QFont:
    made = QFont(font)
    made.setBold(True)
    return made


def test_a_column_fits_its_figures(searched: tuple[MainWindow, SearchPanel]) -> None:
    _, panel = searched
    table = panel.results.table
    row = _with_row(panel, alike=8_514_123_456_789).rows[0]
    index = panel.results.model.index_of(row.number).siblingAtColumn(COLUMNS.index(ALIKE))
    assert index.data() == "8,514,123,456,789"
    wide = table.fontMetrics().horizontalAdvance(index.data())
    assert wide + table.fontMetrics().height() <= table.columnWidth(index.column())


def test_what_a_row_shows_in_full_has_no_tip_over_it(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    table, model = panel.results.table, panel.results.model
    row = model.index_of(model.listed[0].number)
    group = row.parent()
    assert row.data(Qt.ItemDataRole.ToolTipRole)
    assert group.data(Qt.ItemDataRole.ToolTipRole)
    assert table._is_told(row)
    assert table._is_told(group)
    assert not table._is_told(row.siblingAtColumn(COLUMNS.index(LEFT_WORST))), "why so little"
    table.resize(160, table.height())
    assert not table._is_told(group), "it is cut"
    table.set_low(True)
    assert not table._is_told(row), "a row of one line is cut"


def test_a_tip_comes_late_is_short_and_lies_over_no_row(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    _, panel = searched
    table = panel.results.table
    row = panel.results.model.listed[0]
    index = panel.results.model.index_of(row.number).siblingAtColumn(COLUMNS.index(LEFT_WORST))
    text = index.data(Qt.ItemDataRole.ToolTipRole)
    assert len(text.split("\n")) <= 6
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
