"""What cannot be written or chosen is refused before a long look, and CSV is CSV when stopped."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from no_desk import ran

from app.cli import mend, search
from geometry.search.problem import Listed
from geometry.search.run import Searching
from geometry.search.stage import Doing, Stage


@pytest.fixture
def never_looked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fails a test in which anything is searched for."""

    def refuse(*_args: object, **_options: object) -> Iterator[object]:
        raise AssertionError("it was searched for")

    monkeypatch.setattr(mend, "mends", refuse)
    monkeypatch.setattr(search, "search", refuse)


@pytest.mark.usefixtures("never_looked")
@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (("mend", "{bench}", "--apply", "0", "-o", "{here}/a.json"), "there is no change 0"),
        (("mend", "{bench}", "--apply", "-1", "-o", "{here}/a.json"), "there is no change -1"),
        (
            ("mend", "{bench}", "--apply", "1", "-o", "{here}/none/a.json"),
            "its folder is not there",
        ),
        (("mend", "{bench}", "--apply", "1", "-o", "{here}"), "is a folder"),
        (("search", "{bench}", "-o", "{here}/none/a.json"), "its folder is not there"),
        (("search", "{bench}", "--sheet", "{here}/none/a.png"), "its folder is not there"),
    ],
)
def test_what_cannot_be_is_refused_before_the_look(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, argv: tuple[str, ...], said: str
) -> None:
    bench = tmp_path / "bench.json"
    ran(capsys, "demo", bench)
    code, out, err = ran(capsys, *(word.format(bench=bench, here=tmp_path) for word in argv))
    assert (code, out) == (2, "")
    assert said in err
    assert [one.name for one in tmp_path.iterdir()] == ["bench.json"]


def test_a_search_stopped_before_it_has_rows_prints_the_head_of_its_csv(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_args: object) -> Iterator[Searching]:
        yield Searching(Stage(Doing.LISTING), listed=(Listed("roof-zone", 5, 3),))
        raise KeyboardInterrupt

    monkeypatch.setattr(search, "search", stopped)
    code, out, err = ran(capsys, "search", "--enclosure", "small-cube", "--csv")
    assert code == 130
    (head,) = csv.reader(io.StringIO(out))
    assert head[:2] == ["number", "area_cm2"]
    assert "stopped before anything was found" in err
    assert "stopped at: Putting stacks together" in err
