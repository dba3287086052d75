"""Progress stays on one line of a terminal, however narrow it is, and is seldom in a file."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from app.cli import progress
from app.cli.progress import Progress, line_of

pytestmark = pytest.mark.skipif(os.name == "nt", reason="there are no pseudo-terminals")


def test_a_step_is_written_over_the_one_before_on_a_narrow_terminal(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Nothing that is written between two returns reaches the last of 40 columns."""
    import fcntl
    import pty
    import select
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 40, 0, 0))
    with os.fdopen(theirs, "w") as terminal:
        monkeypatch.setattr(sys, "stderr", terminal)
        told = Progress()
        for n in (1, 22, 303):
            told.tell(f"near misses: {n} of 1,204 looked at, none so far")
        told.tell("")
        monkeypatch.undo()
        written = ""
        while written.count("\r") < 5 and select.select([ours], [], [], 5.0)[0]:
            written += os.read(ours, 4096).decode()
    os.close(ours)
    steps = written.split("\r")
    assert [len(step) for step in steps] == [0, 39, 39, 39, 39, 0]
    assert "near misses: 22 of" in steps[2]
    assert steps[4].strip() == ""


def test_a_file_gets_a_line_every_ten_seconds_and_none_before(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    now_s = 100.0
    monkeypatch.setattr(progress, "monotonic", lambda: now_s)
    told = Progress()
    out = tmp_path / "errors"
    with out.open("w") as file:
        monkeypatch.setattr(sys, "stderr", file)
        for now_s in (101.0, 109.9, 110.0, 119.0, 121.0):
            told.tell(f"near misses: {now_s:g} of 1,204 looked at")
        told.tell("")
        monkeypatch.undo()
    assert out.read_text().splitlines() == [
        "near misses: 110 of 1,204 looked at",
        "near misses: 121 of 1,204 looked at",
    ]
    assert len(line_of("any", 9)) == 8
