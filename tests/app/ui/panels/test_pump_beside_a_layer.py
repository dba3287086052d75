"""A pump whose plate carries the next layer stands beside that in the bar, in its full depth."""

from __future__ import annotations

from app.shipped_demo import shipped_demo
from catalog.store import load_library
from geometry.edits import insert_item


def test_the_pump_stays_in_the_bar_when_an_exchanger_lies_on_its_plate(open_window) -> None:
    demo = shipped_demo()
    core = load_library().parts["exchanger-2x120-20"]
    window = open_window(insert_item(demo, demo.stack("S1").zone, "inner", 5, core, "1")[0])
    window.session.take_zone(demo.stack("S1").zone)
    bar = window.stack.bar
    pump, over = bar._spans[-2:]
    # Plate 3 and body 40 from 81.5 on; the exchanger lies on the plate and ends at 111.5.
    assert (pump.short, pump.base_mm, pump.top_mm, pump.reach_mm) == ("pump", 81.5, 84.5, 124.5)
    assert (over.short, over.base_mm, over.top_mm) == ("exch.", 84.5, 111.5)
    assert "a 120 plate 43.0" in bar.accessibleName()
    drawn = bar._rect(pump)
    assert drawn.width() > bar._rect(over).width()
    assert drawn.top() > bar._rect(over).top()
    assert bar._free(bar._rect(over), over).bottom() == drawn.top()


def test_a_pump_that_nothing_lies_on_takes_the_whole_bar(open_window) -> None:
    window = open_window()
    window.session.take_zone(window.session.layout.stack("S1").zone)
    bar = window.stack.bar
    assert not any(span.beside for span in bar._spans)
    assert bar._rect(bar._spans[-1]).height() == bar._bar.height()


def test_the_part_panel_tells_how_far_the_body_of_a_pump_goes(open_window) -> None:
    window = open_window()
    window.session.select("P1")
    # Its plate of 3 lies 81.5 off the plate of the zone, its body goes on to 43 in all.
    assert "from 81.5 to 124.5 mm off the plate of the zone" in window.part._about.text()
    window.session.select("E1")
    assert "from 26.5 to 56.5 mm off the plate of the zone" in window.part._about.text()
