"""What was found, in the panel: looked at, compared, sorted, applied and taken elsewhere."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QFontMetrics, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolButton, QToolTip
from search_hand import answer_of, choose_parts, lines_of, text_on

from app.ui.search.preview import WAIT_MS
from app.ui.search.row_tips import RowTips
from geometry.edits import set_margin, set_name
from geometry.layout_file import read_layout
from geometry.search.near.summary import LetIn, NearFound, NearSummary

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow


def test_a_row_under_the_pointer_is_previewed_and_leaving_puts_the_board_back(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    before = window.session.document.layout
    table = panel.results.table
    row = panel.results.model.listed[0]
    place = table.visualRect(panel.results.model.index_of(row.number)).center()
    QTest.mouseMove(table.viewport(), place - QPoint(3, 0))
    QTest.mouseMove(table.viewport(), place)
    qtbot.waitUntil(lambda: panel.preview.shown is row, timeout=3_000)
    assert window.session.layout.stacks == row.layout.stacks
    assert "PREVIEW" in [label.text() for label in _labels(panel.preview.mark)]
    assert f"Row {row.number}" in text_on(panel.preview.mark)
    assert window.session.document.layout is before
    assert not window.session.document.can_undo
    QTest.mouseMove(window.board, QPoint(5, 5))
    table.leaveEvent(None)  # type: ignore[arg-type]
    assert panel.preview.shown is None
    assert text_on(panel.preview.mark) == ""
    assert window.session.layout is before


def test_arrow_keys_preview_and_escape_puts_the_board_back(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    table = panel.results.table
    first, second = panel.results.model.listed[:2]
    window.activateWindow()
    table.setFocus()
    qtbot.waitUntil(table.hasFocus, timeout=3_000)
    table.select_rows(first.number)
    while table.current is not second:
        QTest.keyClick(table, Qt.Key.Key_Down)
    qtbot.waitUntil(lambda: panel.preview.shown is second, timeout=3_000)
    QTest.keyClick(table, Qt.Key.Key_Escape)
    assert panel.preview.shown is None
    assert not window.session.trying


def test_no_row_is_previewed_by_opening_the_panel_again(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    table = panel.results.table
    table.select_rows(panel.results.model.listed[0].number)
    assert window.fits.dock is not None
    window.fits.dock.leave()
    window.activateWindow()
    looked_at: list[object] = []
    table.looked_at.connect(looked_at.append)
    window.fits.open()
    qtbot.waitUntil(table.hasFocus, timeout=3_000)
    QTest.qWait(2 * WAIT_MS)
    assert not any(looked_at)
    assert panel.preview.shown is None
    QTest.keyClick(table, Qt.Key.Key_Down)
    qtbot.waitUntil(lambda: panel.preview.shown is not None, timeout=3_000)


def test_the_tip_of_a_row_covers_neither_rows_nor_tabs(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    tips = panel.results.table.findChild(RowTips)
    assert tips is not None
    tabs = panel.results.tabs.mapToGlobal(QPoint(0, 0)).y()
    line = QFontMetrics(QToolTip.font()).lineSpacing()
    for lines in (1, 4):
        assert tips.place("\n".join(["Row 1"] * lines)).y() + lines * line < tabs


def test_enter_applies_a_row_as_one_edit_that_undo_takes_back(
    searched: tuple[MainWindow, SearchPanel], hand: Callable[..., Any]
) -> None:
    window, panel = searched
    before = window.session.document.layout
    row = panel.results.model.listed[0]
    panel.results.table.select_rows(row.number)
    QTest.keyClick(panel.results.table, Qt.Key.Key_Return)
    assert window.session.document.layout == row.layout
    assert window.session.document.undo_name == f"Apply combination {row.number}"
    assert not panel.changed.isVisible(), "what stands on the searched zones does not count"
    hand(window).key("Ctrl+Z", panel.results.table)
    assert window.session.document.layout is before


def test_the_stack_panel_goes_to_a_zone_that_a_row_has_filled(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = searched
    session, full = window.session, next(r for r in panel.rows if len(r.layout.stacks) == 2)
    for kept, left in (full.layout.stacks, full.layout.stacks[::-1]):
        row = replace(full, layout=full.layout.but(stacks=(kept,)))
        zone, other = kept.zone, left.zone
        session.apply("Clear", lambda la: la.but(stacks=()))
        session.take_zone(other)
        panel.apply(row)
        assert session.at_hand is not None
        assert session.at_hand.zone == zone
        assert session.stack_at_hand is not None
        assert window.stack.zone.currentData() == zone
        # Nothing is stacked anew: what was looked at stays in sight.
        session.take_zone(other)
        panel.apply(row)
        assert session.at_hand.zone == other


def test_a_zone_at_hand_that_a_row_has_filled_stays_at_hand(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = searched
    row = next(r for r in panel.rows if len(r.layout.stacks) == 2)
    for zone in ("front-zone", "rear-zone"):
        window.session.apply("Clear", lambda la: la.but(stacks=()))
        window.session.take_zone(zone)
        panel.apply(row)
        assert window.session.at_hand is not None
        assert window.session.at_hand.zone == zone


def test_a_layout_that_was_changed_is_asked_about_and_its_edits_stay(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = searched
    row = panel.results.model.listed[0]
    window.session.apply("Name", lambda la: set_name(la, "Another name"))
    assert not panel.changed.isVisible(), "a name changes nothing of what fits"
    window.session.apply("Margin", lambda la: set_margin(la, 1.0))
    assert panel.changed.isVisible()
    panel.apply(row)
    assert window.session.document.undo_name == "Margin", "nothing is applied before it is asked"
    assert panel.changed.anyway.isVisible()
    panel.changed.anyway.click()
    layout = window.session.document.layout
    assert layout.stacks == row.layout.stacks
    assert (layout.settings.margin_mm, layout.name) == (1.0, "Another name")
    window.session.undo()
    window.session.undo()
    assert not panel.changed.isVisible()


def test_two_rows_are_compared_with_their_differences(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    first, second = panel.rows[:2]
    panel.results.table.select_rows(first.number, second.number)
    panel.results.compare_button.click()
    assert panel.results.tabs.currentWidget() is panel.results.compare
    lines = {line[0]: line[1:] for line in lines_of(panel.results.compare)}
    volume = [f"{row.figures['volume']:,.0f}" for row in panel.results.table.selected]
    assert list(lines["Core volume (cm³)"][:2]) == volume
    assert lines["Core volume (cm³)"][2].endswith(("better", "worse"))
    bold = panel.results.compare.table.item(1, 1).font().bold()
    assert bold, "what differs is told by weight as well"


def test_sorting_filtering_and_an_empty_list_say_what_to_do(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    results = panel.results
    volumes = [row.figures["volume"] for row in panel.rows]
    results.table.sortByColumn(2, Qt.SortOrder.AscendingOrder)
    assert results.model.listed[0].figures["volume"] == min(volumes)
    results.table.sortByColumn(-1, Qt.SortOrder.AscendingOrder)
    assert results.model.listed[0].number == 1
    results.filter.limits["volume"][0].setText("1e9")
    assert not results.model.listed
    assert "No row passes the filter" in results.empty.text()
    results.filter.clear.click()
    assert len(results.model.listed) == len(panel.rows)
    tip = results.model.headerData(4, Qt.Orientation.Horizontal, Qt.ItemDataRole.ToolTipRole)
    assert "mm" in tip


def test_rows_go_to_a_file_to_the_clipboard_and_to_a_layout(
    searched: tuple[MainWindow, SearchPanel], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window, panel = searched
    table, made = tmp_path / "rows.csv", tmp_path / "row.json"
    monkeypatch.setattr(panel.keeping.dialogs, "to_csv", lambda _: table)
    monkeypatch.setattr(panel.keeping.dialogs, "to_layout", lambda _: made)
    panel.results.csv.click()
    assert table.read_bytes().count(b"\r\n") == len(panel.rows) + 1
    panel.results.table.select_rows(2)
    menu = panel.results.menu()
    assert menu is not None
    texts = {action.text().replace("&", ""): action for action in menu.actions()}
    assert {"Preview on the board", "Apply", "Write as layout file…", "Copy"} <= set(texts)
    texts["Write as layout file…"].trigger()
    assert read_layout(made).stacks == panel.rows[1].layout.stacks
    assert json.loads(made.read_text(encoding="utf-8"))["format"] == "gapwright-layout"
    texts["Copy"].trigger()
    assert QGuiApplication.clipboard().text().split("\n")[1].startswith("2\t")
    monkeypatch.setattr(
        panel.keeping.dialogs, "to_csv", lambda _: tmp_path / "nowhere" / "rows.csv"
    )
    panel.results.csv.click()
    assert "nowhere" in window.notice.text


def test_figures_in_lines_keep_apart(searched: tuple[MainWindow, SearchPanel]) -> None:
    _, panel = searched
    panel.results.tabs.setCurrentWidget(panel.results.largest)
    QApplication.processEvents()
    table = panel.results.largest.table
    assert table.rowCount()
    for column in range(3):
        texts = [table.item(row, column).text() for row in range(table.rowCount())]
        longest = max(map(table.fontMetrics().horizontalAdvance, texts))
        assert table.columnWidth(column) >= longest + 16


def test_the_largest_of_each_zone_are_listed(searched: tuple[MainWindow, SearchPanel]) -> None:
    _, panel = searched
    table = panel.results.largest.table
    whats = [(table.item(k, 0).text(), table.item(k, 1).text()) for k in range(table.rowCount())]
    assert ("front zone", "thickest core") in whats
    assert len(whats) == len(answer_of(panel).largest)


def test_the_filter_hides_its_sign_to_clear_it_once_it_is_empty(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    _, panel = searched
    bar = panel.results.filter
    (sign,) = bar.words.findChildren(QToolButton)
    bar.words.setText("no such row")
    qtbot.waitUntil(lambda: sign.isVisible() and not panel.results.model.listed)
    told = []
    bar.changed.connect(lambda: told.append(bar.wanted.words))
    bar.clear.click()
    assert told == [""], "the rows are listed anew once"
    assert panel.results.model.listed
    # It fades out.
    qtbot.waitUntil(lambda: sign.property("opacity") == 0.0, timeout=3_000)


def test_what_a_row_or_a_near_miss_takes_out_is_told_before_and_after(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    row = next(row for row in panel.rows if not row.figures["fans"])
    assert row.takes_out == ("Fan 120 x 25",)
    model, said = panel.results.model, "Takes out of the layout: Fan 120 x 25"
    tip = model.data(model.index_of(row.number), Qt.ItemDataRole.AccessibleDescriptionRole)
    assert tip.split("\n")[-1] == said
    panel.results.table.select_rows(row.number)
    assert ("Takes out", "Fan 120 x 25") in lines_of(panel.results.compare)
    panel.results.looked_at.emit(row)
    qtbot.waitUntil(lambda: panel.preview.shown is row, timeout=3_000)
    assert "; takes out Fan 120 x 25; nothing is changed yet" in text_on(panel.preview.mark)
    panel.apply(row)
    assert "takes out Fan 120 x 25; Ctrl+Z undoes it" in window.notice.text
    window.session.undo()

    empty = window.session.document.layout.but(stacks=())
    change = LetIn("slide it", cuts=False, layout=empty, takes_out=("Fan 120 x 25",))
    miss = NearSummary(
        "a thick core", "front-zone", "+1 fan", {"fans": 1.0}, ("Short",), 0.5, (change,), empty,
        ("Fan 120 x 25",),
    )  # fmt: skip
    panel.results.show_near(NearFound((miss,), cutting=False, done=True), running=False)
    top = panel.results.near.tree.topLevelItem(0)
    assert said in top.toolTip(0)
    assert said in top.child(1).toolTip(0)
    for item in (top, top.child(1)):
        panel.results.near.tree.itemEntered.emit(item, 0)
        qtbot.waitUntil(
            lambda: "takes out Fan 120 x 25" in text_on(panel.preview.mark), timeout=3_000
        )
        panel.preview.end()


def test_undo_by_key_passes_through_fields_in_which_nothing_was_typed(
    searched: tuple[MainWindow, SearchPanel], hand: Callable[..., Any]
) -> None:
    window, panel = searched
    me, layout = hand(window), window.session.document.layout
    results, setup = panel.results, panel.setup
    results.filter.limits_button.setChecked(True)
    choose_parts(setup.parts, "chosen")
    fields = [results.filter.words, results.filter.limits["volume"][0], setup.parts.words]
    for field in (*fields, setup.seconds):
        window.session.apply("Name", lambda la: set_name(la, "Another"))
        field.setFocus(Qt.FocusReason.TabFocusReason)
        me.key("Ctrl+Z", field)
        assert window.session.document.layout is layout, field.accessibleName()
    typed = results.filter.words
    window.session.apply("Name", lambda la: set_name(la, "Another"))
    QTest.keyClicks(typed, "floor")
    me.key("Ctrl+Z", typed)
    assert typed.text() == ""
    assert window.session.document.layout.name == "Another", "what was typed is taken back first"


def _labels(widget: object) -> list[object]:
    from PySide6.QtWidgets import QLabel

    return list(widget.findChildren(QLabel))  # type: ignore[attr-defined]


def test_two_long_rows_stand_side_by_side_in_sight(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = searched
    window.resize(1024, 640)
    long = tuple(f"Part number {k} of a long list" for k in range(12))
    rows = [replace(row, takes_out=long) for row in panel.rows[:2]]
    compare = panel.results.compare
    panel.results.tabs.setCurrentWidget(compare)
    compare.show_rows(rows)
    assert compare.table.horizontalScrollBar().maximum() == 0
    at = [line[0] for line in lines_of(compare)].index("Takes out")
    assert compare.table.rowHeight(at) > 2 * compare.table.fontMetrics().lineSpacing()


def test_compared_lines_are_as_high_as_their_text_when_they_come_into_sight(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    _, panel = searched
    panel.results.table.select_rows(*(row.number for row in panel.rows[:2]))
    panel.results.compare_button.click()
    table = panel.results.compare.table
    assert "At worst, most is taken" in [line[0] for line in lines_of(panel.results.compare)]

    def as_high_as_text() -> bool:
        head = table.verticalHeader()
        return all(
            table.rowHeight(k) == max(head.sectionSizeHint(k), table.sizeHintForRow(k))
            for k in range(table.rowCount())
        )

    qtbot.waitUntil(as_high_as_text, timeout=3_000)
