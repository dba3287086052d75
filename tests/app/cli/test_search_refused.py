"""What `gapwright search` refuses before it begins, zones by name, and open figures in CSV."""

from __future__ import annotations

import csv
import io

import pytest
from no_desk import DESK

from app.cli.main import run

SMALL = ("search", "--enclosure", "small-cube", "--slides", "1", "--parts", "fan-120-25")


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("--seconds", "0"), "no time to search"),
        (("--row", "0"), "no row 0"),
        (("--details", "1", "0"), "no row 0 (rows are counted from 1)"),
        (("--details", "-1", "-o", "row.json"), "no row -1 (rows are counted from 1)"),
        (("--csv", "--json"), "not both"),
        (("--free-pumps",), "--free-pumps needs --pump"),
        (("--enclosure", "nowhere"), "small-cube"),
        (("--parts", ""), "names no part"),
        (("--parts", "fan-120-25", " "), "names no part"),
        (
            ("--enclosure", "tall-tower", "--slides", "21", "--parts", "exchanger", "fan"),
            "--slides ",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_words(
    capsys: pytest.CaptureFixture[str], asked: tuple[str, ...], said: str
) -> None:
    assert run([*SMALL, *asked], DESK) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err


def test_a_zone_answers_to_its_name_and_what_nothing_bounds_is_open(
    capsys: pytest.CaptureFixture[str],
) -> None:
    from catalog.store import Library

    zone = Library().enclosure("small-cube").zones[0]
    written = []
    for word in (zone.id, zone.name):
        assert run([*SMALL, "--csv", "--want", "parts,leftover", "--zones", word], DESK) == 0
        written.append(capsys.readouterr()[0])
    assert written[0] == written[1]
    (row, *_) = csv.DictReader(io.StringIO(written[0]))
    # The fewest parts are none at all, and nothing bounds the depth of an empty zone.
    assert (row["parts"], row["leftover_mm"]) == ("0", "open")
