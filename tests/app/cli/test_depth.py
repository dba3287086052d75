"""`gapwright depth`, and what `gapwright check` says of tolerances."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from no_desk import ran
from one_fan_box import one_fan_box, outer_fan_box

from app.cli.depth import profile_lines
from app.cli.schema import schema_of
from geometry.layout_file import read_layout
from geometry.measures.area import Side
from geometry.measures.envelope import DepthPiece
from geometry.measures.profile import DepthProfile
from geometry.scene import build_scene
from geometry.stackup.profile_figures import profile_figures
from geometry.zone_profile import zone_profile


@pytest.fixture
def box_file(tmp_path: Path) -> Path:
    path = tmp_path / "box.json"
    path.write_text(json.dumps(one_fan_box()), encoding="utf-8")
    return path


@pytest.fixture
def outer_file(tmp_path: Path) -> Path:
    path = tmp_path / "outer.json"
    path.write_text(json.dumps(outer_fan_box()), encoding="utf-8")
    return path


# ---- depth ----


def test_the_profile_as_a_table(box_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # The duct covers the zone from end to end: 300 - 255 = 45 mm before it.
    code, out, _ = ran(capsys, "depth", str(box_file), "--zone", "front-zone")
    assert code == 0
    lines = out.splitlines()
    assert lines[0] == (
        "Front zone, inner side: depth from the plate, along +z from the zone's corner"
    )
    # Off may be the zone's place 300 by 0.5, the duct's length 155 by 0.5 and its place 100 by 0.3;
    # by root sum square 0.25 + 0.25 + 0.09 = 0.59, 0.77.
    row = ["0.0", "120.0", "45.0", "43.7", "44.2", "to", "45.8", "air", "duct"]
    assert lines[3].split() == row
    assert lines[5:7] == [
        "least depth 45.0 mm",
        "  Worst case 43.7 mm, statistical 44.2 to 45.8 mm.",
    ]
    assert "duct, shape 1 size along x 155 ± 0.5" in out
    assert "the stack on it reaches 25.0 mm" in lines
    assert "Worst case: all dimensions off at once. Statistical: root sum square" in out


def test_all_contributors_to_the_least_depth_when_asked_for(
    box_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # A bar 1 mm beside the zone comes in: its dimensions and those that bring it in are told.
    box = one_fan_box()
    bar = {
        "id": "bar",
        "name": "bar",
        "shapes": [{"shape": "box", "at_mm": [280, 0, 0], "size_mm": [10, 1, 1]}],
    }
    zone = box["enclosure"]["zones"][0]
    bar["shapes"][0]["at_mm"] = [280, zone["origin_mm"][1], zone["origin_mm"][2] - 11]
    bar["shapes"][0]["size_mm"] = [10, 100, 10]
    box["enclosure"]["obstacles"].append(bar)
    box_file.write_text(json.dumps(box), encoding="utf-8")
    _, out, _ = ran(capsys, "depth", str(box_file), "--zone", "front-zone", "--contributors")
    text = " ".join(out.split())
    assert "at bar, 1.0 mm beside the way as drawn" in text
    assert "The 1.0 mm beside the way as drawn can be lost" in text
    assert "Front zone, play of its screws along z 0 ± 0.5" in text
    assert "more." not in text


def test_a_depth_is_one_figure_where_it_is_level_and_two_where_it_slopes(
    box_file: Path,
) -> None:
    scene = build_scene(read_layout(box_file))
    found = zone_profile(scene, "front-zone")
    figures = profile_figures(scene, found)
    level, slope = Side(0, 120, 45, 45, 0, 0, 0), Side(0, 120, 45, 30, 0, 0, 0)
    rows = []
    for side in (level, slope):
        pieces = (DepthPiece(found.profile.pieces[0].t0, found.profile.pieces[0].t1, side),)
        lines = profile_lines(replace(found, profile=DepthProfile(pieces)), figures)
        rows.append(lines[3].split()[2:-8])
    t0, t1 = found.profile.pieces[0].t0, found.profile.pieces[0].t1
    assert rows[0] == ["45.0"]
    assert rows[1] == [f"{slope.value(t0):.1f}", "to", f"{slope.value(t1):.1f}"]


def test_the_profile_as_json(box_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = ran(capsys, "depth", str(box_file), "--zone", "front-zone", "--json")
    assert code == 0
    told = json.loads(out)
    for tolerance in (told.pop("tolerance"), told["pieces"][0].pop("tolerance")):
        jsonschema.validate(tolerance, tolerance_schema())
        assert tolerance["nominal_mm"] == 45.0
        assert tolerance["worst_mm"] == pytest.approx(43.7)
        assert tolerance["likely_least_mm"] == pytest.approx(45 - 0.59**0.5)
        assert tolerance["likely_most_mm"] == pytest.approx(45 + 0.59**0.5)
        assert "3 standard deviations" in tolerance["coverage"]
        assert [(c["owner"], c["what"], c["plus_mm"]) for c in tolerance["contributors"]] == [
            ("duct", "shape 1 size along x", 0.5),
            ("front-zone", "zone place along x", 0.5),
            ("duct", "shape 1 place along x", 0.3),
        ]
    assert told == {
        "format": "gapwright-depth",
        "version": 1,
        "file": str(box_file),
        "zone": "front-zone",
        "side": "inner",
        "along": "+z",
        "least_mm": 45.0,
        "pieces": [
            {
                "from_mm": 0.0,
                "to_mm": 120.0,
                "depth_at_start_mm": 45.0,
                "depth_at_end_mm": 45.0,
                "least_mm": 45.0,
                "solid": "duct",
                "name": "air duct",
            }
        ],
        "stack": [{"from_mm": 0.0, "to_mm": 120.0, "height_mm": 25.0}],
    }


def test_the_profile_of_the_outer_side_names_its_plate(
    outer_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # 288.5 - 255 = 33.5 before the duct. Off may be the zone's place 290 and the duct's length 155
    # by 0.5 each, its place 100 by 0.3 and the plate 1.5 by 0.1: 1.4 in all.
    code, out, _ = ran(
        capsys, "depth", outer_file, "--zone", "front-zone", "--side", "outer", "--contributors"
    )
    assert code == 0
    assert "least depth 33.5 mm" in out
    assert "Worst case 32.1 mm" in out
    assert "zone outer side plate 1.5 ± 0.1" in out


def tolerance_schema() -> dict[str, Any]:
    """The schema of a stack-up within that of the report."""
    schema = schema_of("report")
    return {**schema["$defs"]["ToleranceEntry"], "$defs": schema["$defs"]}


def test_the_least_depth_is_what_the_check_leaves_and_the_stack_takes(
    box_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # The fan is 25 and off by 0.2; all else is the same in both.
    depth = json.loads(ran(capsys, "depth", str(box_file), "--zone", "front-zone", "--json")[1])[
        "tolerance"
    ]
    left = report(capsys, box_file)["stacks"][0]["cells"][0]["tolerance"]
    assert depth["worst_mm"] == pytest.approx(left["worst_mm"] + 25 + 0.2)
    assert depth["nominal_mm"] == pytest.approx(left["nominal_mm"] + 25)
    assert {(c["owner"], c["path"], c["at_plus_mm"]) for c in depth["contributors"]} == {
        (c["owner"], c["path"], c["at_plus_mm"]) for c in left["contributors"] if c["owner"] != "F1"
    }


def test_a_zone_answers_to_its_name_too(box_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    by_id = ran(capsys, "depth", str(box_file), "--zone", "front-zone")
    assert by_id[0] == 0
    assert ran(capsys, "depth", str(box_file), "--zone", "front ZONE") == by_id


def test_a_name_that_two_zones_share_names_neither(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    box = one_fan_box()
    (zone,) = box["enclosure"]["zones"]
    box["enclosure"]["zones"] = [zone, {**zone, "id": "other-zone"}]
    path = tmp_path / "twins.json"
    path.write_text(json.dumps(box), encoding="utf-8")
    code, _, err = ran(capsys, "depth", str(path), "--zone", "Front zone")
    assert code == 2
    assert "is no zone of this layout (there is front-zone, other-zone)" in err
    code, out, _ = ran(capsys, "depth", str(path), "--zone", "front zone (other-zone)")
    assert code == 0
    assert out.startswith("Front zone (other-zone), inner side")


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (["--zone", "roof"], "'roof' is no zone of this layout (there is front-zone)"),
        (["--zone", ""], "'' is no zone of this layout (there is front-zone)"),
        (["--zone", "front-zone", "--side", "outer"], "takes no layers on its outer side"),
    ],
)
def test_a_zone_or_side_that_is_not_there(
    box_file: Path, more: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = ran(capsys, "depth", str(box_file), *more)
    assert (code, out) == (2, "")
    assert told in err


# ---- tolerances in the report ----


def report(capsys: pytest.CaptureFixture[str], path: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(ran(capsys, "check", str(path), "--json")[1])
    jsonschema.validate(found, schema_of("report"))
    return found


def test_the_stack_up_of_a_depth_in_json(
    box_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # 20 left; the zone's place 300 +-0.5, the duct's length 155 +-0.5 and place 100 +-0.3, the fan
    # 25 +-0.2: 1.5 in all, and by root sum square the root of 0.63.
    found = report(capsys, box_file)
    assert found["judge"] == "worst case"
    told = found["stacks"][0]["cells"][0]["tolerance"]
    assert [told[k] for k in ("nominal_mm", "worst_mm", "most_mm")] == pytest.approx(
        [20, 18.5, 21.5]
    )
    assert told["likely_least_mm"] == pytest.approx(20 - 0.63**0.5)
    assert "3 standard deviations" in told["coverage"]
    named = [(c["owner"], c["what"], c["plus_mm"], c["general"]) for c in told["contributors"]]
    assert named == [
        ("duct", "shape 1 size along x", 0.5, True),
        ("front-zone", "zone place along x", 0.5, True),
        ("duct", "shape 1 place along x", 0.3, True),
        ("F1", "thickness", 0.2, True),
    ]
    assert sum(c["share"] for c in told["contributors"]) == pytest.approx(1)


def test_worst_case_and_contributors_in_the_table(
    box_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, out, _ = ran(capsys, "check", str(box_file))
    text = " ".join(out.split())
    assert "judged: worst case" in text
    assert "Worst case 18.5 mm, statistical 19.2 to 20.8 mm." in text
    assert "and 1 more." in text
    _, out, _ = ran(capsys, "check", str(box_file), "--contributors")
    text = " ".join(out.split())
    assert "13% Fan 120 x 25, thickness 25 ± 0.2" in text
    assert "more." not in text


def test_a_fan_on_the_outer_side_is_told_with_its_plate(
    outer_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # 8.5 left. Off may be the zone's place 290 and the duct's length 155 by 0.5 each, its place 100
    # by 0.3, the fan 25 by 0.2 and the plate 1.5 by 0.1: 1.6 in all.
    told = report(capsys, outer_file)["stacks"][0]["cells"][0]["tolerance"]
    assert (told["nominal_mm"], told["worst_mm"]) == pytest.approx((8.5, 6.9))
    named = [(one["owner"], one["what"]) for one in told["contributors"]]
    assert named[-1] == ("front-zone", "zone outer side plate")
    _, out, _ = ran(capsys, "check", outer_file, "--contributors")
    assert "zone outer side plate 1.5 ± 0.1" in " ".join(out.split())


def test_a_depth_that_tolerances_take_is_tight(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # The duct ends at 272: 275 - 272 = 3 are left, 1.5 of which tolerances can take.
    path = tmp_path / "box.json"
    for judge, expected in (("worst case", ["worst_case"]), ("nominal", [])):
        of = {**one_fan_box(272.0), "settings": {"judge": judge}}
        path.write_text(json.dumps(of), encoding="utf-8")
        found = report(capsys, path)
        tight = [f for f in found["findings"] if f["verdict"] == "tight"]
        assert [f["kind"] for f in tight] == expected
        assert found["counts"]["tight"] == len(expected)
        for f in tight:
            assert f["measured_mm"] == pytest.approx(3.0)
            assert f["tolerance"]["worst_mm"] == pytest.approx(1.5)


def test_the_figure_of_a_stack_is_told_beside_those_of_its_cells(
    box_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (stack,) = report(capsys, box_file)["stacks"]
    assert stack["tolerance"] == stack["cells"][0]["tolerance"]
    assert stack["tolerance"]["beside"] is None


def test_mend_says_why_what_is_clear_as_drawn_is_to_be_mended(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "box.json"
    of = {**one_fan_box(272.0), "settings": {"judge": "worst case"}}
    path.write_text(json.dumps(of), encoding="utf-8")
    _, out, _ = ran(capsys, "mend", str(path))
    text = " ".join(out.split())
    assert "TIGHT" in text
    assert "0.5 mm more would keep 2.0 mm in the worst case" in text
    assert "Largest shares: air duct, shape 1 size along x 172 mm ± 0.5 mm" in text
    told = json.loads(ran(capsys, "mend", str(path), "--json")[1])
    jsonschema.validate(told, schema_of("mend"))
    assert told["advice"][0].startswith("0.5 mm more would keep 2.0 mm in the worst case")
