"""What stands out of a stack beyond its last layer, in the stack panel."""

from __future__ import annotations

import pytest


def test_the_panel_tells_what_stands_out_so_that_the_layers_add_up(open_window) -> None:
    window = open_window()
    window.session.select("E2")
    # Fans 25, exchanger 30, and a fitting of 24 on it: 79 in all.
    assert window.stack._figures.text().replace("&nbsp;", " ").startswith("total 79.0 mm")
    assert window.stack._standing.text() == (
        "24.0 mm stands out: Compression fitting for tube 10/13 on port 1 of Exchanger 2 x 120, "
        "30 mm"
    )
    assert "; stands out 24.0; leftover " in window.stack.bar.accessibleName()


def test_a_stack_of_which_nothing_stands_out_has_no_such_line(open_window) -> None:
    window = open_window()
    window.session.take_zone(window.session.layout.stack("S3").zone)
    assert window.stack._figures.text().replace("&nbsp;", " ").startswith("total 25.0 mm")
    assert window.stack._standing.isHidden()
    assert "stands out" not in window.stack.bar.accessibleName()


def test_the_bar_leaves_the_room_of_what_stands_out_and_puts_the_rest_behind_it(
    open_window,
) -> None:
    window = open_window()
    window.session.select("E2")
    bar, depth = window.stack.bar, window.stack.side_depth
    out = bar._out
    scale = bar._bar.width() / (depth.total_mm + depth.least.mm)
    assert (out.base_mm, out.top_mm) == (55.0, 79.0)
    # What is left is centred on the room from 79 mm on, not from the last layer's 55 mm.
    assert bar._rest.left() - bar._bar.left() == pytest.approx(79.0 * scale)
    assert bar._rect(out).right() == pytest.approx(bar._rest.left())
