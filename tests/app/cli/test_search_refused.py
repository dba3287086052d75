"""What `gapwright search` refuses before it begins, zones by name, and open figures in CSV."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from no_desk import DESK, NoDesk, ran

from app.cli.main import run
from app.cli.outcome import Unusable
from app.cli.search import COMMAND

SMALL = ("search", "--enclosure", "small-cube", "--slides", "1", "--parts", "fan-120-25")


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("--seconds", "0"), "no time to search"),
        (("--row", "0"), "no row 0"),
        (("--row", "99", "--sheet", "s.png"), "--row says which row -o writes"),
        (("--finer", "roof-zone"), "--finer needs two zones"),
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


def test_a_row_that_is_not_there_keeps_no_sheet_from_being_written(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    class Easel(NoDesk):
        def write_sheets(self, sheets: object, out: Path, dpi: int) -> tuple[Path, ...]:
            out.write_bytes(b"painted")
            return (out,)

    sheet, row = tmp_path / "s.png", tmp_path / "row.json"
    asked = ("--zones", "roof-zone", "--row", "99", "-o", str(row), "--sheet", str(sheet))
    assert run([*SMALL, *asked], Easel()) == 2
    assert "there is no row 99 (there are " in capsys.readouterr().err
    assert sheet.exists()
    assert not row.exists()


def test_a_file_that_ends_the_words_of_an_option_is_the_file(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    bench = str(tmp_path / "bench.json")
    assert ran(capsys, "demo", bench)[0] == 0
    more = ("--want", "fans", "--slides", "1", "--json")
    told = ran(capsys, "search", bench, *more, "--zones", "floor-zone", "--parts", "fan-120-25")
    for words in (
        (*more, "--zones", "floor-zone", "--parts", "fan-120-25", bench),
        (*more, "--parts", "fan-120-25", "--zones", "floor-zone", bench),
        ("--zones", "floor-zone", bench, "--parts", "fan-120-25", *more),
        (*more, "--parts=fan-120-25", "--zones=floor-zone", bench),
    ):
        assert ran(capsys, "search", *words) == told
    assert (told[0], json.loads(told[1])["enclosure"]) == (0, "bench-box")


def test_lists_are_written_with_commas_or_blanks(capsys: pytest.CaptureFixture[str]) -> None:
    empty = ("search", "--enclosure", "bench-box", "--slides", "1", "--json")
    blanks = (
        "--parts", "exchanger-1x120-30", "fan-120-25", "--zones", "floor-zone", "front-zone",
        "--fans", "plate", "far", "--finer", "floor-zone", "front-zone", "--judge", "worst case",
    )  # fmt: skip
    commas = (
        "--parts", "exchanger-1x120-30,fan-120-25", "--zones", "floor-zone,front-zone",
        "--fans", "plate,far", "--finer", "floor-zone,front-zone", "--judge", "worst-case",
    )  # fmt: skip
    told = ran(capsys, *empty, *blanks)
    assert told[0] == 0
    assert ran(capsys, *empty, *commas) == told


def test_judging_as_drawn_is_asked_for_in_the_words_of_the_answer() -> None:
    said = COMMAND.parser().parsed
    judged = [said(["--judge", how]) for how in ("as-drawn", "as drawn", "nominal")]
    assert [one and one.judge for one in judged] == ["nominal"] * 3
    with pytest.raises(Unusable, match=r"'worst' \(choose from worst-case, as-drawn\)"):
        said(["--judge", "worst", "case"])
