"""The rows of a stack in the table of `gapwright check`."""

from __future__ import annotations

from small_rooms import (
    IN_OR_OUT,
    block,
    brick,
    exchanger,
    fan,
    fan_layer,
    free,
    layout,
    one,
    room,
    row,
    stack,
    zone,
)

from app.cli.report_json import report_file
from app.cli.report_table import report_lines
from app.sheet.content import finding_rows, stack_rows
from geometry.checks.runner import check_layout
from geometry.layout import Layout
from geometry.zone_profile import zone_profile


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


def shelf_under_the_fan(top_mm: float) -> Layout:
    """A core of 30 and a fan of 15 hang from a roof at 200; fittings of 54 stand beside the shelf.

    The shelf ends below the fan alone, so the fittings have the whole way to the floor.
    """
    core, blower = exchanger(1, 30), fan(15)
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1))
    shelf = block("shelf", (70, 60, 0), (150, 140, top_mm))
    return layout(
        room((300, 200, 200), [roof], [shelf]),
        [core, blower],
        [stack("S", "roof-zone", one("E", core), fan_layer("A", blower, ["c1"]))],
    )


def test_a_stack_is_clear_to_where_its_limit_begins_and_words_say_what_stands_beside_it() -> None:
    # The shelf begins 200 - 110 = 90 off the roof: 90 - 45 = 45 over the fan, not 54 + 45 = 99.
    checked = check_layout(shelf_under_the_fan(110))
    profile = zone_profile(checked.scene, "roof-zone")
    assert 90.0 in [piece.depth(piece.t0) for _, _, piece in profile.pieces()]
    words = (
        "left 45.0 mm over Fan 120 x 15 at 45.0 mm; the tallest, Fitting 24 x 20 on port p1 of "
        "Exchanger 1 x 120, 30 at 54.0 mm, stands beside it"
    )
    (told,) = report_file("box.json", checked).stacks
    assert (told.total_mm, told.clear_depth_mm, told.leftover_mm) == (54.0, 90.0, 45.0)
    assert told.limited_beside is not None
    assert (told.limited_beside.item, told.limited_beside.reach_mm) == ("A.1", 45.0)
    assert told.limited_beside.said == words
    assert [(cell.item, cell.reach_mm) for cell in told.cells] == [("A.1", 45.0)]
    text = " ".join(" ".join(report_lines("box.json", checked, 200)).split())
    assert "roof zone inner 54.0 90.0 45.0 " in text
    assert words in text
    (row_of_sheet,) = stack_rows(checked)
    assert [str(cell) for cell in row_of_sheet[2:4]] == ["54.0", "90.0"]
    assert words in getattr(row_of_sheet[1], "text", "")


def test_a_stack_that_stands_in_its_limit_is_clear_to_where_that_begins() -> None:
    # 200 - 160 = 40 off the roof: the fan, 45, is 5 too deep.
    checked = check_layout(shelf_under_the_fan(160))
    (told,) = report_file("box.json", checked).stacks
    assert (told.clear_depth_mm, told.leftover_mm) == (40.0, -5.0)
    assert told.limited_beside is not None
    assert told.limited_beside.said.startswith("5.0 mm of depth missing over Fan 120 x 15 at 45.0")


def test_what_a_stack_overlaps_sideways_is_no_depth_that_is_missing() -> None:
    # The shelf ends at x 49, 4 sideways in the core, which begins at 45, and 15 above its face.
    core = exchanger(1, 30).but(ports=())
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1))
    shelf = block("shelf", (30, 80, 0), (49, 120, 185))
    box = room((300, 200, 200), [roof], [shelf])
    checked = check_layout(layout(box, [core], [stack("S", "roof-zone", one("E", core))]))
    (told,) = report_file("box.json", checked).stacks
    assert [(c.leftover_mm, c.sideways_mm) for c in told.cells] == [(-15.0, 4.0)]
    assert (told.leftover_mm, told.sideways_mm) == (-15.0, 4.0)
    assert told.tolerance is None
    text = " ".join(" ".join(report_lines("box.json", checked, 200)).split())
    assert "over c1: overlaps shelf by 4.0 mm sideways" in text
    assert "-15.0" not in text
    assert "missing" not in text.replace("missing to the", "")


def test_figures_that_add_up_need_no_words() -> None:
    # With no shelf the floor limits the fittings, 54 + 146 = 200.
    checked = check_layout(shelf_under_the_fan(1))
    (told,) = report_file("box.json", checked).stacks
    assert told.limited_beside is None
    assert (told.total_mm, told.clear_depth_mm, told.leftover_mm) == (54.0, 200.0, 146.0)


def test_changes_that_were_tried_stand_before_what_would_take_something_out() -> None:
    # The rib, 125 to 145, stands in the brick, 70 to 130 wide.
    rib = block("rib", (125, 0, 0), (145, 200, 300), states=IN_OR_OUT)
    part = brick("brick", (60, 60, 60))
    box = room((400, 200, 400), [], [rib])
    checked = check_layout(layout(box, [part], [], [free("P", part, (100, 100, 4))]))
    lines = [line.strip() for line in report_lines("box.json", checked, 400)]
    tried = [k for k, line in enumerate(lines) if line.startswith("Tried: Move brick (P)")]
    advice = [k for k, line in enumerate(lines) if "or take out rib." in line]
    assert (len(tried), len(advice)) == (1, 1)
    assert tried < advice
    assert lines[advice[0]].startswith("Otherwise: ")
    (row_of_sheet,) = finding_rows(checked, {1: "A1"})
    said = getattr(row_of_sheet[-1], "text", "")
    assert said.startswith("Checked: Move brick (P)")
    assert said.index("Otherwise: ") < said.index("or take out rib.")
