"""`gapwright search` and `gapwright mend` from the command line, without Qt."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path

import jsonschema
import pytest
from no_desk import ran

from app.cli import mend as mend_command
from app.cli import search as search_command
from app.cli.schema import schema_of
from catalog.store import Library
from geometry.checks.runner import check_layout
from geometry.layout_file import parse_layout, read_layout, write_layout
from geometry.search.told_figures import told_figure
from geometry.zone_names import zone_names

SMALL = (
    "--enclosure", "small-cube", "--slides", "1", "--parts", "exchanger-1x120-30",
    "exchanger-2x80-30", "fan-120-25", "fan-80-25",
)  # fmt: skip

GAPS = ("clearance", "port_end", "leftover_depth", "worst_case")


def test_table_json_and_csv_tell_the_same_rows(capsys: pytest.CaptureFixture[str]) -> None:
    want = ("--want", "volume,leftover")
    code, text, _ = ran(capsys, "search", *SMALL, *want)
    assert code == 0
    said = json.loads(ran(capsys, "search", *SMALL, *want, "--json")[1])
    assert said["format"] == "gapwright-search"
    assert said["rows_proven"]
    count = said["count"]
    assert count["kind"] == "exact"
    assert f"{count['exact']:,} of {count['combinations']:,} combinations fit" in text
    rows = list(csv.DictReader(io.StringIO(ran(capsys, "search", *SMALL, *want, "--csv")[1])))
    assert [(float(r["volume_cm3"]), int(r["like_it"])) for r in rows] == [
        (pytest.approx(r["figures"]["volume"], abs=0.01), r["like_it"]) for r in said["rows"]
    ]
    names = zone_names(Library().enclosure("small-cube"))
    for row, of_csv in zip(said["rows"], rows, strict=True):
        figures = (*row["figures"].values(), *(mm for f in row["free_slides"] for mm in f["u_mm"]))
        assert all(figure is None or figure == round(figure, 3) for figure in figures)
        left = "open" if row["left_in_place_mm"] is None else f"{row['left_in_place_mm']:g}"
        assert of_csv["left_in_place_mm"] == left
        for free in row["free_slides"]:
            told = of_csv[names[free["zone"]]].partition("; free to slide ")[2]
            ends = [f"{mm:.1f} mm" for n in "uv" for mm in free[f"{n}_mm"] if round(mm, 1)]
            assert re.findall(r"\d+\.\d mm", told) == ends
            assert ("not free to slide" in of_csv[names[free["zone"]]]) == (not ends)
    assert any(max(*f["u_mm"], *f["v_mm"]) > 0 for r in said["rows"] for f in r["free_slides"])
    assert "  tight at worst\n" in text
    assert "longest core" in text
    volumes = [r["figures"]["volume"] for r in said["rows"]]
    assert len(volumes) > 1
    assert volumes == sorted(volumes, reverse=True)


def test_a_row_is_written_as_a_layout_that_passes_the_check(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    out = tmp_path / "best.json"
    code, _, _ = ran(capsys, "search", *SMALL, "-o", out)
    assert code == 0
    report = check_layout(read_layout(out), remedies=False).report
    assert report.depths
    assert [f.kind for f in report.findings if f.verdict.value == "blocked"] == []
    assert {f.kind for f in report.findings if f.verdict.value == "tight"} <= {"worst_case"}


def test_mend_writes_a_layout_that_is_clear(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    bench, out = tmp_path / "bench.json", tmp_path / "mended.json"
    ran(capsys, "demo", bench)
    code, text, _ = ran(capsys, "mend", bench, "--finding", 1, "--apply", 1, "-o", out)
    assert code == 0
    assert "verified by the full check" in text
    before = check_layout(read_layout(bench), remedies=False).report
    after = check_layout(read_layout(out), remedies=False).report
    assert (before.blocked, after.blocked) == (1, 0)
    assert after.tight <= before.tight


def test_mend_tells_the_findings_that_are_asked_for_and_explains_its_columns(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    bench = tmp_path / "bench.json"
    ran(capsys, "demo", bench)
    first, second = check_layout(read_layout(bench), remedies=False).report.findings[:2]
    lines = ran(capsys, "mend", bench, "--finding", 1)[1].splitlines()
    assert max(map(len, lines)) <= 80
    text = " ".join(" ".join(lines).split())
    assert f"1 BLOCKED {first.title}" in text
    assert second.title not in text
    assert "left: how many findings of the whole layout would still be" in text
    assert json.loads(ran(capsys, "mend", bench, "--finding", 1, "--json")[1])["asked"] == 1


@pytest.mark.parametrize(
    ("argv", "message"),
    [
        (("search",), "give a layout FILE or --enclosure NAME"),
        (("search", "--enclosure", "small-cub"), "did you mean small-cube"),
        (("search", *SMALL, "--want", "beauty"), "'beauty' is no measure"),
        (("search", *SMALL[:4], "--parts", "zeppelin"), "no part of the library matches"),
        (("search", *SMALL, "--zones", "cellar"), 'there is no zone "cellar"'),
        (("search", *SMALL, "--slides", 99), "99 slides cannot be listed"),
        (("search", *SMALL, "--finer", "cellar", "roof-zone"), 'there is no zone "cellar"'),
        (("search", *SMALL, "--finer", "roof-zone", "roof-zone"), "--finer needs two zones"),
        (("mend", "none.json"), "none.json"),
    ],
)
def test_what_cannot_be_searched_is_said_in_one_line(
    capsys: pytest.CaptureFixture[str], argv: tuple[object, ...], message: str
) -> None:
    code, out, err = ran(capsys, *argv)
    assert (code, out) == (2, "")
    assert message in err


def test_what_excludes_what_is_told_more_finely_of_two_zones(
    capsys: pytest.CaptureFixture[str],
) -> None:
    asked = ("search", *SMALL, "--finer", "side-zone", "roof-zone")
    said = json.loads(ran(capsys, *asked, "--json")[1])
    jsonschema.validate(said, schema_of("search"))
    (finer,) = said["exclusions_finer"]
    assert finer["zones"] == ["side-zone", "roof-zone"]
    excluded = sum(sum(row) for row in finer["excluded"])
    told = [one for one in said["exclusions"] if {*one["zones"]} == {"roof-zone", "side-zone"}]
    assert excluded == sum(one["excluded"] for one in told) > 0
    assert {one["short_by"] for one in told} <= {"as drawn", "worst case"}
    text = ran(capsys, *asked)[1]
    assert "by thickness and fans:" in text
    assert "30 mm, push-pull" in text


def test_help_names_what_is_asked_for() -> None:
    assert "--want" in search_command.COMMAND.parser().format_help()
    assert "--apply" in mend_command.COMMAND.parser().format_help()


@pytest.mark.parametrize("more", [(), ("--tight",), ("--judge", "nominal")])
def test_what_is_left_in_place_is_what_the_check_of_the_written_row_says(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, more: tuple[str, ...]
) -> None:
    asked = ("search", *SMALL, "--want", "volume,leftover", *more)
    said = json.loads(ran(capsys, *asked, "--json")[1])
    jsonschema.validate(said, schema_of("search"))
    table = list(csv.DictReader(io.StringIO(ran(capsys, *asked, "--csv")[1])))
    limited = 0
    for number, (row, of_csv) in enumerate(zip(said["rows"], table, strict=True), start=1):
        out = tmp_path / f"row-{number}.json"
        write_layout(out, parse_layout(json.dumps(row["layout"]).encode(), "row"))
        report = json.loads(ran(capsys, "check", out, "--json")[1])
        stacks = [s["tolerance"] for s in report["stacks"] if s["tolerance"]]
        told = (row["left_in_place_worst_mm"], row["left_in_place_statistical_mm"])
        if not stacks:
            assert told == (None, None)
            continue
        limited += 1
        assert told == (
            told_figure(min(s["worst_mm"] for s in stacks)),
            told_figure(min(s["likely_least_mm"] for s in stacks)),
        )
        assert row["left_in_place_mm"] == told_figure(min(s["nominal_mm"] for s in stacks))
        least = next(s for s in stacks if s["worst_mm"] == min(k["worst_mm"] for k in stacks))
        named = row["left_in_place_taken_by"]
        assert [
            one["what"] in text for one, text in zip(least["contributors"], named, strict=False)
        ] == ([True] * len(named))
        assert float(of_csv["left_in_place_worst_mm"]) == pytest.approx(told[0], abs=1e-3)
        assert of_csv["left_in_place_taken_by"] == " | ".join(named)
        short = [f for f in report["findings"] if f["verdict"] == "tight" and f["kind"] in GAPS]
        worst = {(f["title"], f["kind"] != "worst_case") for f in short}
        if "nominal" in more:
            assert (row["tight_at_worst"], row["tight"]) == (None, [])
            assert (row["short_before"], of_csv["short_before"]) == (None, "")
            assert of_csv["tight_at_worst"] == ""
        else:
            assert {(one["title"], one["as_drawn"]) for one in row["tight"]} == worst
            assert row["short_before"] == int(of_csv["short_before"]) == 0
            assert row["tight_at_worst"] == len(short) == int(of_csv["tight_at_worst"])
            assert all(one["taking"] and one["taking"][0] in of_csv["tight_at_worst_what"]
                       for one in row["tight"])  # fmt: skip
    assert limited > 1


@pytest.mark.parametrize("more", [(), ("--tight",), ("--judge", "nominal")])
def test_what_tight_at_worst_means_is_always_said(
    capsys: pytest.CaptureFixture[str], more: tuple[str, ...]
) -> None:
    text = " ".join(ran(capsys, "search", *SMALL, "--details", *more)[1].split())
    assert "tight at worst: gaps that do not keep their margin once every dimension is off" in text
    assert "Not counted is what fell short before the search." in text
    assert " in the worst case, statistically " in text
    assert "least at worst: " in text
    assert "; most is taken by " in text
    assert ("not judged" in text.partition("tight at worst: gaps")[0]) == ("nominal" in more)


def row_blocks(text: str) -> dict[int, list[str]]:
    """Return the lines of each row of the table by its number, those below it with it."""
    found: dict[int, list[str]] = {}
    table = text.partition("best trade-offs")[2].partition("\nleftover: ")[0]
    for line in table.splitlines()[2:]:
        number = re.match(r" *(\d+)  ", line)
        if number:
            found[int(number[1])] = [line]
        elif found and line.startswith("    "):
            found[max(found)].append(line.strip())
    return found


@pytest.mark.parametrize(("columns", "most"), [("110", 2), ("200", 1)])
def test_each_row_takes_a_line_or_two(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, columns: str, most: int
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    want = ("--want", "volume,leftover")
    text = ran(capsys, "search", *SMALL, *want)[1]
    said = json.loads(ran(capsys, "search", *SMALL, *want, "--json")[1])["rows"]
    blocks = row_blocks(text)
    assert list(blocks) == list(range(1, len(said) + 1))
    assert max(len(line) for line in text.splitlines()) <= int(columns)
    assert "left with all in place" not in text
    for number, row in enumerate(said, start=1):
        assert len(blocks[number]) <= most
        figures = blocks[number][0].split()
        volume, leftover = row["figures"]["volume"], row["figures"]["leftover"]
        assert figures[1] == f"{volume:.0f}"
        assert figures[2] == ("open" if leftover is None else f"{leftover:.1f}")
        for told, mm in ((figures[3], "left_in_place_mm"), (figures[4], "left_in_place_worst_mm")):
            assert told.rstrip("*") == ("open" if row[mm] is None else f"{row[mm]:.1f}")
        assert figures[4].endswith("*") == bool(row["left_in_place_brought_in_by"])
    starred = any(row["left_in_place_brought_in_by"] for row in said)
    assert ("what stands just beside the way" in " ".join(text.split())) == starred


def test_fans_on_the_outer_side_of_the_plate_are_told_so(
    capsys: pytest.CaptureFixture[str],
) -> None:
    asked = ("--zones", "front-zone", "--fans", "across", "--slides", 1, "--details", 1)
    parts = ("--parts", "exchanger-2x120-30", "fan-120-15")
    text = " ".join(ran(capsys, "search", "--enclosure", "bench-box", *parts, *asked)[1].split())
    assert "2 x 120, 30 mm, push-pull, across the plate" in text
    assert "on the outer side 2 x Fan 120 x 15; Exchanger 2 x 120, 30 mm + 2 x Fan 120 x 15" in text


def test_rows_are_told_in_full_below_the_table_where_they_are_asked_for(
    capsys: pytest.CaptureFixture[str],
) -> None:
    code, text, _ = ran(capsys, "search", *SMALL, "--details", 2)
    assert code == 0
    assert text.count("left with all in place: ") == 1
    assert "\nrow 2: " in text
    every = ran(capsys, "search", *SMALL, "--details")[1]
    assert every.count("left with all in place: ") == len(row_blocks(every)) > 1
    code, text, err = ran(capsys, "search", *SMALL, "--details", 99)
    assert code == 2
    assert "best trade-offs" in text, "what was found is told all the same"
    assert "there is no row 99" in err
    code, text, err = ran(capsys, "search", *SMALL, "--details", "--csv")
    assert (code, text) == (2, "")
    assert "--details is for the table" in err
