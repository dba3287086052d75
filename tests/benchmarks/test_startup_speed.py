"""How long does a check take from the command line, against the least that its libraries cost?

The floor is a bare interpreter that imports numpy, shapely and pydantic and builds forty flat
models, each with its validator, as a program with forty kinds of value in its files must. The
target is 1.5 times the floor; times go to the report, and the test asserts a ratio with room to
spare, since a shared machine is no clock.
"""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest
from one_fan_box import one_fan_box

ROOT = Path(__file__).parents[2]
ROUNDS = 5
TARGET = 1.5
MOST = 2.5

FLOOR = """
import numpy, shapely, pydantic
for number in range(40):
    pydantic.create_model(
        f"Flat{number}",
        __config__=pydantic.ConfigDict(frozen=True, extra="forbid", strict=True),
        **{f"side_{k}_mm": (float, pydantic.Field(gt=0, le=10_000)) for k in range(6)},
        name=(str, "flat"),
    )
"""


def _seconds(command: Sequence[str]) -> float:
    start = time.perf_counter()
    done = subprocess.run(command, cwd=ROOT, capture_output=True)
    seconds = time.perf_counter() - start
    assert done.returncode == 0, done.stderr
    return seconds


def medians(*commands: Sequence[str]) -> list[float]:
    """Return the median seconds of each command, run by turns so that all meet the same load."""
    taken: list[list[float]] = [[] for _ in commands]
    for _ in range(ROUNDS + 1):
        for times, command in zip(taken, commands, strict=True):
            times.append(_seconds(command))
    return [statistics.median(times[1:]) for times in taken]


@pytest.fixture
def layout_file(tmp_path: Path) -> Path:
    path = tmp_path / "box.json"
    path.write_text(json.dumps(one_fan_box()), encoding="utf-8")
    return path


def test_check_starts_in_little_more_than_its_libraries(
    layout_file: Path, record_property: pytest.RecordProperty
) -> None:
    floor, check = medians(
        [sys.executable, "-c", FLOOR],
        [sys.executable, "-m", "app", "check", str(layout_file)],
    )
    ratio = check / floor
    print(f"\nfloor {floor * 1000:.0f} ms, check {check * 1000:.0f} ms, ratio {ratio:.2f}")
    record_property("floor_ms", round(floor * 1000))
    record_property("check_ms", round(check * 1000))
    record_property("ratio", round(ratio, 2))
    assert ratio < MOST


def test_check_loads_nothing_that_it_does_not_need(layout_file: Path) -> None:
    code = (
        "import sys\n"
        "from app.__main__ import main\n"
        f"sys.argv = ['gapwright', 'check', {str(layout_file)!r}]\n"
        "assert main() == 0\n"
        "print('\\n'.join(sys.modules), file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    loaded = set(done.stderr.split())
    heavy = {
        "PySide6",
        "app.ui",
        "app.paint",
        "app.sheet",
        "app.drawing",
        "catalog.store",
        "asyncio",
    }
    assert loaded & heavy == set()
