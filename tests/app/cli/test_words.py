"""A word that cannot be used is told with its option, what there is, and what may be meant."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from no_desk import ran

from app.cli.json_text import json_text
from app.demo import demo_layout
from catalog.store import Library
from geometry.layout_file import write_layout

FINE = re.compile(r"-?\d+\.\d{7,}")


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    path = tmp_path / "bench.json"
    write_layout(path, demo_layout(Library()))
    return path


@pytest.mark.parametrize(
    ("argv", "told"),
    [
        (
            ("sheet", "x", "-o", "y.png", "--paper", "A5"),
            "argument --paper: invalid choice: 'A5' (choose from A4, A3) (see",
        ),
        (
            ("parts", "--kind", "fann"),
            "reservoir, pump-reservoir, board, card, supply, drive, fitting) (did you mean 'fan'?)",
        ),
        (
            ("depth", "x", "--zone", "y", "--side", "inerr"),
            "argument --side: invalid choice: 'inerr' (choose from inner, outer) "
            "(did you mean 'inner'?)",
        ),
        (("parts", "--frame", "13x"), "argument --frame: '13x' is no number (write it like 12.5)"),
        (("parts", "--frame", "nan"), "argument --frame: 'nan' is no number (write it like 12.5)"),
        (
            ("sheet", "x", "-o", "y.png", "--dpi", "1e2"),
            "argument --dpi: '1e2' is no whole number",
        ),
        (
            ("check", "--jsn", "x"),
            "'--jsn' is no option of gapwright check (did you mean '--json'?)",
        ),
        (("check", "x", "y"), "'y' is no argument of gapwright check"),
        (("schema", "layuot"), "parts, enclosures) (did you mean 'layout'?)"),
        (("checks", "portend"), "(did you mean 'port_end'?)"),
        (("help", "chekc"), "demo) (did you mean 'check'?)"),
        (("search", "--enclosure", "benchbox"), "(did you mean 'bench-box'?)"),
    ],
)
def test_a_word_that_cannot_be_used(
    argv: tuple[str, ...], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = ran(capsys, *argv)
    assert (code, out) == (2, "")
    assert told in err
    assert err.count("\n") == 1


def test_a_zone_is_meant_by_its_id_or_by_its_name(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for word, meant in (("flor-zone", "floor-zone"), ("Front Braket", "front bracket")):
        code, _, err = ran(capsys, "depth", bench, "--zone", word)
        assert code == 2
        assert f"(there is front-zone, floor-zone, rear-zone) (did you mean '{meant}'?)" in err


@pytest.mark.parametrize("argv", [("check",), ("depth", "--zone", "front-zone")])
def test_figures_in_json_are_told_to_a_millionth(
    argv: tuple[str, ...], bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, out, _ = ran(capsys, argv[0], bench, *argv[1:], "--json")
    fine = [line for line in out.splitlines() if FINE.search(line)]
    assert [line for line in fine if '"share": ' not in line] == []
    assert "-0.0," not in out
    assert json.loads(out)


def test_a_figure_keeps_what_it_says() -> None:
    given = {
        "a_mm": 0.1234564,
        "b": (1, True, None, "3.14159265", -2e-7),
        "c": {"d": 1e-6},
        "share": 1 / 3,
    }
    assert json.loads(json_text(given)) == {
        "a_mm": 0.123456,
        "b": [1, True, None, "3.14159265", 0.0],
        "c": {"d": 1e-6},
        "share": 0.333333333,
    }
