"""How long do composing and exporting the clearance sheet take? Figures, no target yet.

`pytest --benchmark-enable tests/benchmarks/test_sheet_speed.py` prints them; an ordinary run only
sees that the pages are written.
"""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from app.demo import demo_layout
from app.paint.sheet_png import write_sheets_png
from app.sheet.compose import compose_sheets
from catalog.store import load_library
from geometry.checks.runner import Checked, check_layout

DATE = datetime.date(2026, 1, 31)


@pytest.fixture(scope="module")
def demo_checked() -> Checked:
    """The demo layout: three stacks, two findings."""
    return check_layout(demo_layout(load_library()))


def test_compose_a3(benchmark: BenchmarkFixture, demo_checked: Checked) -> None:
    sheets = benchmark(compose_sheets, demo_checked, paper="A3", date=DATE)
    assert len(sheets) == 2


@pytest.mark.usefixtures("qapp")
@pytest.mark.parametrize("dpi", [150, 300])
def test_export_a3(
    benchmark: BenchmarkFixture, demo_checked: Checked, tmp_path: Path, dpi: int
) -> None:
    sheets = compose_sheets(demo_checked, paper="A3", date=DATE)
    files = benchmark.pedantic(
        write_sheets_png, args=(sheets, tmp_path / "page.png", dpi), rounds=3, iterations=1
    )
    assert [file.name for file in files] == ["page.png", "page-2.png"]
