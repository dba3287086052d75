"""The window waits neither for the process that searches nor for what it tells."""

from __future__ import annotations

import errno
import multiprocessing
import os
import struct
from multiprocessing.connection import Connection
from typing import TYPE_CHECKING

import pytest
from facing_fans import WANTED, two_zones

from app.ui.search import job as search_job
from app.ui.search.job import SearchJob
from app.ui.search.worker import SearchOrder, Told
from geometry.search.wishes import Wishes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytestqt.qtbot import QtBot

ORDER = SearchOrder(two_zones(), Wishes(), WANTED, 20.0)


class Process:
    """Stands for a process that searches; what it tells, and when it is gone, the test decides."""

    pid = 4711

    def __init__(self, args: tuple[Connection, Connection], **_: object) -> None:
        # The window's side closes its copies of the ends that are the process's own.
        self.tells = Connection(os.dup(args[1].fileno()), readable=False)
        self.alive = False
        self.told_to: list[str] = []

    def start(self) -> None:
        self.alive = True

    def terminate(self) -> None:
        self.told_to.append("end")

    def kill(self) -> None:
        self.told_to.append("die")
        self.alive = False

    def is_alive(self) -> bool:
        return self.alive

    def join(self, timeout: float | None = None) -> None:
        assert not self.alive, "nobody waits for a process that is still there"

    def close(self) -> None:
        assert not self.alive


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Process]]:
    """The processes started, of which none is one."""
    every: list[Process] = []

    def process(**given: object) -> Process:
        every.append(Process(**given))  # type: ignore[arg-type]
        return every[-1]

    monkeypatch.setattr(multiprocessing.get_context("spawn"), "Process", process)
    yield every
    for one in every:
        one.alive = False
        one.tells.close()


@pytest.fixture
def job(qtbot: QtBot, started: list[Process]) -> Iterator[SearchJob]:
    made = SearchJob()
    yield made
    for one in started:
        one.alive = False
    made.close()


def ends_of(job: SearchJob) -> list[str]:
    ends: list[str] = []
    job.refused.connect(ends.append)
    job.broken.connect(lambda: ends.append("broken"))
    job.finished.connect(lambda: ends.append("finished"))
    return ends


def test_a_process_that_cannot_be_started_is_told_and_another_can_be(
    job: SearchJob, started: list[Process], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_: Process) -> None:
        raise OSError(errno.EAGAIN, os.strerror(errno.EAGAIN))

    ends = ends_of(job)
    with monkeypatch.context() as patch:
        patch.setattr(Process, "start", refuse)
        job.start(ORDER)
    assert not job.running
    reason, last = ends
    assert reason.startswith("no process could be started for it: ")
    assert last == "finished"
    job.start(ORDER)
    assert job.running


def test_a_message_of_which_half_has_come_does_not_hold_the_window_up(
    job: SearchJob, started: list[Process], qtbot: QtBot
) -> None:
    stages: list[str] = []
    job.told.connect(lambda told: stages.append(told.stage))
    job.start(ORDER)
    (process,) = started
    process.tells.send(Told("listing"))
    # A length of four bytes, the most significant first, and less after it than it says.
    os.write(process.tells.fileno(), struct.pack("!i", 1000) + b"half")
    qtbot.waitUntil(lambda: bool(stages), timeout=5_000)
    qtbot.wait(5 * search_job.LISTEN_MS)
    assert stages == ["listing"]
    assert job.running


def test_a_process_that_takes_its_time_to_end_does_not_hold_the_window_up(
    job: SearchJob, started: list[Process], qtbot: QtBot
) -> None:
    ends = ends_of(job)
    job.start(ORDER)
    (process,) = started
    job.stop()
    assert not job.running
    assert process.told_to == ["end"]
    qtbot.wait(5 * search_job.LISTEN_MS)
    assert ends == [], "it is told when the process is gone"
    process.alive = False
    qtbot.waitUntil(lambda: ends == ["finished"], timeout=5_000)


def test_one_that_does_not_end_is_killed(
    job: SearchJob, started: list[Process], qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(search_job, "END_S", 0.1)
    ends = ends_of(job)
    job.start(ORDER)
    job.stop()
    qtbot.waitUntil(lambda: ends == ["finished"], timeout=5_000)
    assert started[0].told_to == ["end", "die"]


def test_the_end_of_one_search_is_not_told_of_the_next(
    job: SearchJob, started: list[Process], qtbot: QtBot
) -> None:
    ends = ends_of(job)
    job.start(ORDER)
    job.stop()
    job.start(ORDER)
    started[0].alive = False
    qtbot.wait(5 * search_job.LISTEN_MS)
    assert (job.running, ends) == (True, [])
    started[1].tells.close()
    started[1].alive = False
    qtbot.waitUntil(lambda: ends == ["broken", "finished"], timeout=5_000)
