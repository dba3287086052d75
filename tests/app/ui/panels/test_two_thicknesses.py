"""An exchanger whose tanks are thicker than its core is told with both, wherever it is told."""

from __future__ import annotations

import pytest
from small_rooms import exchanger, fan, fan_layer, layout, one, room, row, stack, zone

from app.ui.panels.part_texts import size_text
from geometry.layout import Layer


@pytest.mark.parametrize("fans_on_top", [False, True])
def test_the_layer_tells_core_and_tanks_whatever_follows(open_window, fans_on_top: bool) -> None:
    plain = exchanger(2, 20)
    tank = plain.port_tank.but(thickness_mm=27.0)
    core, blower = plain.but(port_tank=tank), fan(25)
    layers: list[Layer] = [one("E", core)]
    if fans_on_top:
        layers.append(fan_layer("F", blower, ("c1", "c2")))
    floor = zone("z", "floor", (50, 40, 0), "+x", "+y", row(2))
    window = open_window(
        layout(room((500, 300, 300), [floor], []), [core, blower], [stack("S", "z", *layers)])
    )
    window.session.take_zone("z")
    name = window.stack.rows.rows[0]._name.text()
    assert name.endswith("\n20.0 core, 27.0 at the tanks")
    assert size_text(core).endswith(" × 20 core, 27 at the tanks")
    assert size_text(plain).endswith(" × 20")
