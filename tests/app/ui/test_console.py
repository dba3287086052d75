"""Words for the console are written where there is one, and harm nothing where there is none."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from app.ui.console import say_on_console


def test_a_line_is_written(capsys: pytest.CaptureFixture[str]) -> None:
    say_on_console("kept")
    assert capsys.readouterr().err == "kept\n"


def test_a_program_without_a_console_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", None)
    say_on_console("kept")


def test_a_console_that_is_gone_does_not_change_how_the_program_ends() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    code = "from app.ui.console import say_on_console as say; say('one'); say('two')"
    done = subprocess.run([sys.executable, "-c", code], stderr=writing, check=False)
    os.close(writing)
    assert done.returncode == 0
