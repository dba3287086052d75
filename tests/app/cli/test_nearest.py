"""What stands nearest to port ends and parts, in the table of `gapwright check` and as JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from small_rooms import block, exchanger, fan, fan_layer, layout, one, room, row, stack, zone

from app.cli.report_json import report_file
from app.cli.report_table import report_lines
from geometry.checks.runner import Checked, check_layout
from geometry.stackup.stack_ups import COVERAGE


@pytest.fixture
def checked() -> Checked:
    """An exchanger whose port end stands 12 mm before a post, under a bar that it just passes.

    The post is at x = 202 and the port end ends at 190; the bar is 1 mm beside the return end,
    which starts at 25, with its underside at 100.
    """
    core = exchanger(1, 30, port_facing="-z").but(id="x", name="Exchanger", ports=())
    post = block("post", (202, 40, 0), (220, 160, 100))
    bar = block("bar", (4, 40, 100), (24, 160, 120))
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    enclosure = room((400, 200, 300), [floor], [post, bar])
    return check_layout(layout(enclosure, [core], [stack("S", "floor-zone", one("E1", core))]))


def test_a_clear_port_end_has_a_row(checked: Checked) -> None:
    # Off may be the post's place 0.5, the screws 0.5, the zone 0.3, its cell 0.3, half the core
    # 0.15, the end tank 0.2: 1.95; 1.1147 by root sum square, the play as three times its square.
    text = "\n".join(report_lines("box.json", checked, 160))
    assert "E1    port end    12.0          2.0      10.0  post to Exchanger, port end" in text
    assert "Worst case 10.0 mm, statistical 10.9 to 13.1 mm." in text
    assert "26% post, shape 1 place along x 202 ± 0.5" in text
    assert "clearance" not in text
    every = "\n".join(report_lines("box.json", checked, 160, contributors=True))
    assert "E1    clearance    25.0          2.0" in every


def test_the_worst_case_names_what_stands_beside_the_way(checked: Checked) -> None:
    # 300 - 30 = 270 to the roof as drawn; the bar, 100 - 30 = 70 ahead, less 0.3 and 0.2.
    text = "\n".join(report_lines("box.json", checked, 160))
    assert "Worst case 69.5 mm at bar, 1.0 mm beside the way as drawn, statistical 69." in text


def test_every_figure_of_the_json_report_has_its_three_values(checked: Checked) -> None:
    report = report_file("box.json", checked)
    ((cell,),) = (entry.cells for entry in report.stacks)
    port_end, clearance = report.nearest
    (depth,) = (f for f in report.findings if f.kind == "leftover_depth")
    assert [(n.kind, n.part, n.to_owner, n.required_mm) for n in report.nearest] == [
        ("port_end", "E1", "post", 2.0),
        ("clearance", "E1", "rear", 2.0),
    ]
    for told, tolerance in (
        (cell.leftover_mm, cell.tolerance),
        (port_end.gap_mm, port_end.tolerance),
        (clearance.gap_mm, clearance.tolerance),
        (depth.measured_mm, depth.tolerance),
    ):
        assert tolerance is not None
        assert told == pytest.approx(tolerance.nominal_mm)
        assert tolerance.worst_mm <= tolerance.likely_least_mm < tolerance.nominal_mm
        assert tolerance.coverage == COVERAGE
        # In order of share, and shares of one whole.
        shares = [round(one.share, 9) for one in tolerance.contributors]
        assert shares == sorted(shares, reverse=True)
        assert sum(shares) == pytest.approx(1.0, abs=1e-6)
    assert cell.tolerance is not None
    assert (cell.tolerance.worst_at, cell.tolerance.beside_mm) == ("bar", pytest.approx(1.0))
    assert port_end.tolerance is not None
    assert [c.path for c in port_end.tolerance.contributors if c.uniform] == ["screw_play[0]"]
    json.loads(report.model_dump_json())


def test_a_stack_without_ports_has_no_rows_for_them(tmp_path: Path) -> None:
    blower = fan(25)
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    layers = fan_layer("A", blower, ["c1"])
    of = layout(room((300, 200, 200), [floor]), [blower], [stack("S", "floor-zone", layers)])
    lines = report_lines(str(tmp_path / "box.json"), check_layout(of), 120)
    assert not any("what stands nearest" in line for line in lines)
