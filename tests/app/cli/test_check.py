"""`gapwright check`: its table, its JSON, its exit codes."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from no_desk import DESK, ran
from one_fan_box import one_fan_box

from app.cli import check as check_command
from app.cli.main import run

Written = Callable[..., Path]


@pytest.fixture
def written(tmp_path: Path) -> Written:
    """Write a layout as a JSON file and return its path."""

    def write(layout: Any, name: str = "box.json") -> Path:
        path = tmp_path / name
        path.write_text(json.dumps(layout), encoding="utf-8")
        return path

    return write


def check(capsys: pytest.CaptureFixture[str], *argv: object) -> tuple[int, str, str]:
    return ran(capsys, "check", *argv)


def test_a_hand_written_layout_follows_the_published_schema(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["schema", "layout"], DESK) == 0
    schema = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator(schema).validate(one_fan_box())


def test_leftover_depth_of_a_hand_written_layout(
    written: Written, capsys: pytest.CaptureFixture[str]
) -> None:
    # 300 - 25 = 275 is the fan's inner face, the duct ends at 255: 20 mm are left of 45.
    code, out, _ = check(capsys, written(one_fan_box()), "--json")
    assert code == 0
    (stack,) = json.loads(out)["stacks"]
    assert stack["total_mm"] == pytest.approx(25)
    assert stack["clear_depth_mm"] == pytest.approx(45)
    assert stack["leftover_mm"] == pytest.approx(20)
    assert stack["limited_by"] == "duct"


def test_a_blocked_layout_ends_with_one(
    written: Written, capsys: pytest.CaptureFixture[str]
) -> None:
    # The duct ends at 280: the fan's inner face, 275, is 5 mm in it.
    code, out, _ = check(capsys, written(one_fan_box(duct_end_mm=280)), "--json")
    report = json.loads(out)
    assert code == 1
    assert report["counts"]["blocked"] >= 1
    assert min(f["measured_mm"] for f in report["findings"]) == pytest.approx(-5)


def test_a_tight_layout_ends_with_zero_and_is_counted(
    written: Written, capsys: pytest.CaptureFixture[str]
) -> None:
    # The duct ends at 274, 1 mm before the fan; the margin is 2 mm.
    code, out, _ = check(capsys, written(one_fan_box(duct_end_mm=274)))
    assert code == 0
    assert "TIGHT" in out
    assert "0 blocked, 1 tight" in out.splitlines()[-1]


def test_the_report_follows_its_published_schema(
    written: Written, capsys: pytest.CaptureFixture[str]
) -> None:
    run(["schema", "report"], DESK)
    schema = json.loads(capsys.readouterr().out)
    for end in (255, 274, 280):
        _, out, _ = check(capsys, written(one_fan_box(duct_end_mm=end)), "--json")
        jsonschema.Draft202012Validator(schema).validate(json.loads(out))


def test_table_tells_findings_stacks_and_counts(
    written: Written, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(one_fan_box(duct_end_mm=280))
    code, out, err = check(capsys, path)
    assert (code, err) == (1, "")
    assert out.startswith(f"One-fan box, revision A ({path})\n")
    assert "BLOCKED" in out
    assert "-5.0" in out
    assert "air duct" in out
    assert "Front zone" in out


def test_table_keeps_to_the_width_of_the_terminal(
    written: Written, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "90")
    path = written(one_fan_box(duct_end_mm=280), "b.json")
    monkeypatch.chdir(path.parent)
    _, out, _ = check(capsys, "b.json")
    assert max(len(line) for line in out.splitlines()) <= 90


# --- bad input: one message each, exit 2, never a traceback -----------------------------------


def _edited(change: Callable[[dict[str, Any]], object]) -> str:
    layout = one_fan_box()
    change(layout)
    return json.dumps(layout)


BAD: dict[str, tuple[str | bytes, str]] = {
    "not JSON": ("{", "JSON"),
    "empty": ("", "JSON"),
    "not an object": ("[]", "object"),
    "not text": (b"\xff\xfe\xfa\x00\x01", ""),
    "duplicate key": ('{"format": "gapwright-layout", "format": "x"}', "format"),
    "another format": (_edited(lambda o: o.update(format="other")), "format"),
    "newer version": (_edited(lambda o: o.update(version=99)), "version"),
    "unknown field": (_edited(lambda o: o.update(colour="red")), "colour"),
    "text for a number": (
        _edited(lambda o: o["stacks"][0].update(slide_u_mm="1")),
        "stacks[0].slide_u_mm",
    ),
    "truth for a number": (
        _edited(lambda o: o["stacks"][0].update(slide_u_mm=True)),
        "stacks[0].slide_u_mm",
    ),
    "NaN": (_edited(lambda o: o["stacks"][0].update(slide_u_mm=float("nan"))), "NaN"),
    "infinite": (_edited(lambda o: o["stacks"][0].update(slide_u_mm=float("inf"))), "Infinity"),
    "negative size": (
        _edited(lambda o: o["parts"]["fan-120x25"].update(thickness_mm=-25)),
        "thickness_mm",
    ),
    "over ten metres": (
        _edited(lambda o: o["parts"]["fan-120x25"].update(thickness_mm=10_001)),
        "thickness_mm",
    ),
    "self-crossing outline": (
        _edited(
            lambda o: o["enclosure"]["obstacles"][0].update(
                shapes=[
                    {
                        "shape": "extrusion",
                        "axis": "z",
                        "outline_mm": [[10, 10], [50, 50], [50, 10], [10, 50]],
                        "from_mm": 0,
                        "to_mm": 10,
                    }
                ]
            )
        ),
        "enclosure.obstacles[0].shapes[0]",
    ),
    "a zone that is not there": (
        _edited(lambda o: o["stacks"][0].update(zone="roof")),
        "stacks[0].zone",
    ),
    "a part that is not there": (
        _edited(lambda o: o["stacks"][0]["inner"][0]["items"][0].update(part="gone")),
        "gone",
    ),
}


@pytest.mark.parametrize("fault", sorted(BAD))
def test_a_bad_file_gets_a_message_with_file_and_field(
    fault: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, told = BAD[fault]
    path = tmp_path / "bad.json"
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    code, out, err = check(capsys, path)
    assert (code, out) == (2, "")
    assert err.startswith(f"gapwright: {path}: ")
    assert told in err
    assert "Traceback" not in err


def test_a_byte_order_mark_is_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bom.json"
    path.write_text(json.dumps(one_fan_box()), encoding="utf-8-sig")
    assert check(capsys, path)[0] == 0


def test_a_missing_file_and_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for path in (tmp_path / "none.json", tmp_path):
        code, out, err = check(capsys, path)
        assert (code, out) == (2, "")
        assert err.count("\n") == 1
        assert err.startswith(f"gapwright: {path}: ")


def test_a_huge_file_is_refused_unread(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "huge.json"
    with path.open("wb") as out:
        out.truncate(200 * 2**20)
    code, _, err = check(capsys, path)
    assert code == 2
    assert "MB" in err or "MiB" in err


def test_a_file_without_permission(
    written: Written, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # Permissions do not bind every user that runs tests, so the system's refusal is played.
    def refused(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    path = written(one_fan_box())
    monkeypatch.setattr(Path, "open", refused)
    code, out, err = check(capsys, path)
    assert (code, out) == (2, "")
    assert err.startswith(f"gapwright: {path}: ")
    assert "no permission" in err


def test_a_name_that_is_not_ascii(written: Written, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(one_fan_box(), "Gehäuse – Prüfstand 箱.json")
    code, out, _ = check(capsys, path)
    assert code == 0
    assert path.name in out


def test_an_internal_fault_is_one_line_and_exit_three(
    written: Written, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("a wheel\ncame off")

    monkeypatch.setattr(check_command, "check_layout", broken)
    path = written(one_fan_box())
    code, out, err = check(capsys, path)
    assert (code, out) == (3, "")
    assert err.count("\n") == 1
    assert "RuntimeError: a wheel came off" in err
    assert "--debug" in err

    code, _, err = check(capsys, path, "--debug")
    assert code == 3
    assert "Traceback" in err


def test_stopping_it_is_no_fault(
    written: Written, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(check_command, "check_layout", stopped)
    code, _, err = check(capsys, written(one_fan_box()))
    assert (code, err) == (130, "gapwright: stopped\n")
