"""What the panel says of a search that was stopped, of the one before it and of its layout."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from search_hand import answer_of

from app.ui.search.job import SearchJob
from app.ui.search.results import SEARCHING, STOPPED
from app.ui.search.worker import Told
from geometry.search.near.summary import NearFound

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow


def test_a_stop_among_the_near_misses_says_so_and_keeps_those_found(
    opened: tuple[MainWindow, SearchPanel], told: list[Told], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, panel = opened
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    panel.search()
    *before, last = told
    for one in before:
        panel.job.told.emit(one)
    assert answer_of(panel).done
    extent = "stopped: 3 of 9 candidates checked; more time finds more"
    panel.job.told.emit(
        Told("near misses", near=NearFound((), cutting=False, done=False, extent=extent))
    )
    panel.job.finished.emit()
    assert "Stopped during the near misses" in panel.progress.text()
    assert panel.results.near.hint.text() == (
        "None found so far (no cutting). Stopped: 3 of 9 candidates checked; more time finds more."
    )
    panel.search()
    for one in (*before, last):
        panel.job.told.emit(one)
    panel.job.finished.emit()
    assert panel.progress.text() == ""


def test_no_row_is_promised_once_it_is_known_that_none_fits(
    opened: tuple[MainWindow, SearchPanel],
    told: list[Told],
    monkeypatch: pytest.MonkeyPatch,
    qtbot: QtBot,
) -> None:
    _, panel = opened
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    monkeypatch.setattr(SearchJob, "running", property(lambda _: True))
    panel.search()
    panel.job.told.emit(Told("listing"))
    assert panel.results.empty.text() == SEARCHING
    answer = next(one.answer for one in reversed(told) if one.answer is not None)
    assert answer.done
    panel.job.told.emit(Told("near misses", answer=answer))
    qtbot.waitUntil(lambda: panel.results.empty.text().startswith("Nothing fits."))
    monkeypatch.undo()


def test_the_last_search_is_kept_and_marked_until_another_has_found_something(
    searched: tuple[MainWindow, SearchPanel], told: list[Told]
) -> None:
    _, panel = searched
    old, answer, near = panel.rows, answer_of(panel), panel.results.near.hint.text()
    panel.results.table.select_rows(old[0].number)
    panel.search()
    assert panel.rows == old
    listed = panel.results.model.listed
    assert sorted(listed, key=lambda row: row.number) == list(old)
    assert panel.results.count.text().startswith("Of the last search: ")
    assert panel.results.near.hint.text() == near
    panel.job.told.emit(Told("listing"))
    panel.job.finished.emit()
    assert (panel.rows, answer_of(panel)) == (old, answer), "a stop before anything new keeps it"
    assert panel.progress.text() == (
        "Stopped before it had found anything; the last search is kept."
    )
    assert [row.number for row in panel.results.table.selected] == [old[0].number]
    assert panel.fits() is not None

    panel.search()
    first = next(one for one in told if one.rows)
    panel.job.told.emit(first)
    panel.job.finished.emit()
    assert panel.rows == first.rows
    assert not panel.results.count.text().startswith("Of the last search")
    assert not panel.results.table.selected, "a number means another row now"


def test_after_a_stop_nothing_is_promised_for_the_end(
    opened: tuple[MainWindow, SearchPanel], told: list[Told], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, panel = opened
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    monkeypatch.setattr(type(panel.job), "running", True)
    results = panel.results
    panel.search()
    assert results.largest.hint.text() == "Worked out at the end of a search."
    panel.job.told.emit(next(one for one in told if one.rows))
    monkeypatch.setattr(type(panel.job), "running", False)
    panel.job.finished.emit()
    stopped = "Not worked out: the search was stopped."
    assert results.largest.hint.text() == stopped
    assert results.near.hint.text() == stopped
    assert results.matrix.sentence.text() == stopped


def test_a_search_that_is_stopped_before_its_first_row_says_so_once(
    opened: tuple[MainWindow, SearchPanel], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, panel = opened
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    panel.search()
    panel.job.told.emit(Told("Looked at: 0 of 3"))
    assert re.fullmatch(r"Looked at: 0 of 3; \d s so far", panel.progress.text())
    panel.job.finished.emit()
    assert panel.progress.text() == ""
    assert panel.results.empty.text() == STOPPED


def test_near_misses_that_nobody_asks_for_are_not_promised(
    opened: tuple[MainWindow, SearchPanel], told: list[Told], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, panel = opened
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    near = panel.results.near
    assert near.hint.text() == "Near misses come at the end of a search."
    panel.setup.near.setChecked(False)
    assert near.hint.text() == (
        "Not looked for: “Look for near misses” is not ticked. Tick it, and search."
    )
    monkeypatch.setattr(type(panel.job), "running", True)
    panel.search()
    was_not = "“Look for near misses” was not ticked for this search. Tick it, and search again."
    assert near.hint.text() == f"Not looked for: {was_not}"
    for one in told[:-1]:
        panel.job.told.emit(one)
    monkeypatch.setattr(type(panel.job), "running", False)
    panel.job.finished.emit()
    assert near.hint.text() == f"Not looked for: {was_not}"
    panel.setup.near.setChecked(True)
    assert near.hint.text() == f"Not looked for: {was_not}", "it is said of the search on show"


def test_what_the_last_search_worked_out_goes_with_its_rows(
    searched: tuple[MainWindow, SearchPanel], told: list[Told], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, panel = searched
    results = panel.results
    assert results.largest.table.rowCount()
    monkeypatch.setattr(type(panel.job), "running", True)
    panel.search()
    assert results.largest.table.rowCount(), "of the last search, as its rows"
    panel.job.told.emit(next(one for one in told if one.rows and not one.answer.done))
    assert not results.largest.table.rowCount()
    assert results.largest.hint.text() == "Worked out at the end of a search."
