"""Of many changes `gapwright mend` prints the smallest of each kind, and counts the others."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from no_desk import ran

from app.cli import mend
from app.cli.mend import WHOLE_TO, smallest_of_kinds
from app.shipped_demo import shipped_demo
from geometry.layout_file import read_layout
from geometry.search.mending.mend import Mend, Mends
from geometry.search.mending.steps import StepKind

KINDS: tuple[StepKind, ...] = ("slide", "turn", "fans")


def changes(count: int) -> tuple[Mend, ...]:
    """Return so many changes, whose kinds take turns; each makes a layout of its own name."""
    return tuple(
        Mend(
            (f"change {n}",), float(n), shipped_demo().but(name=f"Layout {n}"), (1, 2), 0,
            kinds=(KINDS[n % 3],),
        )
        for n in range(1, count + 1)
    )  # fmt: skip


def numbers(text: str) -> list[int]:
    """Return the numbers of the changes in a table."""
    return [int(n) for n in re.findall(r"^ *(\d+)  1, 2 ", text, re.MULTILINE)]


def test_a_long_list_is_told_by_the_smallest_of_each_kind_and_any_number_is_applied(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def found(*_: object, **__: object) -> Iterator[Mends]:
        yield Mends(changes(29), 40, 0, done=True)

    monkeypatch.setattr(mend, "mends", found)
    bench, out = tmp_path / "bench.json", tmp_path / "mended.json"
    ran(capsys, "demo", bench)
    text = ran(capsys, "mend", bench)[1]
    assert numbers(text) == [1, 2, 3]
    assert "26 more of the same kinds are not printed: --all prints all" in text
    text = ran(capsys, "mend", bench, "--all")[1]
    assert numbers(text) == list(range(1, 30))
    assert "--all" not in text
    assert ran(capsys, "mend", bench, "--apply", 17, "-o", out)[0] == 0
    assert read_layout(out).name == "Layout 17"


def test_what_clears_other_findings_is_another_kind_and_few_are_all_told() -> None:
    many = changes(WHOLE_TO + 1)
    other = Mend(("another",), 99.0, many[0].layout, (2,), 1, kinds=many[0].kinds)
    told = smallest_of_kinds((*many, other))
    assert told == [*enumerate(many[:3], start=1), (len(many) + 1, other)]
    assert smallest_of_kinds(many[:WHOLE_TO]) == list(enumerate(many[:WHOLE_TO], start=1))
