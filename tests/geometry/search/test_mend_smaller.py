"""No change that is listed holds a smaller one, and none that one key makes is left out.

Edits by brute force, at coarse amounts and each judged by the check, stand against what is listed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from itertools import combinations
from math import inf

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
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

from catalog.enclosure import Obstacle
from geometry.checks.runner import Checked, check_layout
from geometry.edits import (
    EditError,
    cut_out_obstacle,
    rotate,
    set_slide,
    set_state,
    trim_obstacle,
    turn_over,
)
from geometry.layout import Layout
from geometry.remedies import faults, new_faults
from geometry.search.mending.mend import Mend, mends
from geometry.search.mending.minimal import holds


def listed(lay: Layout, *, cutting: bool = False) -> tuple[Mend, ...]:
    checked = check_layout(lay, remedies=False)
    *_, last = mends(checked, tuple(lay.parts.values()), cutting=cutting)
    return last.found


def steps_of(found: tuple[Mend, ...]) -> list[tuple[str, ...]]:
    return [mend.steps for mend in found]


def on_one_wall(
    *obstacles: Obstacle, both: bool, y_mm: float = 220.0, slot_mm: float = 12.0, apart: float = 150
) -> Layout:
    """One-fan exchangers on two zones of the front wall, one above the other, 150 mm apart.

    The upper core lies at z = 240 to 360, its port end to 390, its return end from 225; the lower
    one's port end reaches 240.
    """
    core = exchanger(1, 30)
    zones = [
        zone(name, "front", (300, 36, 40 + up), "+z", "+y", row(1, slot_u_mm=slot_mm)).but(name=n)
        for name, n, up in (("low", "low zone", 50.0), ("high", "high zone", 50.0 + apart))
    ]
    stacks = [stack("S2", "high", one("E2", core))]
    if both:
        stacks.insert(0, stack("S1", "low", one("E1", core)))
    made = layout(room((300, y_mm, 460), zones, obstacles), [core], stacks)
    return made.but(settings=made.settings.but(judge="nominal"))


def test_a_quarter_turn_that_clears_is_listed_where_no_flip_and_no_slide_does() -> None:
    # The port end at 390 is 18 mm in a duct; flipped the sill below is in its way.
    duct = block("duct", (200, 60, 372), (300, 132, 412))
    sill = block("sill", (200, 60, 180), (300, 132, 228))
    found = listed(on_one_wall(duct, sill, both=False))
    assert {mend.name for mend in found} == {
        f"Turn Exchanger 1 x 120, 30 (E2) by {degrees} degrees" for degrees in (90, 270)
    }


def test_two_that_strike_each_other_share_what_is_missing() -> None:
    # 240 - 225 + 2 = 17 mm are missing, and each can give way by 12 mm; in 170 mm of depth there
    # is no room for a port end to the side.
    found = listed(on_one_wall(both=True, y_mm=170))
    slid = [SLIDE.fullmatch(step) for mend in found for step in mend.steps]
    two = [
        [float(m[2]) for m in map(SLIDE.fullmatch, mend.steps) if m]
        for mend in found
        if all(SLIDE.fullmatch(step) for step in mend.steps)
    ]
    assert slid
    assert len(two) == 1
    assert sum(two[0]) == pytest.approx(17.0)
    assert max(two[0]) <= 12.0


def test_two_free_parts_share_what_is_missing() -> None:
    # B has 4 mm to the rear and C 6 mm to the front, margins kept; 6 + 2 = 8 mm are missing.
    part = brick("brick", (40, 40, 40))
    frees = [free("B", part, (26, 22, 0)), free("C", part, (60, 22, 0))]
    found = listed(layout(room((88, 44, 42)), [part], [], frees))
    assert found[0].steps == (
        "Move brick (B) 4.0 mm to the rear",
        "Move brick (C) 4.0 mm to the front",
    )


def between(*obstacles: Obstacle, slot_mm: float) -> Layout:
    """A two-fan exchanger on the floor between two rows of fans, 80 mm in all, under a shelf at 81.

    Its port end reaches from x = 290 to 320, its return end from 35; flipped it reaches 305.
    """
    core, blower = exchanger(2, 30), fan(25)
    own = zone("floor-zone", "floor", (50, 40, 0), "+x", "+y", row(2, slot_u_mm=slot_mm))
    shelf = block("shelf", (60, 45, 81), (280, 155, 100))
    cells = ("c1", "c2")
    layers = (fan_layer("A", blower, cells), one("E", core), fan_layer("B", blower, cells))
    made = layout(
        room((500, 200, 300), [own], [shelf, *obstacles]), [core, blower],
        [stack("S", "floor-zone", *layers)],
    )  # fmt: skip
    return made.but(settings=made.settings.but(judge="nominal"))


def test_a_slide_that_clears_one_finding_is_tried_beside_what_clears_the_other() -> None:
    # No slide brings the stack out from under the shelf; 5 mm bring its port end off the peg.
    peg = block("peg", (317, 90, 0), (337, 110, 200))
    pairs = steps_of(listed(between(peg, slot_mm=8.0)))
    slide = "Slide the stack on floor zone 5.0 mm to the rear (along -x)"
    for plan in ("push", "pull"):
        assert (slide, f"Set the fans on floor zone from push-pull to {plan}") in pairs


def test_a_cut_is_measured_after_the_change_beside_it() -> None:
    # The core lies at z = 25 to 55, and the peg hangs from the roof to 24, so that 33 mm are too
    # much; without the fans at the plate the core ends at 30, and what is above 32 may stay.
    peg = block("peg", (300, 50, 24), (321, 60, 300), kind="peg")
    found = listed(between(peg, slot_mm=0.0), cutting=True)
    beside = [mend.steps[1] for mend in found if mend.steps[0].endswith("from push-pull to pull")]
    assert beside == ["Trim peg by 8.0 mm at its lower end (cuts the enclosure)"]


def test_nothing_of_what_is_cut_out_is_more_than_what_is_trimmed() -> None:
    whole = {"fans": 0.0, "trim": inf}
    assert holds(whole, {"fans": 0.0, "trim": 35.2})
    assert not holds({"fans": 0.0, "trim": 35.2}, whole)


SLIDE = re.compile(r"Slide the stack on (low|high) zone ([\d.]+) mm (up|down) \(along .z\)")
TURN = re.compile(r"Turn .* \((E\d)\) by (\d+) degrees")
FLIP = re.compile(r"(Flip port end|Turn port face) of .* \((E\d)\)")
TRIM = re.compile(r"Trim (\w+) by ([\d.]+) mm at its .*")
OUT = re.compile(r"(Take out|Cut out) (\w+)( .*)?")

Coarse = tuple[str, float, Callable[[Layout], Layout]]
"""What is changed, by how much (mm), and the edit."""


def told(step: str) -> tuple[str, float] | None:
    """What a listed step changes and by how much; None for a kind that brute force leaves out."""
    if m := SLIDE.fullmatch(step):
        return f"slide {m[1]} {m[3]}", float(m[2])
    if m := TURN.fullmatch(step):
        return f"turn {m[1]} {m[2]}", 0.0
    if m := FLIP.fullmatch(step):
        return f"turn {m[2]} 180" if m[1][0] == "F" else f"face {m[2]}", 0.0
    if m := TRIM.fullmatch(step):
        return f"trim {m[1]}", float(m[2])
    if m := OUT.fullmatch(step):
        return (f"trim {m[2]}", inf) if m[1] == "Cut out" else (f"out {m[2]}", 0.0)
    return None


def by_hand(lay: Layout, *, cutting: bool) -> Iterator[Coarse]:
    """Single edits at coarse amounts, made with no word of the search."""
    for s in lay.stacks:
        item = s.inner[0].items[0].id
        yield f"face {item}", 0.0, lambda la, i=item: turn_over(la, i)
        for n in (1, 2, 3):
            yield f"turn {item} {90 * n}", 0.0, lambda la, i=item, n=n: rotate(la, i, n)
        most = lay.enclosure.zones[0].cells[0].slot_u_mm[1]
        for mm in (2.0, 4.0, 6.0, 8.0, 10.0, 12.0):
            for sign, way in ((1, "up"), (-1, "down")) if mm <= most else ():
                by = sign * mm
                yield (
                    f"slide {s.zone} {way}", mm,
                    lambda la, s=s.id, by=by: set_slide(la, s, by, 0.0),
                )  # fmt: skip
    for obstacle in lay.enclosure.obstacles:
        for state in obstacle.states[1:]:
            yield (
                f"out {obstacle.id}",
                0.0,
                lambda la, o=obstacle.id, s=state.id: set_state(la, o, s),
            )
        for end in ("-x", "+x", "-y", "+y", "-z", "+z") if cutting else ():
            for mm in (5.0, 10.0, 20.0, 35.0):
                yield (
                    f"trim {obstacle.id}", mm,
                    lambda la, o=obstacle.id, e=end, mm=mm: trim_obstacle(la, o, e, mm),
                )  # fmt: skip
        if cutting:
            yield f"trim {obstacle.id}", inf, lambda la, o=obstacle.id: cut_out_obstacle(la, o)


def does(checked: Checked, edits: tuple[Coarse, ...]) -> bool:
    lay = checked.scene.layout
    try:
        for _, _, edit in edits:
            lay = edit(lay)
    except EditError:
        return False
    return not faults(check_layout(lay, checked, remedies=False).report)


@st.composite
def walls(draw: st.DrawFn) -> Layout:
    """Two exchangers on one wall that strike each other or something above or beside them."""
    duct = block("duct", (200, 60, draw(st.integers(372, 396))), (300, 160, 430))
    side = block("side", (250, 0, 60), (300, draw(st.integers(16, 44)), 400), states=IN_OR_OUT)
    obstacles = draw(st.sampled_from([(), (duct,), (side,), (duct, side)]))
    return on_one_wall(
        *obstacles, both=True, y_mm=draw(st.sampled_from([170.0, 220.0])),
        slot_mm=draw(st.sampled_from([4.0, 12.0])), apart=draw(st.integers(148, 172)),
    )  # fmt: skip


@settings(max_examples=5, deadline=None, suppress_health_check=list(HealthCheck))
@given(walls(), st.booleans())
def test_brute_force_finds_nothing_smaller(lay: Layout, cutting: bool) -> None:
    checked = check_layout(lay, remedies=False)
    wanted = faults(checked.report)
    found = listed(lay, cutting=cutting)
    for mend in found:
        after = check_layout(mend.layout, remedies=False).report
        assert new_faults(checked.report, after) == []
        assert len(wanted) - len(faults(after)) == len(mend.clears)
        assert mend.left == len(faults(after))
    if not wanted:
        assert found == ()
        return
    edits = list(by_hand(lay, cutting=cutting))
    singles = [(e,) for e in edits if does(checked, (e,))]
    uncut = [s for s in singles if not s[0][0].startswith("trim")]
    pairs = [p for p in combinations(edits, 2) if p[0][0].split()[:2] != p[1][0].split()[:2]]
    working = [*singles, *(p for p in pairs if not uncut and does(checked, p))]
    clear_all = [mend for mend in found if not mend.left]
    assert bool(clear_all) or not working
    if uncut:
        assert all(len(mend.steps) == 1 for mend in clear_all)
        names = {told(mend.steps[0]) for mend in clear_all}
        assert {one for one, *_ in ((s[0][0], 0.0) for s in uncut)} <= {n[0] for n in names if n}
    for mend in clear_all:
        mine = [told(step) for step in mend.steps]
        if None in mine:
            continue
        amounts = dict(one for one in mine if one is not None)
        for some in working:
            theirs = {what: mm for what, mm, _ in some}
            smaller = holds(amounts, theirs) and theirs != amounts
            assert not smaller, (mend.name, theirs)
