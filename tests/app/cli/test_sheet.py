"""`gapwright sheet` as a process on a machine without a screen."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from one_fan_box import one_fan_box, outer_fan_box
from PIL import Image

ROOT = Path(__file__).parents[3]
MM_PER_INCH = 25.4
SCREENS = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")


@pytest.fixture
def box(tmp_path: Path) -> Path:
    path = tmp_path / "box.json"
    path.write_text(json.dumps(one_fan_box(duct_end_mm=280)), encoding="utf-8")
    return path


def sheet(box: Path, *argv: str) -> subprocess.CompletedProcess[str]:
    """Run the command beside the layout file, with no screen to be found."""
    env = {name: value for name, value in os.environ.items() if name not in SCREENS}
    return subprocess.run(
        [sys.executable, "-m", "app", "sheet", box.name, *argv],
        cwd=box.parent,
        env=env | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
    )


def test_a_sheet_has_the_size_of_its_paper(box: Path) -> None:
    # ISO 216: A4 is 210 x 297, A3 297 x 420. ISO 5457: A4 stands upright, A3 lies on its long side.
    for paper, wide, high in (("A4", 210, 297), ("A3", 420, 297)):
        out = box.with_name(f"{paper}.png")
        done = sheet(box, "-o", out.name, "--paper", paper, "--dpi", "100", "--date", "2026-01-31")
        assert (done.returncode, done.stderr) == (0, "")
        assert done.stdout.splitlines()[0] == f"wrote {out.name}"
        with Image.open(out) as image:
            dpi = image.info["dpi"]
            size_mm = [dots / dpi[k] * MM_PER_INCH for k, dots in enumerate(image.size)]
        assert size_mm == pytest.approx([wide, high], abs=MM_PER_INCH / 100)
        assert dpi == pytest.approx((100, 100), abs=0.02)


def test_every_sheet_named_is_there_and_the_same_again(box: Path) -> None:
    argv = ("--paper", "A4", "--dpi", "72", "--date", "2026-01-31")
    first = sheet(box, "-o", "one.png", *argv)
    again = sheet(box, "-o", "two.png", *argv)
    ones = [line.removeprefix("wrote ") for line in first.stdout.splitlines()]
    twos = [line.removeprefix("wrote ") for line in again.stdout.splitlines()]
    assert len(ones) > 1
    assert ones == ["one.png", *(f"one-{n}.png" for n in range(2, len(ones) + 1))]
    read = [[(box.parent / name).read_bytes() for name in names] for names in (ones, twos)]
    assert read[0] == read[1]


@pytest.mark.parametrize(
    ("argv", "told"),
    [
        (("-o", "no-such-folder/out.png"), "its folder is not there"),
        (("-o", "out.png", "--scale", "1:3"), "ISO 5455"),
        (("-o", "out.png", "--scale", "50:1"), "50:1"),
    ],
)
def test_what_cannot_be_drawn_or_saved_is_told(box: Path, argv: tuple[str, ...], told: str) -> None:
    done = sheet(box, *argv)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("gapwright: ")
    assert done.stderr.count("\n") == 1
    assert told in done.stderr
    assert list(box.parent.glob("*.png")) == []


def test_names_go_into_the_title_block_and_what_is_cut_is_told(box: Path) -> None:
    # ISO 7200:2004 gives 20 characters to who made it, 10 to the department.
    argv = ("-o", "out.png", "--dpi", "50", "--date", "2026-01-31")
    done = sheet(box, *argv, "--owner", "Field acoustics lab", "--department", "Measurement")
    assert done.returncode == 0
    assert done.stderr == (
        "gapwright: title block: Resp. dept. has 11 characters and was cut to 10 (ISO 7200)\n"
    )
    named = (box.parent / "out.png").read_bytes()
    assert sheet(box, *argv).stderr == ""
    assert (box.parent / "out.png").read_bytes() != named


def test_the_status_of_the_document_goes_into_the_title_block(box: Path) -> None:
    # ISO 7200:2004 gives 20 characters to the document status.
    argv = ("-o", "out.png", "--dpi", "50", "--date", "2026-01-31")
    done = sheet(box, *argv, "--status", "released for the workshop")
    assert done.returncode == 0
    assert "has 25 characters and was cut to 20 (ISO 7200)" in done.stderr


def test_further_sheets_of_an_earlier_export_are_told_and_kept(box: Path) -> None:
    argv = ("-o", "out.png", "--dpi", "50", "--date", "2026-01-31")
    count = len(sheet(box, *argv).stdout.splitlines())
    old = [box.with_name(f"out-{number}.png") for number in (count + 1, count + 2, count + 4)]
    for path in old:
        path.write_bytes(b"old")
    # The last one does not follow on, so it is none of ours.
    assert [line.split(": ")[1] for line in sheet(box, *argv).stderr.splitlines()] == [
        path.name for path in old[:2]
    ]
    assert all(path.read_bytes() == b"old" for path in old)


def test_a_fan_on_the_outer_side_is_on_the_sheet(box: Path) -> None:
    # The plate of its zone is among the dimensions that the sheet lists.
    box.write_text(json.dumps(outer_fan_box()), encoding="utf-8")
    done = sheet(box, "-o", "outer.png", "--paper", "A4", "--dpi", "72", "--date", "2026-01-31")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines()[0] == "wrote outer.png"
