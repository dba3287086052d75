"""Progress stays on one line of a terminal, however narrow it is."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from app.cli.progress import line_of, tell

pytestmark = pytest.mark.skipif(os.name == "nt", reason="there are no pseudo-terminals")


def test_a_step_is_written_over_the_one_before_on_a_narrow_terminal(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Nothing that is written between two returns reaches the last of 40 columns."""
    import fcntl
    import pty
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 40, 0, 0))
    with os.fdopen(theirs, "w") as terminal:
        monkeypatch.setattr(sys, "stderr", terminal)
        for n in (1, 22, 303):
            tell(f"near misses: {n} of 1,204 looked at, none so far")
        tell("")
        monkeypatch.undo()
        written = os.read(ours, 4096).decode()
    os.close(ours)
    steps = written.split("\r")
    assert [len(step) for step in steps] == [0, 39, 39, 39, 39, 0]
    assert "near misses: 22 of" in steps[2]
    assert steps[4].strip() == ""


def test_a_file_gets_no_progress(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    out = tmp_path / "errors"
    with out.open("w") as file:
        monkeypatch.setattr(sys, "stderr", file)
        tell("near misses: 1 of 9 looked at")
        monkeypatch.undo()
    assert out.read_text() == ""
    assert len(line_of("any", 9)) == 8
