"""The rows of `gapwright search` are numbered as they are printed, and asked for by these numbers;
how far it is is told in the words of the window."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from no_desk import ran

from app.cli import search as search_command
from geometry.layout_file import read_layout
from geometry.search.stage import Doing

ASKED = (
    "--enclosure", "bench-box", "--slides", "1", "--judge", "as-drawn", "--parts",
    "exchanger-1x120-20", "exchanger-2x120-20", "exchanger-2x120-60", "fan-120-25",
    "--want", "volume,fans,leftover",
)  # fmt: skip


def numbers(text: str) -> list[int]:
    """Return the numbers of the rows in the order of the table."""
    table = text.partition("best trade-offs")[2].partition("\nleftover: ")[0]
    return [int(number) for number in re.findall(r"^ {0,2}(\d+) {2,}\d", table, re.MULTILINE)]


def test_rows_are_numbered_in_the_order_in_which_they_are_printed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    text = ran(capsys, "search", *ASKED)[1]
    told = numbers(text)
    assert told == list(range(1, len(told) + 1))
    with monkeypatch.context() as as_found:
        as_found.setattr(search_command, "in_printed_order", lambda found: found)
        found = numbers(ran(capsys, "search", *ASKED)[1])
    assert found != told, "rows are found in another order, else this shows nothing"
    assert sorted(found) == told
    # The first row whose number is another one now, by --json, --details and -o.
    one = next(k for k, number in enumerate(found) if number != told[k]) + 1
    out = tmp_path / "row.json"
    text = ran(capsys, "search", *ASKED, "--details", one, "--row", one, "-o", out)[1]
    rows = json.loads(ran(capsys, "search", *ASKED, "--json")[1])["rows"]
    flat = " ".join(text.split())
    assert f"row {one}: {rows[one - 1]['pattern']} " in flat
    zones = {zone["zone"] for zone in rows[one - 1]["layout"]["stacks"]}
    assert {stack.zone for stack in read_layout(out).stacks} == zones


def test_how_far_it_is_is_told_in_plain_words(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[str] = []
    monkeypatch.setattr(search_command.Progress, "tell", lambda _, text: told.append(text))
    ran(capsys, "search", *ASKED)
    # Here no states are chosen, nothing excludes anything, and the count ends.
    seldom = {Doing.SETTLING, Doing.ESTIMATING, Doing.EXCLUDING, Doing.EXCLUDING_FINER}
    kinds = [one.value for one in Doing if one not in seldom] + ["near misses: "]
    for kind in kinds:
        assert any(text.startswith(kind.capitalize()) for text in told), kind
    for text in filter(None, told):
        assert any(text.startswith(kind.capitalize()) for kind in kinds), text
