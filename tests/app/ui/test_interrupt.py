"""Ctrl-C in the terminal closes the window, which asks first where something would be lost."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]

pytestmark = pytest.mark.skipif(os.name == "nt", reason="no signals of this kind there")

WINDOW = """
import signal, sys
# What a shell runs in the background begins deaf to interrupts, and so do its children.
signal.signal(signal.SIGINT, signal.default_int_handler)
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from app.ui import window as ui
shown = ui.MainWindow.showEvent
def ready(self, event):
    shown(self, event)
    QTimer.singleShot(0, self, lambda: begin(self))
def begin(window):
    {begin}
    print("ready", flush=True)
ui.MainWindow.showEvent = ready
from app.__main__ import main
sys.argv = ["gapwright", "--demo"]
sys.exit(main())
"""

CHANGED = """
    window.settle()
    window.session.select("E1")
    window.actions_by_name["flip"].trigger()
    asked = window.files.ask_about_changes
    def ask(*more):
        QTimer.singleShot(0, lambda: print("asked", flush=True))
        {answer}
    window.files.ask_about_changes = ask
"""


def going(begin: str) -> subprocess.Popen[str]:
    code = WINDOW.format(begin=begin.strip())
    env = os.environ | {"QT_QPA_PLATFORM": "offscreen"}
    return subprocess.Popen(
        [sys.executable, "-c", code], cwd=ROOT, env=env, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


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
