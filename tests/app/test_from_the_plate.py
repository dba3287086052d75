"""Total and clear depth of an outer side are the same everywhere, counted from its plate's face.

A bracket's plate is 2 mm thick, its inner face, the datum, at x = 298. The outer side is seated at
x = 300, the front wall begins at 400: 100 mm, of which a fan takes 25.
"""

from __future__ import annotations

import datetime
import json
from pathlib import Path

import pytest
from no_desk import ran
from PySide6.QtWidgets import QApplication, QLabel
from sheet_looks import words_of
from small_rooms import block, fan, fan_layer, layout, room, row, stack, zone

from app.sheet.compose import compose_sheets
from app.sheet.content import stack_rows
from catalog.enclosure import ZoneSide
from geometry.checks.runner import check_layout
from geometry.layout import Layout
from geometry.layout_file import write_layout

DATE = datetime.date(2026, 1, 31)


def behind_a_bracket() -> Layout:
    plate = block("bracket", (298, 20, 40), (300, 180, 260))
    own = zone(
        "bracket-zone", "bracket", (298, 40, 60), "+z", "+y", row(1), outer=ZoneSide(plate_mm=2.0)
    )
    blower = fan(25)
    outer = (fan_layer("A", blower, ("c1",)),)
    return layout(
        room((400, 200, 300), [own], [plate]), [blower], [stack("S", "bracket-zone", outer=outer)]
    )


@pytest.fixture
def written(tmp_path: Path) -> Path:
    path = tmp_path / "bracket.json"
    write_layout(path, behind_a_bracket())
    return path


def test_in_the_report() -> None:
    (depth,) = check_layout(behind_a_bracket()).report.depths
    assert (depth.total_mm, depth.clear_mm, depth.least.mm) == (25.0, 100.0, 75.0)
    assert [(span.base_mm, span.top_mm) for span in depth.layers] == [(0.0, 25.0)]


def test_on_the_command_line(written: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = ran(capsys, "check", written)
    assert "outer      25.0     100.0     75.0" in out
    assert "Total and clear depth count from the face of the plate" in out
    _, out, _ = ran(capsys, "check", written, "--json")
    (told,) = json.loads(out)["stacks"]
    assert (told["total_mm"], told["clear_depth_mm"], told["leftover_mm"]) == (25.0, 100.0, 75.0)
    asked = ("depth", written, "--zone", "bracket-zone", "--side", "outer", "--json")
    _, out, _ = ran(capsys, *asked)
    profile = json.loads(out)
    assert profile["least_mm"] == told["clear_depth_mm"]
    assert max(span["height_mm"] for span in profile["stack"]) == told["total_mm"]


def test_on_the_sheet() -> None:
    checked = check_layout(behind_a_bracket())
    ((_, _, total, clear, *_),) = stack_rows(checked)
    assert (total, clear) == ("25.0", "100.0")
    drawn = words_of(compose_sheets(checked, paper="A3", scale=None, date=DATE))
    assert "Stacks (mm; total and clear depth from the plate)" in drawn
    # In the views the stack is dimensioned from the plate's face, not from the datum behind it.
    assert "27" not in drawn.split()


def test_in_the_window(open_window, hand) -> None:
    window = open_window(behind_a_bracket())
    window.session.take_zone("bracket-zone", "outer")
    QApplication.processEvents()
    told = [label.text().replace("&nbsp;", " ") for label in window.stack.findChildren(QLabel)]
    assert any("total 25.0 mm from the plate" in text for text in told)
    assert any("clear 100.0 mm" in text for text in told)
    window.session.select("A.1")
    QApplication.processEvents()
    on_board = hand(window).texts()
    assert "25" in on_board
    assert "27" not in on_board
    told = [label.text() for label in window.part.findChildren(QLabel)]
    assert any("from 0.0 to 25.0 mm off the plate of the zone" in text for text in told)
