"""An exchanger whose tanks are thicker than its core is told with both, wherever it is told."""

from __future__ import annotations

import pytest
from small_rooms import exchanger, fan, fan_layer, layout, one, room, row, stack, zone
from ui_hand import layer_rows

from app.cli.report_table import report_lines
from app.sheet.content import stack_rows
from app.sheet.table import Cell
from app.ui.panels.part_texts import size_text
from catalog.parts import Exchanger
from geometry.checks.runner import check_layout
from geometry.layout import Layer, Layout


def slim_stack(fans_on_top: bool) -> tuple[Layout, Exchanger]:
    """Return a room with an exchanger 20 thick and 27 at its tanks, alone or with fans on it."""
    core = exchanger(2, 20)
    core = core.but(port_tank=core.port_tank.but(thickness_mm=27.0))
    blower = fan(25)
    layers: list[Layer] = [one("E", core)]
    if fans_on_top:
        layers.append(fan_layer("F", blower, ("c1", "c2")))
    floor = zone("z", "floor", (50, 40, 0), "+x", "+y", row(2))
    box = room((500, 300, 300), [floor], [])
    return layout(box, [core, blower], [stack("S", "z", *layers)]), core


@pytest.mark.parametrize("fans_on_top", [False, True])
def test_the_layer_tells_core_and_tanks_whatever_follows(open_window, fans_on_top: bool) -> None:
    of, core = slim_stack(fans_on_top)
    window = open_window(of)
    window.session.take_zone("z")
    name = layer_rows(window)[0]._name.text()
    assert name.endswith("\n20.0 core, 27.0 at the tanks")
    assert size_text(core).endswith(" × 20 core, 27 at the tanks")
    assert size_text(exchanger(2, 20)).endswith(" × 20")


@pytest.mark.parametrize("fans_on_top", [False, True])
def test_the_report_and_the_sheet_tell_both_too(fans_on_top: bool) -> None:
    of, core = slim_stack(fans_on_top)
    checked = check_layout(of)
    # As the last layer it goes as far as its tank, half of 20 and half of 27; fans lie on the core.
    told = f"{core.name} (20 core, 27 at the tanks)"
    report = " ".join(line.strip() for line in report_lines("f", checked, 400))
    assert f"{told} {'20.0, ' if fans_on_top else '23.5'}" in report
    ((_, layers, *_),) = stack_rows(checked)
    assert isinstance(layers, Cell)
    assert layers.text.split("\n")[0].startswith(f"{20 if fans_on_top else 23.5} mm: {told}")
    assert f"{fan(25).name} (" not in report
