"""`gapwright search --sheet`: the answer as sheets, beside what is printed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from sheet_looks import words_of

from app.cli.main import run
from app.drawing.primitives import Drawing
from app.sheet.export import sheet_path

SMALL = (
    "search", "--enclosure", "small-cube", "--slides", "1", "--parts", "exchanger-1x120-30",
    "fan-120-25",
)  # fmt: skip


class Painter:
    """A desk that keeps the sheets and writes empty files in their place."""

    def __init__(self) -> None:
        self.sheets: list[Drawing] = []
        self.dpi = 0

    def open_window(self, path: Path | None, *, demo: bool) -> int:
        raise AssertionError("the window was opened")

    def write_sheets(self, sheets: Sequence[Drawing], out: Path, dpi: int) -> list[Path]:
        self.sheets, self.dpi = list(sheets), dpi
        files = [sheet_path(out, number) for number in range(1, len(sheets) + 1)]
        for file in files:
            file.touch()
        return files


def test_the_sheets_tell_what_is_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    desk, out = Painter(), tmp_path / "fits.png"
    assert run([*SMALL, "--sheet", str(out), "--paper", "a4"], desk) == 0
    printed, told = capsys.readouterr()
    words = words_of(desk.sheets)
    count = next(line for line in printed.splitlines() if "(exact count)" in line)
    assert count.split(" combinations")[0] in words
    assert "What fits, as listed options" in words
    assert "Near misses (without cutting)" in words
    assert {sheet.bounds for sheet in desk.sheets} == {(0.0, 0.0, 210.0, 297.0)}
    assert desk.dpi == 300
    assert f"wrote {out}" in told


def test_another_kind_of_picture_is_refused_before_anything_is_searched(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    desk = Painter()
    assert run([*SMALL, "--sheet", str(tmp_path / "fits.pdf")], desk) == 2
    assert "only PNG can be written" in capsys.readouterr().err
    assert desk.sheets == []


def test_a_sheet_of_an_earlier_and_longer_answer_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    desk, out = Painter(), tmp_path / "fits.png"
    for number in range(2, 9):
        sheet_path(out, number).touch()
    run([*SMALL, "--sheet", str(out)], desk)
    left = sheet_path(out, len(desk.sheets) + 1).name
    assert f"{left}: is no sheet of this search" in capsys.readouterr().err
