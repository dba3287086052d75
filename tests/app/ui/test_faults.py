"""A fault of the program is told in the window, whichever thread it comes in."""

from __future__ import annotations

import datetime
import sys
import threading
from pathlib import Path

import pytest
from PySide6.QtCore import QThread

from app.demo import demo_layout
from app.ui.export import job as export_job
from app.ui.export.job import ExportJob, ExportOrder
from app.ui.faults import Faults
from catalog.errors import DataError, Fault

PLANTED = "planted"


class PlantedError(Exception):
    """A fault of the program, for which no code is prepared."""


def fail(*_: object, **__: object) -> None:
    raise PlantedError(PLANTED)


class Told:
    """What the notice was asked to show as an error, each with the thread that asked."""

    def __init__(self, window, monkeypatch) -> None:
        self.texts: list[str] = []
        self.threads: list[int] = []
        monkeypatch.setattr(window.notice, "error", self.note)

    def note(self, text: str) -> None:
        self.texts.append(text)
        self.threads.append(threading.get_ident())


@pytest.fixture
def _hooks(monkeypatch) -> None:
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    monkeypatch.setattr(threading, "excepthook", threading.excepthook)


@pytest.mark.usefixtures("_hooks")
@pytest.mark.parametrize("kind", [threading.Thread, QThread])
def test_of_a_worker_thread_the_windows_own_thread_tells(
    open_window, qtbot, monkeypatch, capsys, kind: type
) -> None:
    window = open_window()
    told = Told(window, monkeypatch)
    Faults(window).listen()
    thread = kind()
    thread.run = fail
    thread.start()
    thread.wait() if kind is QThread else thread.join()
    qtbot.waitUntil(lambda: bool(told.texts))
    assert PLANTED in told.texts[0]
    assert told.threads == [threading.get_ident()]
    assert f"PlantedError: {PLANTED}" in capsys.readouterr().err


@pytest.fixture
def order(shipped, tmp_path: Path) -> ExportOrder:
    date = datetime.date(2026, 3, 14)
    return ExportOrder(demo_layout(shipped), tmp_path / "sheet.png", "A4", 100, None, date)


def test_a_fault_of_an_export_is_raised_where_it_was_asked_for(
    qtbot, monkeypatch, order: ExportOrder
) -> None:
    monkeypatch.setattr(export_job, "check_layout", fail)
    job, ends = ExportJob(order), []
    for signal in (job.saved, job.failed, job.stopped):
        signal.connect(lambda *_: ends.append("told as another end"))
    raised = []
    monkeypatch.setattr(
        sys, "excepthook", lambda kind, *_: raised.append((kind, threading.get_ident()))
    )
    with qtbot.waitSignal(job.finished):
        job.start()
    assert raised == [(PlantedError, threading.get_ident())]
    assert ends == []


def test_what_an_export_tells_is_told_in_the_windows_thread(
    open_window, qtbot, monkeypatch, order: ExportOrder
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise DataError("sheet.png", Fault("", "there is no room on the disk"))

    window = open_window()
    told = Told(window, monkeypatch)
    monkeypatch.setattr(export_job, "check_layout", refuse)
    job = window.files.export_to(order)
    qtbot.waitUntil(lambda: bool(told.texts))
    job.wait()
    assert told.texts == ["The sheet was not exported. sheet.png: there is no room on the disk"]
    assert told.threads == [threading.get_ident()]
