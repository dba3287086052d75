"""What is tried with the parts of a stack: another order told by what lies where, shared slides."""

from __future__ import annotations

import pytest
from small_rooms import block, exchanger, fan, fan_layer, layout, one, room, row, stack, zone

from catalog.store import load_library
from geometry.checks.runner import check_layout
from geometry.layout import Layout
from geometry.search.mending.sharing import shared_slides
from geometry.search.mending.stack_changes import other_order
from geometry.search.mending.wanted import Wanted

CELLS = ("c1", "c2")


def test_another_order_is_told_by_what_the_layer_lies_on_and_by_what_lies_on_it() -> None:
    core, blower = exchanger(2, 30), fan(25)
    pump = load_library().part("pump-compact-plate-120")
    layers = (
        fan_layer("A", blower, CELLS), one("E", core), fan_layer("B", blower, CELLS),
        one("P", pump),
    )  # fmt: skip
    own = zone("fz", "floor", (50, 40, 0), "+x", "+y", row(2))
    here = layout(room((500, 200, 300), [own]), [core, blower, pump], [stack("S", "fz", *layers)])
    scene = check_layout(here, remedies=False).scene
    said = [step.name for step in other_order(scene, here.stacks[0])]
    on_pump = f"under {pump.name} (P)"
    assert f"Move fans A.1, A.2 onto fans B.1, B.2, {on_pump}" in said
    assert "Move fans B.1, B.2 onto the plate of fz, under fans A.1, A.2" in said
    assert f"Move fans A.1, A.2 onto {pump.name} (P)" in said


def slid_down(slide_mm: float) -> Layout:
    """A one-fan exchanger that may go 12 mm either way, the end of its fitting behind a rail.

    The fitting reaches from z = 365 to 385 where nothing is slid, the rail from 379 to 383.
    """
    core = exchanger(1, 30)
    own = zone("high", "front", (300, 36, 240), "+z", "+y", row(1, slot_u_mm=12.0))
    rail = block("rail", (250, 36, 379 + slide_mm), (262, 160, 383 + slide_mm))
    stacks = [stack("S", "high", one("E", core), slide_u_mm=slide_mm)]
    return layout(room((300, 220, 460), [own], [rail]), [core], stacks)


@pytest.mark.parametrize(
    ("slide_mm", "said"),
    [
        # 6 + 2 = 8 mm down are missing: half of them.
        (0.0, ["Slide the stack on high 4.0 mm down (along -z)"]),
        # No slide down is left. Up 383 + 2 - 365 = 20 mm are missing: half of them.
        (-12.0, ["Slide the stack on high 10.0 mm up (along +z)"]),
    ],
)
def test_a_slide_is_shared_in_the_way_in_which_there_is_any(
    slide_mm: float, said: list[str]
) -> None:
    here = slid_down(slide_mm)
    checked = check_layout(here, remedies=False)
    findings = [one for one in checked.report.findings if "rail" in one.ids]
    assert findings
    steps = shared_slides(checked.scene, here.stacks[0], Wanted(findings))
    assert [step.name for step in steps] == said
