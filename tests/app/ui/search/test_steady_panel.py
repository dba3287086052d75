"""What is pointed at in the panel stays where it is, and what is marked stays marked."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from search_hand import answer_of, choose_parts

from app.ui.search.job import SearchJob
from app.ui.search.worker import Told
from geometry.search.near.summary import NearFound

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow


def place_of(widget: QWidget, within: QWidget) -> QRect:
    """Return where a widget is in another one, once everything is laid out."""
    QApplication.processEvents()
    return QRect(widget.mapTo(within, QPoint(0, 0)), widget.size())


def near_so_far(checked: int) -> Told:
    """Return what is told while near misses are looked for."""
    extent = f"{checked} of 9 candidates checked"
    near = NearFound((), cutting=False, done=False, extent=extent)
    return Told(f"near misses: {extent}", near=near)


def test_a_marked_cell_stays_marked_while_near_misses_are_looked_for(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, panel = searched
    monkeypatch.setattr(SearchJob, "running", property(lambda _: True))
    matrix = panel.results.matrix
    panel.results.tabs.setCurrentWidget(panel.results.excludes)
    QApplication.processEvents()
    row, column = next(iter(matrix._told))
    place = matrix.table.visualItemRect(matrix.table.item(row, column)).center()
    QTest.mouseClick(
        matrix.table.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, place
    )
    told = matrix.sentence.text()
    assert "is in the way of" in told
    for checked in (3, 4):
        panel.job.told.emit(near_so_far(checked))
        qtbot.waitUntil(lambda: not panel._show_timer.isActive())
        assert panel.results.near.hint.text().startswith("Looking"), "the panel was shown anew"
        marked = [(at.row(), at.column()) for at in matrix.table.selectedIndexes()]
        assert marked == [(row, column)]
        assert matrix.sentence.text() == told


def test_buttons_stay_in_their_places_whatever_the_first_one_says(
    opened: tuple[MainWindow, SearchPanel], told: list[Told], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, panel = opened
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    places = {panel.start.text(): place_of(panel.stop, panel.bar)}
    with monkeypatch.context() as patched:
        patched.setattr(SearchJob, "running", property(lambda _: True))
        panel.search()
        places[panel.start.text()] = place_of(panel.stop, panel.bar)
        for one in told:
            panel.job.told.emit(one)
    panel.job.finished.emit()
    places[panel.start.text()] = place_of(panel.stop, panel.bar)
    assert list(places) == ["&Search", "Begin ane&w", "&Search again"]
    assert len({(at.x(), at.width()) for at in places.values()}) == 1, places


def test_nothing_moves_when_the_panel_says_what_is_missing(
    opened: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = opened
    parts = panel.setup.parts
    choose_parts(parts, "chosen", [parts.parts[0].id])
    before = place_of(parts.untick, panel), place_of(panel.results.tabs, panel).topLeft()
    assert panel.progress.isHidden()
    QTest.mouseClick(parts.untick, Qt.MouseButton.LeftButton)
    after = place_of(parts.untick, panel), place_of(panel.results.tabs, panel).topLeft()
    assert panel.progress.isVisible()
    assert panel.rect().contains(place_of(panel.progress, panel)), "it is seen"
    assert after == before


@pytest.mark.parametrize("ready", [True, False])
def test_after_stop_the_keyboard_is_at_search(
    searched: tuple[MainWindow, SearchPanel], monkeypatch: pytest.MonkeyPatch, ready: bool
) -> None:
    window, panel = searched
    window.activateWindow()
    with monkeypatch.context() as patched:
        patched.setattr(SearchJob, "running", property(lambda _: True))
        panel.job.told.emit(near_so_far(3))
        panel._refresh()
        if not ready:
            choose_parts(panel.setup.parts, "chosen", ())
        QTest.mouseClick(panel.stop, Qt.MouseButton.LeftButton)
        assert QApplication.focusWidget() is panel.stop
    panel.job.finished.emit()
    assert not panel.stop.isEnabled()
    # Where nothing can be searched yet, one goes on where that is mended.
    expected = panel.start if ready else panel.setup_button
    assert QApplication.focusWidget() is expected


def test_the_same_choices_stay_marked_in_a_matrix_with_more_of_them(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    matrix, answer = panel.results.matrix, answer_of(panel)
    panel.results.tabs.setCurrentWidget(panel.results.excludes)
    names = {zone.zone: zone.name for zone in answer.zones}
    one = replace(answer.exclusions[0], patterns=("this", "that"))
    many = [replace(one, patterns=(f"a{k}", f"b{k}")) for k in range(40)]
    matrix.show_exclusions((*many, one), 0.5, names)
    matrix.table.setCurrentCell(40, 40)
    QApplication.processEvents()
    bars = matrix.table.horizontalScrollBar(), matrix.table.verticalScrollBar()
    for bar in bars:
        bar.setValue(bar.maximum() - 2)
    told, scrolled = matrix.sentence.text(), [bar.value() for bar in bars]
    assert all(value > 10 for value in scrolled)
    more = [replace(one, patterns=(f"c{k}", f"d{k}")) for k in range(3)]
    matrix.show_exclusions((*many, *more, one), 1.0, names)
    assert (matrix.table.currentRow(), matrix.table.currentColumn()) == (43, 43)
    assert len(matrix.table.selectedIndexes()) == 1
    assert matrix.sentence.text() == told
    assert [bar.value() for bar in bars] == scrolled
    matrix.show_exclusions(many, 1.0, names)
    assert not matrix.table.selectedIndexes()
    assert matrix.sentence.text().startswith("Choose a cell"), "what was marked is none any more"
