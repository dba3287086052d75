"""The rows of a stack in the table of `gapwright check`."""

from __future__ import annotations

from small_rooms import exchanger, fan, fan_layer, layout, one, room, row, stack, zone

from app.cli.report_json import report_file
from app.cli.report_table import report_lines
from geometry.checks.runner import check_layout


def test_rows_over_the_same_cell_name_their_item() -> None:
    # The exchanger's fitting passes the fan on it, so both are listed over c1.
    core, blower = exchanger(1, 30), fan(15)
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1))
    layers = (one("E", core), fan_layer("A", blower, ["c1"]))
    of = layout(room((300, 200, 200), [roof]), [core, blower], [stack("S", "roof-zone", *layers)])
    lines = report_lines("box.json", check_layout(of), 120)
    rows = [line.split("  ")[-1].strip() for line in lines if "over c1" in line]
    assert rows == ["A.1 over c1: to floor", "E over c1: to floor"]


def test_a_row_over_a_cell_of_its_own_needs_no_name() -> None:
    blower = fan(25)
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(2))
    fans = fan_layer("A", blower, ["c1", "c2"])
    of = layout(room((400, 200, 200), [roof]), [blower], [stack("S", "roof-zone", fans)])
    lines = report_lines("box.json", check_layout(of), 120)
    rows = [line.split("  ")[-1].strip() for line in lines if " over c" in line]
    assert rows == ["over c1: to floor", "over c2: to floor"]


def test_layers_and_what_stands_out_add_up_to_the_total() -> None:
    # Exchanger 30 + fan 15 = 45; the fittings stand on the exchanger and end 54 off the roof.
    core, blower = exchanger(1, 30), fan(15)
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1))
    layers = (one("E", core), fan_layer("A", blower, ["c1"]))
    of = layout(room((300, 200, 200), [roof]), [core, blower], [stack("S", "roof-zone", *layers)])
    text = " ".join(" ".join(report_lines("box.json", check_layout(of), 200)).split())
    assert "roof zone inner 54.0 " in text
    assert (
        "Exchanger 1 x 120, 30 30.0, Fan 120 x 15 15.0; "
        "stands out: Fitting 24 x 20 on port p1 of Exchanger 1 x 120, 30 9.0" in text
    )


def test_the_report_as_json_has_what_stands_out_too() -> None:
    # Exchanger 30 + fan 15 = 45; the fittings stand on the exchanger and end 54 off the roof.
    core, blower = exchanger(1, 30), fan(15)
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1))
    fans = fan_layer("A", blower, ["c1"])
    both = layout(
        room((300, 200, 200), [roof]),
        [core, blower],
        [stack("S", "roof-zone", one("E", core), fans)],
    )
    (told,) = report_file("box.json", check_layout(both)).stacks
    assert told.standing_out is not None
    assert told.standing_out.id == "E/fitting:p1"
    assert (told.standing_out.base_mm, told.standing_out.top_mm, told.total_mm) == (45, 54, 54)
    alone = layout(room((300, 200, 200), [roof]), [blower], [stack("S", "roof-zone", fans)])
    (told,) = report_file("box.json", check_layout(alone)).stacks
    assert told.standing_out is None
