"""What an answer does not hold is said at the terminal: a change that clears all, a pump."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from no_desk import ran

from app.cli import mend
from geometry.checks.runner import check_layout
from geometry.layout_file import read_layout
from geometry.search.mending.mend import Mend, Mends

NONE_CLEARS_ALL = "No one or two changes tried clear all; these clear some:"
NO_PUMP = (
    "pumps fit, but no best row has one: nothing that counts is better with one; ask for exactly "
    "one to see them (--pump required)"
)

PUMPED = (
    "--enclosure", "small-cube", "--slides", "1", "--parts", "fan-120-25", "pump-compact",
    "--free-pumps", "--want", "fans",
)  # fmt: skip


def test_changes_that_clear_only_some_are_headed_so(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = tmp_path / "bench.json"
    ran(capsys, "demo", bench)
    layout = read_layout(bench)
    report = check_layout(layout, remedies=False).report
    every = tuple(range(1, report.blocked + report.tight + 1))
    assert len(every) > 1

    def said(*clears: int, finding: tuple[object, ...] = ()) -> str:
        def found(*_: object, **__: object) -> Iterator[Mends]:
            yield Mends((Mend(("a change",), 1.0, layout, clears, 1),), 1, 0, done=True)

        monkeypatch.setattr(mend, "mends", found)
        return ran(capsys, "mend", bench, *finding)[1]

    assert NONE_CLEARS_ALL in said(1)
    assert NONE_CLEARS_ALL not in said(1, finding=("--finding", 1))
    assert NONE_CLEARS_ALL not in said(*every)


@pytest.mark.parametrize(("wish", "told"), [("allowed", True), ("required", False)])
def test_that_no_row_holds_a_pump_though_some_fit_is_said(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, wish: str, told: bool
) -> None:
    monkeypatch.setenv("COLUMNS", "110")
    code, text, _ = ran(capsys, "search", *PUMPED, "--pump", wish)
    assert code == 0
    assert (NO_PUMP in " ".join(text.split())) == told
