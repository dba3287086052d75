"""A desk that nobody may come to, for commands that need no Qt, and what a command tells."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.cli.desk import Desk
from app.cli.main import run


class NoDesk:
    """Fails the test when a window is opened or a sheet painted."""

    def open_window(self, path: Path | None, *, demo: bool) -> int:
        raise AssertionError("the window was opened")

    def write_sheets(self, sheets: object, out: Path, dpi: int) -> tuple[Path, ...]:
        raise AssertionError(f"{out} was painted")


DESK: Desk = NoDesk()


def ran(capsys: pytest.CaptureFixture[str], *argv: object) -> tuple[int, str, str]:
    """Run a command; return its exit code, what it printed, and what it told beside that."""
    code = run([str(word) for word in argv], DESK)
    out, err = capsys.readouterr()
    return code, out, err
