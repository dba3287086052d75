"""`gapwright mend` and `gapwright search` stopped early, and what was not changed for a lock."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from no_desk import ran

from app.cli import mend
from app.cli import search as search_command
from app.shipped_demo import shipped_demo
from geometry.edits import set_locked
from geometry.layout_file import write_layout
from geometry.search.mending.mend import Mend, Mends
from geometry.search.run import Searching, search


def test_a_change_is_not_written_where_the_search_was_stopped(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    some = Mend(("change 1",), 1.0, shipped_demo(), (1,), 0, kinds=("slide",))

    def stopped(*_: object, **__: object) -> Iterator[Mends]:
        yield Mends((some,), 7, 0, done=False)
        raise KeyboardInterrupt

    bench, out = tmp_path / "bench.json", tmp_path / "mended.json"
    ran(capsys, "demo", bench)
    monkeypatch.setattr(mend, "mends", stopped)
    code, text, err = ran(capsys, "mend", bench, "--apply", 1, "-o", out)
    assert code == 130
    assert "change 1" in text
    assert "Stopped before it was done" in text
    assert err.endswith(
        "gapwright: stopped: changes have their numbers and their least amounts only at the end; "
        f"{out} is not written\n"
    )
    assert not out.exists()
    # Of a number that there is not yet nothing can be said.
    code, _, err = ran(capsys, "mend", bench, "--apply", 2, "-o", out)
    assert (code, "there is no change" in err) == (130, False)
    assert not out.exists()


def test_a_row_of_a_search_that_was_stopped_is_written_and_said_to_be_of_what_was_found(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def stopped(*args: object) -> Iterator[Searching]:
        yield from search(*args)  # type: ignore[arg-type]
        raise KeyboardInterrupt

    out = tmp_path / "row.json"
    asked = ("search", "--enclosure", "small-cube", "--parts", "fan-120-25", "--slides", 1)
    code, _, err = ran(capsys, *asked, "--seconds", 1, "-o", out)
    assert (code, err.splitlines()[-1]) == (0, f"gapwright: wrote row 1 to {out}")
    monkeypatch.setattr(search_command, "search", stopped)
    code, _, err = ran(capsys, *asked, "-o", out)
    assert code == 130
    assert err.endswith(f"wrote row 1 to {out}, of those found before the search was stopped\n")


def test_what_is_locked_is_named_where_it_might_have_been_changed(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = tmp_path / "bench.json"
    write_layout(path, shipped_demo())
    assert "Locked" not in ran(capsys, "mend", path, "--finding", 1)[1]
    write_layout(path, set_locked(shipped_demo(), "S1", locked=True))
    text = ran(capsys, "mend", path)[1]
    assert "Locked, and so not changed: the stack on front bracket." in text
    printed = json.loads(ran(capsys, "mend", path, "--json")[1])
    assert printed["locked"] == ["the stack on front bracket"]
    write_layout(path, set_locked(shipped_demo(), "P1", locked=True))
    said = " ".join(ran(capsys, "mend", path)[1].split())
    assert "not changed: Pump, compact body 60 x 60 x 40 on a 120 plate (P1)." in said
