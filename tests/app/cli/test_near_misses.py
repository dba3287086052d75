"""Near misses, relaxations and cutting by command line, and the schemas of what is printed."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from no_desk import ran
from small_rooms import (
    IN_OR_OUT,
    block,
    exchanger,
    fan,
    fan_layer,
    layout,
    one,
    room,
    row,
    stack,
    zone,
)  # fmt: skip

from app.cli.schema import schema_of
from app.cli.search_json import search_file
from app.cli.search_table import search_lines
from catalog.model import FrozenMap
from geometry.checks.runner import check_layout
from geometry.layout import Layout
from geometry.layout_file import layout_text, parse_layout, read_layout, write_layout
from geometry.search.answers import MEASURES
from geometry.search.mending.changes import NOT_TRIED
from geometry.search.near.misses import NearMisses
from geometry.search.run import search
from geometry.search.wishes import wishes_from

SHORT, CORE, BLOWER = exchanger(1, 30), exchanger(2, 30), fan(25)
PARTS = ("--parts", SHORT.id, CORE.id, BLOWER.id)


def floor(*, filled: bool) -> Layout:
    """A two-fan exchanger on the floor runs 3 mm into a peg; turned, 5 mm into a rail."""
    own = zone("floor-zone", "floor", (50, 40, 0), "+x", "+y", row(2))
    peg = block("peg", (317, 90, 0), (337, 110, 200), kind="peg")
    rail = block("rail", (0, 40, 0), (25, 160, 60), states=IN_OR_OUT, kind="frame")
    layers = (fan_layer("A", BLOWER, ("c1", "c2")), one("E", CORE))
    stacks = [stack("S", "floor-zone", *layers)] if filled else []
    return layout(room((500, 200, 300), [own], [peg, rail]), [SHORT, CORE, BLOWER], stacks)


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    path = tmp_path / "empty.json"
    write_layout(path, floor(filled=False))
    return path


@pytest.fixture
def filled(tmp_path: Path) -> Path:
    path = tmp_path / "filled.json"
    write_layout(path, floor(filled=True))
    return path


def printed(capsys: pytest.CaptureFixture[str], kind: str, *argv: object) -> Any:
    """What a command prints as JSON, held against its published schema."""
    code, out, _ = ran(capsys, *argv, "--json")
    assert code == 0
    found = json.loads(out)
    schema = schema_of(kind)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(found, schema)
    return found


def test_near_misses_are_told_without_cuts_unless_they_are_allowed(
    capsys: pytest.CaptureFixture[str], empty: Path
) -> None:
    asked = ("search", empty, *PARTS, "--want", "area")
    code, text, _ = ran(capsys, *asked)
    assert code == 0
    assert "near misses (no cutting): each would beat every row but is refused;" in text
    assert "-> Take out rail" in text
    assert "Trim" not in text
    assert "Caution" not in text
    text = ran(capsys, *asked, "--allow-cutting")[1]
    assert "near misses (cutting allowed)" in text
    assert "-> Trim peg by 5.0 mm at its rear end (cuts the enclosure)" in text
    assert "Caution: Cutting is irreversible and leaves sharp edges" in " ".join(text.split())


def test_json_of_a_search_holds_all_that_the_table_tells(
    capsys: pytest.CaptureFixture[str], empty: Path
) -> None:
    asked = ("search", empty, *PARTS, "--want", "area")
    found = printed(capsys, "search", *asked, "--allow-cutting")
    assert found["near_misses_done"]
    assert found["cutting_allowed"]
    assert found["caution"].startswith("Cutting is irreversible")
    kinds = {
        (relaxation["kind"], relaxation["cuts"], relaxation["amount_mm"])
        for miss in found["near_misses"]
        for relaxation in miss["relaxations"]
    }
    assert kinds == {("trim", True, 5.0), ("state", False, None)}
    for miss in found["near_misses"]:
        assert miss["gains"] == {"area": 144.0}
        for relaxation in miss["relaxations"]:
            given = parse_layout(json.dumps(relaxation["layout"]).encode(), "given")
            assert not check_layout(given, remedies=False).report.blocked
    assert {one["zone"] for one in found["largest"]} == {found["zones"][0]["zone"]}
    assert [(one["what"], one["mm"]) for one in found["largest"]] == [
        ("thickest", 30.0), ("longest", 120.0), ("deepest", 80.0),
    ]  # fmt: skip
    plain = printed(capsys, "search", *asked)
    assert not plain["cutting_allowed"]
    assert plain["caution"] == ""
    assert all(not r["cuts"] for miss in plain["near_misses"] for r in miss["relaxations"])


def test_json_of_a_search_tells_what_excludes_what(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    # Three cells on the floor from x = 20, two on the front wall, in a room of 440 mm: the floor's
    # port end reaches 410, the front stack from 385 to 440; 25 mm are shared, and 2 mm of margin.
    cores = [exchanger(n, 30) for n in (2, 3)]
    zones = [
        zone("floor-zone", "floor", (20, 40, 0), "+x", "+y", row(3)),
        zone("front-zone", "front", (440, 40, 20), "+z", "+y", row(2)),
    ]
    path = tmp_path / "corner.json"
    write_layout(path, layout(room((440, 200, 400), zones), [*cores, BLOWER]))
    parts = [core.id for core in cores]
    found = printed(
        capsys, "search", "search", path, "--parts", *parts, BLOWER.id, "--fans", "plate"
    )
    (never,) = [
        one for one in found["exclusions"]
        if one["always"] and one["patterns"] == ["exchanger 3 fans long", "exchanger 2 fans long"]
    ]  # fmt: skip
    assert never["zones"] == ["floor-zone", "front-zone"]
    assert (never["verdict"], round(never["short_mm"], 6)) == ("blocked", 27.0)
    assert never["excluded"] == never["pairs"]
    assert (found["exclusions_done"], found["exclusions_looked_at"]) == (True, 1.0)
    assert found["near_misses_looked_at"] <= found["near_misses_of"]


def test_what_is_taken_out_of_a_layout_is_told_with_rows_and_near_misses(
    capsys: pytest.CaptureFixture[str], filled: Path
) -> None:
    # A fan and the two-fan core stand on the floor; a row with the one-fan core takes both out.
    asked = ("search", filled, *PARTS, "--want", "area", "--fans", "none")
    text = " ".join(ran(capsys, *asked)[1].split())
    assert f"takes out: 2 x {BLOWER.name} + {CORE.name}" in text
    found = printed(capsys, "search", *asked)
    assert [row["takes_out"] for row in found["rows"]] == [[f"2 x {BLOWER.name}", CORE.name]]
    assert found["near_misses"]
    for miss in found["near_misses"]:
        assert miss["takes_out"] == [f"2 x {BLOWER.name}"], "the core comes back"
        assert all(one["takes_out"] == miss["takes_out"] for one in miss["relaxations"])
    (line,) = csv.DictReader(io.StringIO(ran(capsys, *asked, "--csv")[1]))
    assert line["takes_out"] == f"2 x {BLOWER.name} + {CORE.name}"


def test_exclusions_that_were_not_looked_at_are_not_taken_for_none() -> None:
    zones = [
        zone("floor-zone", "floor", (20, 40, 0), "+x", "+y", row(3)),
        zone("front-zone", "front", (440, 40, 20), "+z", "+y", row(2)),
    ]
    box = layout(room((440, 200, 400), zones), [CORE, BLOWER])
    none = NearMisses()
    shares = []
    for state in search(box, wishes_from([CORE, BLOWER]), [MEASURES["area"]], 20.0):
        if state.found is not None:
            lines = search_lines(state.found, none, 99, cutting=False, stopped=True)
            said = search_file(state.found, none, cutting=False, stopped=True)
            cut_short = any(line.startswith("what excludes what was cut short") for line in lines)
            assert said.exclusions_done == (not cut_short)
            assert said.exclusions_done == (said.exclusions_looked_at == 1.0)
            shares.append(said.exclusions_looked_at)
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert any(0.0 < share < 1.0 for share in shares)


def test_mend_cuts_only_where_that_is_allowed(
    capsys: pytest.CaptureFixture[str], filled: Path, tmp_path: Path
) -> None:
    found = printed(capsys, "mend", "mend", filled)
    assert [(one["steps"], one["cuts"]) for one in found["changes"]] == [
        (["Flip port end of Exchanger 2 x 120, 30 (E)", "Take out rail"], False)
    ]
    found = printed(capsys, "mend", "mend", filled, "--allow-cutting")
    assert [(one["steps"], one["cuts"]) for one in found["changes"]] == [
        (["Flip port end of Exchanger 2 x 120, 30 (E)", "Take out rail"], False),
        (["Trim peg by 5.0 mm at its rear end (cuts the enclosure)"], True),
    ]
    assert found["caution"].startswith("Cutting is irreversible")
    assert found["not_tried"] == NOT_TRIED
    out = tmp_path / "cut.json"
    code, text, _ = ran(capsys, "mend", filled, "--allow-cutting", "--apply", 2, "-o", out)
    assert code == 0
    assert "Caution: Cutting is irreversible" in text
    assert read_layout(out).enclosure.name == "Room (cut)"


def test_the_report_says_that_the_enclosure_was_cut(
    capsys: pytest.CaptureFixture[str], filled: Path, tmp_path: Path
) -> None:
    out = tmp_path / "cut.json"
    ran(capsys, "mend", filled, "--allow-cutting", "--apply", 2, "-o", out)
    code, text, _ = ran(capsys, "check", out)
    assert code == 0
    said = " ".join(text.split())
    assert "in: Room (cut)" in said
    assert "enclosure changed by cutting: peg: 5.0 mm cut off its rear end. Caution:" in said
    report = printed(capsys, "report", "check", out)
    assert report["cuts"] == ["peg: 5.0 mm cut off its rear end"]
    assert printed_cuts_of(capsys, filled) == []


def printed_cuts_of(capsys: pytest.CaptureFixture[str], path: Path) -> list[str]:
    cuts: list[str] = json.loads(ran(capsys, "check", path, "--json")[1])["cuts"]
    return cuts


def test_parts_that_only_the_layout_has_can_be_asked_for(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    own = SHORT.but(id="salvaged-1", name="Salvaged core")
    path = tmp_path / "own.json"
    base = floor(filled=False)
    path.write_text(layout_text(base.but(parts=FrozenMap({**base.parts, own.id: own}))), "utf-8")  # type: ignore[attr-defined]
    for words in ("salvaged-1", "salvaged"):
        found = printed(capsys, "search", "search", path, "--parts", words, "--want", "area")
        assert [row["figures"]["area"] for row in found["rows"]] == [144.0]


def test_near_misses_that_were_cut_short_say_what_would_look_farther(
    capsys: pytest.CaptureFixture[str], filled: Path
) -> None:
    text = ran(capsys, "search", filled, *PARTS, "--want", "area", "--seconds", "0.000001")[1]
    assert "near misses (no cutting, cut short)" in text
    assert "more time finds more" in text
    text = ran(capsys, "search", filled, *PARTS, "--want", "area")[1]
    assert "cut short" not in text
    assert "more time" not in text


def test_what_a_slide_lets_in_counts_among_the_largest_of_a_zone(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The port end is 3 mm in the peg and needs 2 mm more; the slots have 8 mm, the rail 27.5."""
    path = tmp_path / "slotted.json"
    own = zone("floor-zone", "floor", (50, 40, 0), "+x", "+y", row(2, slot_u_mm=8.0))
    peg = block("peg", (317, 90, 0), (337, 110, 200), kind="peg")
    rail = block("rail", (0, 40, 0), (27.5, 160, 60), kind="frame")
    write_layout(path, layout(room((500, 200, 300), [own], [peg, rail]), [SHORT, CORE, BLOWER]))
    asked = ("search", path, *PARTS, "--want", "area")
    found = printed(capsys, "search", *asked)
    slide = "Slide the stack on floor zone 5.0 mm to the rear (along -x)"
    longest = [(one["mm"], one["slide"]) for one in found["largest"] if one["what"] == "longest"]
    assert longest == [(120.0, None), (240.0, slide)]
    text = " ".join(ran(capsys, *asked)[1].split())
    assert "that still goes in at a listed slide, the other zones as in row 1" in text
    more = "longest core 240.0 exchanger 2 fans long, Exchanger 2 x 120, 30"
    assert f"{more}; not at a listed slide: {slide}" in text


