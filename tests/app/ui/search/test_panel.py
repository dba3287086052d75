"""The panel of what fits: it is opened, set up, searches in a process of its own and stops it."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from facing_fans import FAN, IDS, PARTS, WANTED, two_zones
from PySide6.QtCore import QSize, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton
from search_hand import answer_of, choose_parts, searching

from app.cli import search_arguments
from app.ui.search.panel_words import progress_text
from app.ui.search.worker import SearchOrder, Told
from geometry.search.answers import MEASURES
from geometry.search.run import search
from geometry.search.usual import USUAL_SECONDS
from geometry.search.wishes import Wishes, wishes_from

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow


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
        (number,) = searching()
    assert not panel.job.running
    assert not _alive(number)
    assert ticks, "the window had turns while it was searched"
    expected = [row for one in told for row in one.rows]
    assert [row.figures for row in panel.rows] == [row.figures for row in expected]
    assert answer_of(panel).count in panel.results.count.text()
    assert "(exact count)" in panel.results.count.text()
    assert [row.number for row in panel.results.model.listed] != []


def test_stop_ends_the_process_and_keeps_what_was_found(
    opened: tuple[MainWindow, SearchPanel], told: list[Told], qtbot: QtBot
) -> None:
    _, panel = opened
    choose_parts(panel.setup.parts, "all")
    panel.search()
    (number,) = searching()
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
    choose_parts(panel.setup.parts, "all")
    panel.search()
    (number,) = searching()
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
        order.layout, wishes_from(PARTS, Wishes(zones=("elsewhere",))), order.wanted, order.seconds
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
    choose_parts(setup.parts, "layout")
    assert [part.id for part in setup.parts.parts] == [FAN.id]
    choose_parts(setup.parts, "usual")
    usual = setup.parts.parts
    assert all(part.thickness_mm == 25.0 for part in usual if part.kind == "fan")
    choose_parts(setup.parts, "all")
    assert set(usual) < set(setup.parts.parts)
    assert not order.wishes.side_by_side
    assert not order.wishes.part_rows
    setup.side_by_side.setChecked(True)
    setup.part_rows.setChecked(True)
    wishes = setup.order().wishes
    assert wishes.side_by_side
    assert wishes.part_rows
    assert not setup.fans["across"].isEnabled(), "no zone takes parts on both its sides"
    setup.fans["outer"].setChecked(False)
    setup.pump.setCurrentIndex(setup.pump.findData("required"))
    setup.tight.setChecked(True)
    setup.zones["rear-zone"].setChecked(False)
    wishes = setup.order().wishes
    assert wishes.fan_places == ("none", "plate", "far", "both", "across")
    assert (wishes.pump, wishes.tight_allowed, wishes.zones) == ("required", True, ("front-zone",))

    stack = window.session.layout.stacks[0].but(locked=True)
    window.session.apply("Lock", lambda la: la.but(stacks=(stack,)))
    assert not setup.zones["rear-zone"].isEnabled()
    assert "locked" in setup.zones["rear-zone"].text()


def test_what_is_searched_unasked_is_what_the_command_line_searches(
    open_window: Callable[..., MainWindow],
) -> None:
    window = open_window(two_zones())
    window.fits.open()
    assert window.fits.dock is not None
    order = window.fits.dock.panel.setup.order()
    parser = argparse.ArgumentParser()
    search_arguments.add_arguments(parser)
    args = parser.parse_args(["any.json"])
    wishes = search_arguments.wishes_of(args, window.library, order.layout)
    assert wishes.zones is None, "all zones that are not locked"
    assert order.wishes == replace(wishes, zones=("front-zone", "rear-zone"))
    assert order.wanted == tuple(measure.key for measure in search_arguments.wanted_of(args.want))
    assert (order.seconds, args.seconds) == (USUAL_SECONDS, None), "as long as usual"
    assert order.cutting == args.allow_cutting
    # The command line always looks for near misses.
    assert order.near


def test_no_cutting_is_one_setting_for_near_misses_and_for_mends(
    opened: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = opened
    here, there = panel.setup.no_cutting, window.findings.no_cutting
    assert here.isChecked()
    there.setChecked(False)
    assert not here.isChecked()
    assert panel.setup.order().cutting
    here.setChecked(True)
    assert there.isChecked()
    assert not panel.setup.order().cutting


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


def _alive(number: int) -> bool:
    """Say whether a process is there; asked of the system, not of who started it."""
    QApplication.processEvents()
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True


def test_that_a_running_search_ends_with_its_layout_is_told(
    opened: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = opened
    choose_parts(panel.setup.parts, "all")
    panel.search()
    assert panel.job.running
    window.files.open_demo()
    assert not panel.job.running
    assert window.notice.text == "The running search was stopped: it was for the previous layout."


def test_why_a_search_could_not_begin_stands_in_the_panel_until_another_begins(
    opened: tuple[MainWindow, SearchPanel], monkeypatch: pytest.MonkeyPatch
) -> None:
    window, panel = opened
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    panel.search()
    panel.job.refused.emit("too many options:\n- list fewer parts")
    panel.job.finished.emit()
    assert panel.results.refused.text() == "Too many options:\n- list fewer parts."
    assert not panel.results.refused.isHidden()
    assert not window.notice.isHidden()
    assert panel.progress.text() == "Refused; nothing was searched."
    assert "Nothing has been searched yet" not in panel.results.empty.text()
    panel.search()
    assert panel.results.refused.isHidden()
    assert window.notice.isHidden()


def test_what_is_missing_is_told_no_longer_once_it_is_there(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    choose_parts(panel.setup.parts, "chosen", ())
    assert panel.progress.text() == "Tick at least one part to use."
    choose_parts(panel.setup.parts, "usual")
    assert panel.progress.text() == ""


def test_how_far_a_search_is_has_no_words_of_its_inside(told: list[Told]) -> None:
    wishes = wishes_from(PARTS, Wishes(slide_steps=1, zones=("front-zone", "rear-zone")))
    wanted = [MEASURES[key] for key in WANTED]
    states = [Told(one.stage.text) for one in search(two_zones(), wishes, wanted, 20.0)]
    stages = [progress_text(one, {}) for one in (*states, *told)]
    assert len(stages) > 5
    for text in stages:
        for word in ("option", "judged", "listed", "stand alone", "runs"):
            assert word not in text, text
    kinds = ("zones done", "what goes together", "looking for the best rows", "counting what fits")
    for kind in kinds:
        assert any(kind in text.lower() for text in stages), kind
