"""Ctrl-C closes the window, which asks where something would be lost; what ends it keeps that."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from kept_unsaved import last_unsaved

from app.shipped_demo import shipped_demo

pty = pytest.importorskip("pty")

ROOT = Path(__file__).resolve().parents[3]

pytestmark = pytest.mark.skipif(os.name == "nt", reason="no signals of this kind there")

WINDOW = """
import signal, sys
# What a shell runs in the background, or for good, begins deaf to signals, and so do its children.
signal.signal(signal.SIGINT, signal.default_int_handler)
signal.signal(signal.SIGHUP, signal.SIG_DFL)
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from app.ui import window as ui
shown = ui.MainWindow.showEvent
def ready(self, event):
    shown(self, event)
    QTimer.singleShot(0, self, lambda: begin(self))
def begin(window):
    {settle}
    {begin}
    print("ready", flush=True)
ui.MainWindow.showEvent = ready
from app.__main__ import main
sys.argv = ["gapwright", "--demo"]
sys.exit(main())
"""

SETTLE = "window.settle()"
"""With it the window hears of signals from then on, not from its first picture."""

CHANGED = """
    window.session.select("E1")
    window.actions_by_name["flip"].trigger()
    asked = window.files.ask_about_changes
    def ask(*more):
        QTimer.singleShot(0, lambda: print("asked", flush=True))
        {answer}
    window.files.ask_about_changes = ask
"""


@contextmanager
def going(begin: str, settle: str = SETTLE) -> Iterator[subprocess.Popen[str]]:
    code = WINDOW.format(settle=settle, begin=begin.strip())
    env = os.environ | {"QT_QPA_PLATFORM": "offscreen"}
    with subprocess.Popen(
        [sys.executable, "-c", code], cwd=ROOT, env=env, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True,
    ) as window:  # fmt: skip
        try:
            yield window
        finally:
            window.kill()


def read(window: subprocess.Popen[str]) -> str:
    assert window.stdout is not None
    return window.stdout.readline().strip()


def test_a_window_without_changes_closes_at_once() -> None:
    with going("pass") as window:
        assert read(window) == "ready"
        window.send_signal(signal.SIGINT)
        _, err = window.communicate(timeout=30)
    assert (window.returncode, err) == (130, "")


def test_a_window_with_changes_asks_and_stays_where_that_is_the_answer() -> None:
    with going(CHANGED.format(answer='return "stay"')) as window:
        assert read(window) == "ready"
        for _ in range(2):
            window.send_signal(signal.SIGINT)
            assert read(window) == "asked"
        assert window.poll() is None
        window.kill()
        _, err = window.communicate(timeout=30)
    assert err.count("something would be lost, so the window asks first") == 2


def test_a_second_interrupt_ends_it_while_the_window_asks() -> None:
    with going(CHANGED.format(answer="return asked(*more)")) as window:
        assert read(window) == "ready"
        window.send_signal(signal.SIGINT)
        assert read(window) == "asked"
        window.send_signal(signal.SIGINT)
        window.communicate(timeout=30)
    assert window.returncode == -signal.SIGINT


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_before_the_window_is_seen_a_signal_ends_it_at_once(number: signal.Signals) -> None:
    with going("pass", settle="window._first_paint.done.disconnect()") as window:
        assert read(window) == "ready"
        window.send_signal(number)
        _, err = window.communicate(timeout=30)
    assert (window.returncode, err) == (-number, "")
    assert last_unsaved() is None


def test_it_hears_of_signals_once_the_window_has_been_seen() -> None:
    tells = """
    window._first_paint.done.connect(lambda: window.do_later(lambda: print("seen", flush=True)))
    """
    with going(tells.strip(), settle="pass") as window:
        assert [read(window), read(window)] == ["ready", "seen"]
        window.send_signal(signal.SIGTERM)
        window.communicate(timeout=30)
    assert window.returncode == 143


def test_what_is_edited_before_the_panels_are_there_is_kept() -> None:
    edits = """
    fill = window.right.fill
    def edited_before(*panels):
        window.session.select("E1")
        window.part_commands.handlers["flip"]()
        signal.raise_signal(signal.SIGTERM)
        fill(*panels)
    window.right.fill = edited_before
    """
    with going(edits.strip(), settle="pass") as window:
        _, err = window.communicate(timeout=30)
    assert window.returncode == 143
    assert "what was not saved is kept in" in err
    assert last_unsaved() is not None


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_what_ends_it_from_outside_asks_nothing_and_keeps_what_is_not_saved(
    number: signal.Signals,
) -> None:
    with going(CHANGED.format(answer='return "stay"')) as window:
        assert read(window) == "ready"
        window.send_signal(number)
        out, err = window.communicate(timeout=30)
    assert (window.returncode, out) == (128 + number, "")
    unsaved = last_unsaved()
    assert unsaved is not None
    assert f"what was not saved is kept in {unsaved.kept_in}" in err
    assert unsaved.path is None
    flipped = unsaved.document()
    assert flipped.dirty
    assert flipped.layout != shipped_demo()


TERMINAL = """
import fcntl, termios
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
"""


def test_a_closed_terminal_ends_it_too_though_nothing_can_be_written_there() -> None:
    ours, its = pty.openpty()
    changed = CHANGED.format(answer='return "stay"').strip()
    code = TERMINAL + WINDOW.format(settle=SETTLE, begin=changed)
    window = subprocess.Popen(
        [sys.executable, "-c", code], cwd=ROOT, env=os.environ | {"QT_QPA_PLATFORM": "offscreen"},
        stdin=its, stdout=its, stderr=its, start_new_session=True,
    )  # fmt: skip
    try:
        os.close(its)
        seen = b""
        while b"ready" not in seen:
            seen += os.read(ours, 4096)
        os.close(ours)
        assert window.wait(timeout=30) == 128 + signal.SIGHUP
    finally:
        window.kill()
        window.wait()
    assert last_unsaved() is not None


def test_it_hears_of_the_end_of_the_session() -> None:
    asks = """
    app = QApplication.instance()
    print(app.receivers("2commitDataRequest(QSessionManager&)"), flush=True)
    """
    with going(asks.strip()) as window:
        assert read(window) == "1"
        window.send_signal(signal.SIGTERM)
        window.communicate(timeout=30)
    assert window.returncode == 143


def test_a_fault_is_told_in_the_window_where_the_console_is_gone() -> None:
    falls = """
    sys.stderr.close()
    def fail():
        raise ValueError("on purpose")
    QTimer.singleShot(0, window, fail)
    QTimer.singleShot(50, window, lambda: print(window.notice.text, flush=True))
    """
    with going(falls.strip()) as window:
        assert read(window) == "ready"
        assert read(window).startswith("An internal fault: ValueError: on purpose.")
        window.send_signal(signal.SIGTERM)
        window.communicate(timeout=30)
    assert window.returncode == 143


def test_nothing_is_kept_of_a_window_without_changes() -> None:
    with going("pass") as window:
        assert read(window) == "ready"
        window.send_signal(signal.SIGTERM)
        _, err = window.communicate(timeout=30)
    assert (window.returncode, err) == (143, "")
    assert last_unsaved() is None


def test_it_is_ended_under_the_question_that_it_asks() -> None:
    with going(CHANGED.format(answer="return asked(*more)")) as window:
        assert read(window) == "ready"
        window.send_signal(signal.SIGINT)
        assert read(window) == "asked"
        window.send_signal(signal.SIGTERM)
        window.communicate(timeout=30)
    assert window.returncode == 143
    assert last_unsaved() is not None
