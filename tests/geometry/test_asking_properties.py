"""No two cached properties ask for each other: threads would wait for each other for ever."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import asking_properties

ROOT = Path(__file__).parents[2]


def test_properties_that_ask_for_each_other_are_found() -> None:
    asked = [("a", "b"), ("b", "c"), ("c", "b"), ("c", "d"), ("e", "a")]
    assert asking_properties.in_circles(asked) == {"b", "c"}


def test_none_asks_for_itself_over_others() -> None:
    told = subprocess.run(
        [sys.executable, asking_properties.__file__],
        check=True,
        capture_output=True,
        text=True,
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )
    asked, *circles = told.stdout.split()
    assert int(asked) > 30, "it has looked"
    assert circles == []
