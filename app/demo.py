"""The demo layout: the field-recorder bench box of a small field-acoustics lab.

A recorder for long quiet takes, so no fan may hurry: one exchanger in push-pull on the front
bracket, with a pump on its innermost fan, and one on the floor; a reservoir under the roof. As
drawn, the front exchanger's port end strikes the cable peg at the top of the bracket. Turned end
for end it clears the peg. The fitting on the pump is tight on the card.

`python -m app.demo` writes it to the file that is shipped and read by `app.shipped_demo`.
"""

from __future__ import annotations

from typing import Literal

from app.shipped_demo import FILE
from catalog.parts import Fan, Fitting, part_ports
from catalog.store import Library
from geometry.edits import (
    FanPlan,
    add_free,
    fill_fans,
    insert_item,
    set_fitting,
    set_held,
    set_slide,
)
from geometry.edits.base import need_use
from geometry.layout import Held, Layout
from geometry.layout_file import write_layout


def demo_layout(library: Library) -> Layout:
    """Return the demo layout, built by edits from shipped parts."""
    layout = Layout(name="Field recorder, bench box", enclosure=library.enclosure("bench-box"))
    layout, front = _exchanger_with_fans(layout, library, "front-zone", "push-pull")
    layout, _ = insert_item(layout, "front-zone", "inner", 1, library.part("gasket-2x120-3"), "1")
    layout, pump = insert_item(
        layout, "front-zone", "inner", 4, library.part("pump-compact-plate-120"), "1"
    )
    layout, floor = _exchanger_with_fans(layout, library, "floor-zone", "push", turn=2)
    # Some millimetres off the supply's cables, which tolerances would take otherwise.
    stack = next(stack.id for stack in layout.stacks if stack.zone == "floor-zone")
    layout = set_slide(layout, stack, 3.0, 0.0)
    layout, _ = insert_item(layout, "rear-zone", "inner", 0, library.part("fan-92-25"), "1")
    layout, reservoir = add_free(
        layout, library.part("reservoir-tube-150"), (150.0, 60.0, 400.0), x_to="+x", z_to="-z"
    )
    layout = set_held(layout, reservoir, Held(by="holes", on="roof"))
    for placed in (front, pump, floor, reservoir):
        layout = _with_fittings(layout, library, placed)
    return layout


def _exchanger_with_fans(
    layout: Layout, library: Library, zone: str, plan: FanPlan, turn: Literal[0, 2] = 0
) -> tuple[Layout, str]:
    """Put a slim exchanger on a zone, and fans on the faces that the plan names."""
    fan = library.part("fan-120-25")
    assert isinstance(fan, Fan)
    exchanger = library.part("exchanger-2x120-30")
    layout, placed = insert_item(layout, zone, "inner", 0, exchanger, "1", turn)
    stack = next(stack.id for stack in layout.stacks if stack.zone == zone)
    return fill_fans(layout, stack, "inner", plan, fan), placed


def _with_fittings(layout: Layout, library: Library, placed: str) -> Layout:
    """Stand a compression fitting on every open port of a placed part."""
    fitting = library.part("fitting-compression-10-13")
    assert isinstance(fitting, Fitting)
    part = layout.part(need_use(layout, placed).part)
    for port in part_ports(part):
        if port.open:
            layout = set_fitting(layout, placed, port.id, fitting)
    return layout


if __name__ == "__main__":
    write_layout(FILE, demo_layout(Library()))