def test_what_every_row_takes_out_is_said_once(
    capsys: pytest.CaptureFixture[str], filled: Path
) -> None:
    # Two fans stand beside the core: rows need both of them, one, or none.
    asked = ("search", filled, *PARTS, "--want", "area,fans,leftover")
    found = printed(capsys, "search", *asked)
    gone = [row["takes_out"] for row in found["rows"]]
    assert {tuple(one) for one in gone} == {
        (CORE.name,), (BLOWER.name, CORE.name), (f"2 x {BLOWER.name}", CORE.name),
    }  # fmt: skip
    lines = [line.strip() for line in ran(capsys, *asked)[1].splitlines()]
    assert lines.count(f"every row takes out: {CORE.name}") == 1
    told = [line.split("takes out too: ")[1] for line in lines if "takes out too: " in line]
    assert told == [one[0] for one in gone if len(one) > 1]


def test_that_rows_can_be_told_in_full_is_said_where_they_are_not(
    capsys: pytest.CaptureFixture[str], filled: Path
) -> None:
    asked = ("search", filled, *PARTS, "--want", "area")
    assert "--details shows rows in full" in ran(capsys, *asked)[1]
    in_full = ran(capsys, *asked, "--details")[1]
    assert "row 1:" in in_full
    assert "--details shows rows in full" not in in_full
