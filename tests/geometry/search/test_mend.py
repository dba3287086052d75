"""Changes that mend a layout: each clears what it says, makes nothing worse, and is minimal."""

from __future__ import annotations

import pytest
from small_rooms import block, exchanger, fan, fan_layer, layout, one, room, row, stack, zone

from app.demo import demo_layout
from catalog.store import Library
from geometry.checks.runner import Checked, check_layout
from geometry.layout import Layout
from geometry.remedies import faults, new_faults
from geometry.search.mending.mend import Mends, mends


def mended(checked: Checked, library: Library | None = None) -> Mends:
    parts = {**checked.scene.layout.parts, **(library.parts if library is not None else {})}
    *_, last = mends(checked, tuple(parts.values()))
    return last


def box(peg_mm: float) -> Layout:
    """A two-fan exchanger on the floor whose port end, at x = 290, runs into a peg from `peg_mm`.

    Its core lies at x = 50 to 290, the return end from 35, the port end to 320; slots of 8 mm.
    """
    core, blower = exchanger(2, 30), fan(25)
    enclosure = room(
        (500, 200, 300),
        [zone("floor-zone", "floor", (50, 40, 0), "+x", "+y", row(2, slot_u_mm=8.0))],
        [block("peg", (peg_mm, 90, 0), (peg_mm + 20, 110, 200))],
    )
    layers = (fan_layer("A", blower, ("c1", "c2")), one("E", core))
    return layout(enclosure, [core, blower], [stack("S", "floor-zone", *layers)])


def test_least_slide_is_found_to_a_tenth_of_a_millimetre() -> None:
    # The port end reaches 320, the peg begins at 317: 3 mm are shared and 2 mm of margin missing.
    # Flipped, the return end reaches 305 and clears the peg by 12 mm.
    base = box(317.0)
    nominal = base.but(settings=base.settings.but(judge="nominal"))
    found = mended(check_layout(nominal, remedies=False))
    names = [m.name for m in found.found]
    assert "Slide the stack on floor zone 5.0 mm to the rear (along -x)" in names
    assert "Flip port end of Exchanger 2 x 120, 30 (E)" in names
    assert all(len(m.steps) == 1 and m.left == 0 for m in found.found)


@pytest.fixture(scope="module")
def library() -> Library:
    return Library()


@pytest.fixture(scope="module")
def demo(library: Library) -> Checked:
    return check_layout(demo_layout(library), remedies=False)


def test_every_change_clears_what_it_says_and_makes_nothing_worse(
    demo: Checked, library: Library
) -> None:
    found = mended(demo, library)
    assert found.found
    told = [f for f in demo.report.findings if f.verdict.value != "clear"]
    for mend in found.found:
        after = check_layout(mend.layout, remedies=False).report
        assert new_faults(demo.report, after) == []
        gone = set(faults(demo.report)) - set(faults(after))
        assert len(gone) == len(mend.clears)
        assert len(faults(after)) == mend.left == len(told) - len(gone)


def test_no_change_holds_a_smaller_one_that_works(demo: Checked, library: Library) -> None:
    steps = [frozenset(m.steps) for m in mended(demo, library).found]
    assert len(set(steps)) == len(steps)
    assert not any(a < b for a in steps for b in steps)
    # The demo has two faults of two parts, so every change has two steps.
    assert {len(s) for s in steps} == {2}


def test_a_sound_layout_needs_no_change() -> None:
    checked = check_layout(box(400.0), remedies=False)
    assert mended(checked) == Mends((), 0, 0, done=True)
