"""What stands out of a stack beyond its last layer, in the stack panel."""

from __future__ import annotations

import pytest
from small_rooms import block, fan, fan_layer, layout, room, row, stack, zone

from app.ui.panels.stack_texts import leftover_text, limit_text
from app.ui.units import Unit
from geometry.checks.runner import check_layout


def test_the_panel_tells_what_stands_out_so_that_the_layers_add_up(open_window) -> None:
    window = open_window()
    window.session.select("E2")
    # Fans 25, exchanger 30, and a fitting of 24 on it: 79 in all.
    assert window.stack._figures.text().replace("&nbsp;", " ").startswith("total 79.0 mm")
    assert window.stack._standing.text() == (
        "24.0 mm stands out: Compression fitting for tube 10/13 on port 1 of Exchanger 2 x 120, "
        "30 mm"
    )
    assert "; stands out 24.0; left 35.0 mm over " in window.stack.bar.accessibleName()


def test_a_stack_of_which_nothing_stands_out_has_no_such_line(open_window) -> None:
    window = open_window()
    window.session.take_zone(window.session.layout.stack("S3").zone)
    assert window.stack._figures.text().replace("&nbsp;", " ").startswith("total 25.0 mm")
    assert window.stack._standing.isHidden()
    assert "stands out" not in window.stack.bar.accessibleName()


def test_the_bar_draws_what_is_left_over_what_is_limited_beside_what_stands_out(
    open_window,
) -> None:
    window = open_window()
    window.session.select("E2")
    bar, out = window.stack.bar, window.stack.bar._out
    # The bracket begins 90 off the floor, 35 over the fans; the fitting beside it ends at 79.
    scale = bar._bar.width() / 90.0
    assert (out.base_mm, out.top_mm) == (55.0, 79.0)
    rest, drawn = bar._rest, bar._out_rect(out)
    assert rest.left() - bar._bar.left() == pytest.approx(55.0 * scale)
    assert rest.right() == pytest.approx(bar._bar.right())
    assert drawn.right() - bar._bar.left() == pytest.approx(79.0 * scale)
    assert drawn.bottom() <= rest.top() + 1e-9
    words = window.stack._figures.text().replace("&nbsp;", " ")
    assert "clear 90.0 mm" in words
    assert (
        "left 35.0 mm over Exchanger 2 x 120, 30 mm at 55.0 mm; the tallest, Compression fitting "
        "for tube 10/13 on port 1 of Exchanger 2 x 120, 30 mm at 79.0 mm, stands beside it"
    ) in window.stack._limit.text()


def test_the_rest_stands_behind_what_stands_out_where_that_is_limited_itself(open_window) -> None:
    window = open_window()
    window.session.take_zone(window.session.layout.stack("S1").zone)
    bar, depth = window.stack.bar, window.stack.side_depth
    # The fitting of the pump is what the card limits: 148.5 and 1.5 make 150.
    scale = bar._bar.width() / 150.0
    assert bar._out is not None
    assert bar._rest.left() - bar._bar.left() == pytest.approx(148.5 * scale)
    assert bar._out_rect(bar._out).right() == pytest.approx(bar._rest.left())
    assert "stands beside" not in window.stack._limit.text()
    assert depth.least.reach_mm == pytest.approx(depth.total_mm)


def test_what_is_in_the_way_sideways_is_told_by_that_overlap_and_not_as_missing_depth() -> None:
    # The post shares 4 mm with the fan's side, 176 to 180, and ends 15 above its face at 75.
    blower = fan(25)
    roof = zone("roof-zone", "roof", (60, 160, 100), "+x", "-y", row(1))
    box = room((300, 200, 100), [roof], [block("post", (176, 80, 0), (190, 120, 90))])
    of = layout(box, [blower], [stack("S", "roof-zone", fan_layer("A", blower, ["c1"]))])
    checked = check_layout(of)
    (depth,) = checked.report.depths
    assert leftover_text(depth, Unit.MM) == "overlaps 4.0 mm sideways"
    assert limit_text(checked.scene, depth, Unit.MM) == "beside it stands post"
