"""Exported pages read back with another library: size, resolution, true scale, same bytes."""

from __future__ import annotations

import datetime
import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from app.drawing.primitives import Drawing
from app.paint.sheet_png import write_sheets_png
from app.sheet.compose import compose_sheets
from app.sheet.mark_strip import SCALE_BAR_MM
from app.sheet.paper import PAPERS
from app.sheet.scaled import extent
from geometry.checks.runner import Checked

MM_PER_INCH = 25.4
ROOT = Path(__file__).resolve().parents[3]


def _dots_per_mm(image: Image.Image) -> float:
    """Read the resolution that the file tells (PNG pHYs, dots per metre)."""
    across, down = image.info["dpi"]
    assert across == down
    return across / MM_PER_INCH


@pytest.mark.parametrize(("paper", "dpi"), [("A3", 150), ("A4", 300), ("A4", 254)])
@pytest.mark.usefixtures("qapp")
def test_pages_have_the_size_of_their_paper(
    small_checked: Checked, date: datetime.date, tmp_path: Path, paper: str, dpi: int
) -> None:
    # ISO 216: A3 420 x 297, A4 210 x 297. PNG stores whole dots per metre.
    sheets = compose_sheets(small_checked, paper=paper, date=date)
    files = write_sheets_png(sheets, tmp_path / "page.png", dpi)
    assert [one.name for one in files] == ["page.png", *(f"page-{k}.png" for k in range(2, 9))][
        : len(sheets)
    ]
    for one in files:
        with Image.open(one) as image:
            per_mm = _dots_per_mm(image)
            assert image.size[0] == pytest.approx(PAPERS[paper].width_mm * dpi / 25.4, abs=1)
            assert image.size[1] == pytest.approx(PAPERS[paper].height_mm * dpi / 25.4, abs=1)
            assert per_mm * 1000 == pytest.approx(round(dpi / 0.0254), abs=1e-6)


@pytest.mark.parametrize("dpi", [150, 300])
@pytest.mark.usefixtures("qapp")
def test_scale_bar_is_100_mm_when_printed(
    small_checked: Checked, date: datetime.date, tmp_path: Path, dpi: int
) -> None:
    sheets = compose_sheets(small_checked, paper="A4", date=date)
    file = write_sheets_png(sheets, tmp_path / "page.png", dpi)[0]
    x0, y0, x1, y1 = _bar(sheets[0])
    with Image.open(file) as image:
        per_mm = _dots_per_mm(image)
        row = round((y0 + y1) / 2 * per_mm)
        ends = [_line_middle(image, row, x * per_mm, per_mm) for x in (x0, x1)]
    assert (ends[1] - ends[0]) / per_mm == pytest.approx(SCALE_BAR_MM, abs=0.1)


def _bar(sheet: Drawing) -> tuple[float, float, float, float]:
    group = next(g for g in sheet.groups if g.key == "sheet:scale-bar")
    boxes = [extent(one) for one in group.primitives if getattr(one, "stroke", None) is not None]
    return boxes[0]


def _line_middle(image: Image.Image, row: int, near: float, per_mm: float) -> float:
    """Return the middle of the darkest upright line within 1 mm of a place, in dots."""
    grey = image.convert("L")
    first = round(near - per_mm)
    darkness = [255 - grey.getpixel((x, row)) for x in range(first, first + round(2 * per_mm))]
    # The fields of the bar are tinted light grey; only its outline is darker than half.
    weights = [max(0, dark - 110) for dark in darkness]
    assert sum(weights) > 0
    return first + sum((k + 0.5) * w for k, w in enumerate(weights)) / sum(weights)


@pytest.mark.usefixtures("qapp")
def test_same_input_gives_the_same_bytes(
    large_checked: Checked, date: datetime.date, tmp_path: Path
) -> None:
    written = []
    for name in ("one", "two"):
        sheets = compose_sheets(large_checked, paper="A4", date=date)
        (tmp_path / name).mkdir()
        files = write_sheets_png(sheets[:2], tmp_path / name / "page.png", 100)
        written.append([file.read_bytes() for file in files])
    assert written[0] == written[1]


def test_another_date_gives_another_sheet(small_checked: Checked, date: datetime.date) -> None:
    later = date + datetime.timedelta(days=1)
    assert compose_sheets(small_checked, date=date) != compose_sheets(small_checked, date=later)


COMPOSE = """
import datetime, hashlib, sys
from app.demo import demo_layout
from app.sheet.compose import compose_sheets
from catalog.store import load_library
from geometry.checks.runner import check_layout
checked = check_layout(demo_layout(load_library()))
sheets = compose_sheets(checked, paper="A3", date=datetime.date(2026, 1, 31))
assert not [name for name in sys.modules if name.startswith("PySide6")]
sys.stdout.write(hashlib.sha256(repr(sheets).encode()).hexdigest())
"""


def test_sheets_do_not_hang_on_hash_seeds_and_need_no_qt() -> None:
    digests = []
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        run = subprocess.run(
            [sys.executable, "-c", COMPOSE],
            cwd=ROOT,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        assert run.returncode == 0, run.stderr
        digests.append(run.stdout)
    assert digests[0] == digests[1]
    assert len(digests[0]) == len(hashlib.sha256().hexdigest())


@pytest.mark.usefixtures("qapp")
def test_nothing_runs_over_the_edge_of_the_picture(
    large_checked: Checked, date: datetime.date, tmp_path: Path
) -> None:
    # The outermost 4 mm of every page are the untouched border outside the grid reference.
    sheets = compose_sheets(large_checked, paper="A3", date=date)
    for file in write_sheets_png(sheets, tmp_path / "page.png", 72):
        with Image.open(file) as image:
            grey = image.convert("L")
            margin = int(4 * _dots_per_mm(image))
            width, height = grey.size
            for box in (
                (0, 0, width, margin),
                (0, height - margin, width, height),
                (0, 0, margin, height),
                (width - margin, 0, width, height),
            ):
                assert grey.crop(box).getextrema() == (255, 255)
