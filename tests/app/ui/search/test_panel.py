"""The panel of what fits: one searches, looks, compares, applies and takes rows elsewhere."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import small_rooms as make
from PySide6.QtCore import QPoint, QSize, Qt, QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton

from app.ui.search.worker import SearchOrder, Told, tellings
from geometry.edits import set_margin, set_name
from geometry.layout import Layout
from geometry.layout_file import read_layout
from geometry.search.near.summary import LetIn, NearFound, NearSummary
from geometry.search.wishes import wishes_from

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow

FAN = make.fan(25.0)
PARTS = (FAN, make.exchanger(1, 30.0), make.exchanger(1, 60.0))
IDS = tuple(part.id for part in PARTS)
WANTED = ("volume", "leftover")


def two_zones() -> Layout:
    """Two zones for one fan face each other over 200 mm; a fan stands on the rear one."""
    room = make.room(
        (200.0, 180.0, 200.0),
        zones=(
            make.zone("front-zone", "front", (200.0, 20.0, 20.0), "+z", "+y", make.row(1)),
            make.zone("rear-zone", "rear", (0.0, 140.0, 20.0), "+z", "-y", make.row(1)),
        ),
    )
    return make.layout(room, PARTS, [make.stack("S1", "rear-zone", make.one("F1", FAN))])


@pytest.fixture(scope="module")
def told() -> list[Told]:
    """What the search of the panel below tells, worked out once."""
    wishes = wishes_from(PARTS, slide_steps=1, zones=("front-zone", "rear-zone"))
    return list(tellings(SearchOrder(two_zones(), wishes, WANTED, 20.0, near=True)))


@pytest.fixture
def opened(open_window: Callable[..., MainWindow]) -> Iterator[tuple[MainWindow, SearchPanel]]:
    """A window with the panel open, set up to search both zones with three parts."""
    window = open_window(two_zones())
    window.fits.open()
    assert window.fits.dock is not None
    panel = window.fits.dock.panel
    panel.setup.parts.choose("chosen", IDS)
    panel.setup.slides.setCurrentIndex(panel.setup.slides.findData(1))
    for key, box in panel.setup.wanted.items():
        box.setChecked(key in WANTED)
    yield window, panel
    panel.close_job()


@pytest.fixture
def searched(
    opened: tuple[MainWindow, SearchPanel], told: list[Told], monkeypatch: pytest.MonkeyPatch
) -> tuple[MainWindow, SearchPanel]:
    """The same after a search, whose words were worked out in this process."""
    window, panel = opened
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    panel.search()
    for one in told:
        panel.job.told.emit(one)
    panel.job.finished.emit()
    return window, panel


def test_nothing_of_it_is_loaded_before_it_is_opened(
    open_window: Callable[..., MainWindow],
) -> None:
    window = open_window(two_zones())
    assert window.fits.dock is None
    window.actions_by_name["what_fits"].trigger()
    assert window.fits.dock is not None
    assert window.fits.dock.isVisible()
    assert "Nothing has been searched yet" in window.fits.dock.panel.results.empty.text()


def test_it_is_opened_reached_and_closed_by_keys(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    dock, action = window.fits.dock, window.actions_by_name["what_fits"]
    assert dock is not None
    window.activateWindow()
    window.board.setFocus()
    qtbot.waitUntil(window.board.hasFocus, timeout=3_000)
    action.trigger()
    assert panel.results.table.hasFocus(), "shown already, it gets the keyboard"
    action.trigger()
    assert dock.isHidden()
    assert window.board.hasFocus()
    action.trigger()
    assert dock.isVisible()
    assert panel.rows, "its rows stay"
    window.board.setFocus()
    reached = []
    for _ in range(5):
        window.actions_by_name["next_pane"].trigger()
        reached.append(dock.isAncestorOf(QApplication.focusWidget()))
    assert any(reached)


def test_a_search_in_its_own_process_ends_with_rows_and_leaves_no_process(
    opened: tuple[MainWindow, SearchPanel], told: list[Told], qtbot: QtBot
) -> None:
    _, panel = opened
    ticks: list[int] = []
    clock = QTimer()
    clock.timeout.connect(lambda: ticks.append(1))
    clock.start(10)
    with qtbot.waitSignal(panel.job.finished, timeout=60_000):
        QTest.mouseClick(panel.start, Qt.MouseButton.LeftButton)
        assert panel.job.running
        assert panel.stop.isEnabled()
        number = panel.job.process_id
    assert not panel.job.running
    assert not _alive(number)
    assert ticks, "the window had turns while it was searched"
    expected = [row for one in told for row in one.rows]
    assert [row.figures for row in panel.rows] == [row.figures for row in expected]
    assert panel.answer is not None
    assert panel.answer.count in panel.results.count.text()
    assert "(exact count)" in panel.results.count.text()
    assert [row.number for row in panel.results.model.listed] != []


def test_stop_ends_the_process_and_keeps_what_was_found(
    opened: tuple[MainWindow, SearchPanel], told: list[Told], qtbot: QtBot
) -> None:
    _, panel = opened
    panel.setup.parts.choose("all")
    panel.search()
    number = panel.job.process_id
    assert number is not None
    qtbot.waitUntil(lambda: _alive(number), timeout=5_000)
    first = next(one for one in told if one.rows)
    panel.job.told.emit(first)
    with qtbot.waitSignal(panel.job.finished, timeout=10_000):
        panel.stop.click()
    assert not _alive(number)
    assert [row.number for row in panel.rows] == [row.number for row in first.rows]
    assert panel.results.model.listed == first.rows
    assert "Stopped" in panel.progress.text()
    assert not panel.stop.isEnabled()


def test_closing_the_window_leaves_no_process(
    opened: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = opened
    panel.setup.parts.choose("all")
    panel.search()
    number = panel.job.process_id
    window.close()
    assert not panel.job.running
    qtbot.waitUntil(lambda: not _alive(number), timeout=5_000)


def test_why_a_search_cannot_begin_is_told(
    opened: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = opened
    for box in panel.setup.zones.values():
        box.setChecked(False)
    assert not panel.start.isEnabled()
    assert panel.progress.text() == "Tick at least one zone to fill."
    order = panel.setup.order()
    wrong = SearchOrder(
        order.layout, wishes_from(PARTS, zones=("elsewhere",)), order.wanted, order.seconds
    )
    with qtbot.waitSignal(panel.job.finished, timeout=30_000):
        panel.job.start(wrong)
    assert 'There is no zone "elsewhere"' in window.notice.text


def test_the_setup_makes_the_wishes(opened: tuple[MainWindow, SearchPanel]) -> None:
    window, panel = opened
    setup = panel.setup
    order = setup.order()
    assert {part.id for part in (*order.wishes.exchangers, *order.wishes.fans)} == set(IDS)
    assert order.wishes.slide_steps == 1
    assert order.wanted == WANTED
    setup.parts.choose("layout")
    assert [part.id for part in setup.parts.parts] == [FAN.id]
    setup.parts.choose("usual")
    usual = setup.parts.parts
    assert all(part.thickness_mm == 25.0 for part in usual if part.kind == "fan")
    setup.parts.choose("all")
    assert set(usual) < set(setup.parts.parts)
    setup.fans["outer"].setChecked(False)
    setup.pump.setCurrentIndex(setup.pump.findData("required"))
    setup.tight.setChecked(True)
    setup.zones["rear-zone"].setChecked(False)
    wishes = setup.order().wishes
    assert wishes.fan_places == ("none", "plate", "far", "both")
    assert (wishes.pump, wishes.tight_allowed, wishes.zones) == ("required", True, ("front-zone",))

    stack = window.session.layout.stacks[0].but(locked=True)
    window.session.apply("Lock", lambda la: la.but(stacks=(stack,)))
    assert not setup.zones["rear-zone"].isEnabled()
    assert "locked" in setup.zones["rear-zone"].text()


def test_ticks_are_kept_while_the_list_is_filtered(
    opened: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = opened
    parts = panel.setup.parts
    parts.words.setText("fan 80")
    assert parts.list.count() > 0
    listed = {parts.list.item(k).text() for k in range(parts.list.count())}
    parts.tick.click()
    assert listed <= {part.name for part in parts.parts}
    assert set(IDS) <= {part.id for part in parts.parts}
    parts.untick.click()
    parts.words.clear()
    assert {part.id for part in parts.parts} == set(IDS)


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
    assert f"Row {row.number}" in panel.preview.mark.text
    assert window.session.document.layout is before
    assert not window.session.document.can_undo
    QTest.mouseMove(window.board, QPoint(5, 5))
    table.leaveEvent(None)  # type: ignore[arg-type]
    assert panel.preview.shown is None
    assert panel.preview.mark.text == ""
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


def test_enter_applies_a_row_as_one_edit_that_undo_takes_back(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = searched
    before = window.session.document.layout
    row = panel.results.model.listed[0]
    panel.results.table.select_rows(row.number)
    QTest.keyClick(panel.results.table, Qt.Key.Key_Return)
    assert window.session.document.layout == row.layout
    assert window.session.document.undo_name == f"Apply combination {row.number}"
    assert not panel.changed.isVisible(), "what stands on the searched zones does not count"
    window.session.undo()
    assert window.session.document.layout is before


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
    lines = {line[0]: line[1:] for line in panel.results.compare.lines}
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
    monkeypatch.setattr(panel.dialogs, "to_csv", lambda _: table)
    monkeypatch.setattr(panel.dialogs, "to_layout", lambda _: made)
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
    monkeypatch.setattr(panel.dialogs, "to_csv", lambda _: tmp_path / "nowhere" / "rows.csv")
    panel.results.csv.click()
    assert "nowhere" in window.notice.text


def test_what_excludes_what_is_a_matrix_with_the_solids_and_the_mm(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    assert panel.answer is not None
    exclusions = panel.answer.exclusions
    assert exclusions, "thick stacks on both zones do not go together in this room"
    matrix = panel.results.matrix
    texts = {
        matrix.table.item(a, b).text()
        for a in range(matrix.table.rowCount())
        for b in range(matrix.table.columnCount())
        if matrix.table.item(a, b) is not None
    }
    one = exclusions[0]
    assert any(f"{one.short_mm:.1f} mm short" in text for text in texts)
    for a in range(matrix.table.rowCount()):
        for b in range(matrix.table.columnCount()):
            item = matrix.table.item(a, b)
            if item is not None and "short" in item.text():
                matrix.table.setCurrentCell(a, b)
                assert "is in the way of" in matrix.sentence.text()
                return
    raise AssertionError("no cell tells an exclusion")


def test_the_largest_of_each_zone_are_listed(searched: tuple[MainWindow, SearchPanel]) -> None:
    _, panel = searched
    table = panel.results.largest.table
    whats = [(table.item(k, 0).text(), table.item(k, 1).text()) for k in range(table.rowCount())]
    assert ("front zone", "thickest") in whats
    assert panel.answer is not None
    assert len(whats) == len(panel.answer.largest)


def test_a_change_that_lets_a_near_miss_in_is_previewed_and_applied(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    before = window.session.document.layout
    layout = before.but(settings=before.settings.but(margin_mm=1.5))
    change = LetIn("ask for a margin of 1.5 mm", cuts=False, layout=layout.but(name="Other"))
    cut = LetIn("trim the peg by 3 mm", cuts=True, layout=layout)
    miss = NearSummary(
        "row 1 with a thick core", "front-zone", "+432 volume cm3", {"volume": 432.0},
        ("Core is 0.5 mm short",), 0.5, (change, cut), before,
    )  # fmt: skip
    near = NearFound((miss,), 3, 3, cutting=True, done=True)
    panel.job.told.emit(Told("done", near=near, ended=True))
    panel.job.finished.emit()
    view = panel.results.near
    assert panel.results.tabs.tabText(4) == "Near misses (1)"
    top = view.tree.topLevelItem(0)
    texts = [top.child(k).text(0) for k in range(top.childCount())]
    assert texts == [change.name, f"CUTS THE ENCLOSURE: {cut.name}"]
    assert not view.caution.isHidden()
    view.tree.itemEntered.emit(top.child(0), 0)
    qtbot.waitUntil(lambda: panel.preview.shown is change, timeout=3_000)
    assert window.session.layout.settings.margin_mm == 1.5
    assert window.session.document.layout is before
    view.tree.setCurrentItem(top.child(0))
    QTest.keyClick(view.tree, Qt.Key.Key_Return)
    now = window.session.document.layout
    assert (now.settings.margin_mm, now.name) == (1.5, before.name)
    assert window.session.document.undo_name == change.name
    panel.apply_change(cut)
    assert window.session.document.undo_name == change.name, "the ground is another one now"
    assert "search again" in panel.changed.text.text()
    window.session.undo()
    assert window.session.document.layout is before


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_nothing_is_clipped_at_the_least_size(
    open_window: Callable[..., MainWindow],
    told: list[Told],
    monkeypatch: pytest.MonkeyPatch,
    theme: str,
) -> None:
    window = open_window(two_zones(), size=(1024, 640), theme=theme)
    window.fits.open()
    assert window.fits.dock is not None
    panel = window.fits.dock.panel
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    panel.search()
    for one in told:
        panel.job.told.emit(one)
    panel.job.finished.emit()
    for tab in range(panel.results.tabs.count()):
        panel.results.tabs.setCurrentIndex(tab)
        QApplication.processEvents()
        assert window.size() == QSize(1024, 640), "the panel asks for no more than there is"
        for button in panel.findChildren(QPushButton):
            if button.isVisible():
                wide = button.fontMetrics().horizontalAdvance(button.text().replace("&", ""))
                assert wide <= button.width(), button.text()
                assert button.mapTo(panel, button.rect().topRight()).x() <= panel.width()
    panel.results.tabs.setCurrentIndex(0)
    QApplication.processEvents()
    assert panel.results.table.viewport().height() > 4 * panel.fontMetrics().height()
    panel.results.filter.limits_button.click()
    QApplication.processEvents()
    assert window.size() == QSize(1024, 640)


def test_another_document_drops_the_rows(searched: tuple[MainWindow, SearchPanel]) -> None:
    window, panel = searched
    assert panel.rows
    window.files.open_demo()
    assert not panel.rows
    assert set(panel.setup.zones) == {z.id for z in window.session.layout.enclosure.zones}
    assert "Nothing has been searched yet" in panel.results.empty.text()


def _labels(widget: object) -> list[object]:
    from PySide6.QtWidgets import QLabel

    return list(widget.findChildren(QLabel))  # type: ignore[attr-defined]


def _alive(number: int | None) -> bool:
    """Say whether a process is there; asked of the system, not of who started it."""
    QApplication.processEvents()
    if number is None:
        return False
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True
