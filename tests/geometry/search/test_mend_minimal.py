"""Mends are minimal: nothing less does, in random rooms and with tolerances."""

from __future__ import annotations

import re
from itertools import combinations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_rooms import (
    IN_OR_OUT,
    block,
    exchanger,
    fan,
    fan_layer,
    layout,
    one,
    room,
    row,
    stack,
    zone,
)  # fmt: skip

from catalog.enclosure import Obstacle
from catalog.shapes import Cylinder
from geometry.checks.runner import Checked, check_layout
from geometry.edits import set_slide, trim_obstacle
from geometry.layout import Layout, Settings
from geometry.remedies import faults, new_faults
from geometry.search.mending.bench import Bench
from geometry.search.mending.changes import steps_for
from geometry.search.mending.mend import Mend, mends
from geometry.search.mending.wanted import Wanted


@st.composite
def crowded(draw: st.DrawFn, *, at_both_ends: bool = False) -> Layout:
    """A stack in slots on the floor with a peg, a duct and a removable rail near its ends.

    The port end reaches from x = 290 to 320, and from 20 to 50 where it is turned. With a peg and a
    rail that are further in, neither turning it nor sliding by the 3 mm of its slots is enough.
    """
    core, blower = exchanger(2, 30), fan(25)
    slot = 3.0 if at_both_ends else draw(st.sampled_from([3.0, 9.0]))
    own = zone("floor-zone", "floor", (50, 40, 0), "+x", "+y", row(2, slot_u_mm=slot))
    peg = st.floats(311.0, 315.0) if at_both_ends else st.floats(311.0, 323.0)
    rail = st.floats(32.0, 36.0) if at_both_ends else st.floats(12.0, 36.0)
    peg_at, rail_to = (draw(at.map(lambda mm: round(mm, 2))) for at in (peg, rail))
    duct_over = 70.0 if at_both_ends else draw(st.sampled_from([54.0, 56.5, 70.0]))
    obstacles = [
        block("peg", (peg_at, 90, 0), (peg_at + 20, 110, 200), kind="peg"),
        block("rail", (0, 40, 0), (rail_to, 160, 60), states=IN_OR_OUT),
        block("duct", (150, 60, duct_over), (180, 90, 200), kind="duct"),
    ]  # fmt: skip
    layers = (fan_layer("A", blower, ("c1", "c2")), one("E", core))
    return layout(
        room((500, 200, 300), [own], obstacles), [core, blower],
        [stack("S", "floor-zone", *layers)],
        settings=Settings(judge=draw(st.sampled_from(["worst case", "nominal"]))),
    )  # fmt: skip


def clears(checked: Checked, changed: Layout, goal: set[object]) -> bool:
    after = check_layout(changed, remedies=False).report
    return not new_faults(checked.report, after) and not goal & set(faults(after))


def goal_of(checked: Checked, mend: Mend) -> set[object]:
    told = [f for f in checked.report.findings if f.verdict.value != "clear"]
    keys = [next(k for k, v in faults(checked.report).items() if v == f) for f in told]
    return {keys[number - 1] for number in mend.clears}


SLIDE = re.compile(r"Slide the stack on floor zone ([\d.]+) mm to the \w+ \(along ([+-])x\)")
TRIM = re.compile(r"Trim (\w+) by ([\d.]+) mm at its (.+) \(")
ENDS = {
    "rear end": "-x", "front end": "+x", "access side": "-y", "far side": "+y",
    "lower end": "-z", "upper end": "+z",
}  # fmt: skip


@settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
@given(crowded(), st.booleans())
def test_nothing_less_does(lay: Layout, cutting: bool) -> None:
    checked = check_layout(lay, remedies=False)
    *_, last = mends(checked, tuple(lay.parts.values()), cutting=cutting)
    for mend in last.found:
        goal = goal_of(checked, mend)
        assert goal
        assert clears(checked, mend.layout, goal)
        assert cutting or mend.layout.enclosure is lay.enclosure
        if len(mend.steps) > 1:
            continue
        slide, trim = SLIDE.match(mend.name), TRIM.match(mend.name)
        if slide is not None:
            sign = 1 if slide[2] == "+" else -1
            for less in range(1, round(float(slide[1]) * 10)):
                shorter = set_slide(lay, "S", sign * less / 10, 0.0)
                assert not clears(checked, shorter, goal), (mend.name, less)
        if trim is not None:
            less_mm = round(float(trim[2]) - 0.1, 1)
            assert mend.cuts
            if less_mm > 0:
                shorter = trim_obstacle(lay, trim[1], ENDS[trim[3]], less_mm)  # type: ignore[arg-type]
                assert not clears(checked, shorter, goal), mend.name


@settings(max_examples=4, deadline=None, suppress_health_check=list(HealthCheck))
@given(crowded(at_both_ends=True))
def test_pairs_hold_no_single_change_that_does(lay: Layout) -> None:
    checked = check_layout(lay, remedies=False)
    *_, last = mends(checked, tuple(lay.parts.values()))
    every = set(faults(checked.report))
    pairs = [mend for mend in last.found if len(mend.steps) == 2]
    assert pairs
    assert all(goal_of(checked, mend) == every for mend in pairs)
    bench = Bench(checked, bool)
    wanted = list(faults(checked.report).values())
    singles = steps_for(checked.scene, Wanted(wanted), tuple(lay.parts.values()))
    assert singles
    for step in singles:
        after = bench.checked_after((step,))
        assert after is None or not clears(checked, after.scene.layout, every), step.name
    steps = [frozenset(mend.steps) for mend in last.found]
    assert not any(a <= b for a, b in combinations(steps, 2))


@pytest.mark.parametrize("margin_mm", [2.0, 0.0])
def test_tolerances_ask_for_a_longer_slide_and_the_least_is_found(margin_mm: float) -> None:
    # By nominal figures 3.0 mm and the margin would do; in the worst case the dimensions between
    # the holes of the zone and the end of the exchanger, and those of the peg, are off as well.
    # Without a margin what just touches as drawn is no less an overlap then.
    core, blower = exchanger(2, 30), fan(25)
    own = zone("floor-zone", "floor", (50, 40, 0), "+x", "+y", row(2, slot_u_mm=12.0))
    bar = Cylinder(axis="z", at_mm=(327, 100, 0), diameter_mm=20, length_mm=200)
    peg = Obstacle(id="peg", name="peg", shapes=(bar,))
    lay = layout(
        room((500, 200, 300), [own], [peg]), [core, blower],
        [stack("S", "floor-zone", fan_layer("A", blower, ("c1", "c2")), one("E", core))],
        settings=Settings(margin_mm=margin_mm),
    )  # fmt: skip
    checked = check_layout(lay, remedies=False)
    goal: set[object] = set(faults(checked.report))
    *_, last = mends(checked, tuple(lay.parts.values()))
    (slide,) = [float(m[2] + m[1]) for mend in last.found for m in [SLIDE.match(mend.name)] if m]
    assert -12.0 <= slide < -3.0 - margin_mm
    assert clears(checked, set_slide(lay, "S", slide, 0.0), goal)
    assert not clears(checked, set_slide(lay, "S", round(slide + 0.1, 1), 0.0), goal)
