"""A free part in the depth of a stack is moved out of it: as a remedy, and as the smallest change.

The stack stands on the front wall at x = 400: fans of 25 mm and a core of 30 reach x = 345, its
fittings 321. The block, 60 mm each way, stands under the fittings, its far face at x = 350.
"""

from __future__ import annotations

import re

import pytest
from small_rooms import (
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
    said,
    stack,
    zone,
)

from geometry.checks.runner import check_layout
from geometry.finding import Finding, Report, Verdict
from geometry.layout import Held, Layout, Settings
from geometry.search.mending.mend import mends

CORE, BLOWER, BRICK = exchanger(2, 30), fan(25), brick("brick", (60, 60, 60))


def in_the_way(x_mm: float = 320.0, *, judge: str = "nominal", **more: object) -> Layout:
    own = zone("front-zone", "front", (400, 40, 60), "+z", "+y", row(2))
    layers = (fan_layer("A", BLOWER, ("c1", "c2")), one("E", CORE))
    return layout(
        room((400, 200, 400), [own], more.pop("obstacles", ())),  # type: ignore[arg-type]
        [CORE, BLOWER, BRICK],
        [stack("S", "front-zone", *layers)],
        [free("P", BRICK, (x_mm, 100, 4), **more)],
        settings=Settings(judge=judge),  # type: ignore[arg-type]
    )


def faults(report: Report) -> list[Finding]:
    return [f for f in report.findings if f.verdict is not Verdict.CLEAR]


def remedies(lay: Layout) -> list[str]:
    (fault,) = [f for f in faults(check_layout(lay).report) if "P" in f.ids]
    for remedy in fault.remedies:
        assert said(check_layout(remedy.layout, remedies=False).report) == []
    return [remedy.name for remedy in fault.remedies]


def changes(lay: Layout) -> list[str]:
    *_, last = mends(check_layout(lay, remedies=False), tuple(lay.parts.values()))
    return [mend.name for mend in last.found]


@pytest.mark.parametrize(
    ("x_mm", "kind", "asked"),
    [(320.0, "blocked", "7.0"), (313.5, "tight", "0.5")],
)
def test_it_goes_on_along_the_stack_by_what_is_missing(x_mm: float, kind: str, asked: str) -> None:
    # 350 - 345 = 5 mm are shared and 2 mm asked for; at 343.5 half a millimetre is missing.
    lay = in_the_way(x_mm)
    assert [f.verdict.value for f in faults(check_layout(lay, remedies=False).report)] == [kind]
    assert remedies(lay) == changes(lay) == [f"Move brick (P) {asked} mm to the rear"]


def test_it_goes_so_far_that_the_worst_case_keeps_the_margin() -> None:
    # The remedy adds what tolerances take as it stands, rounded up; the least may be a tenth less.
    lay = in_the_way(judge="worst case")
    ((told,), (least,)) = remedies(lay), changes(lay)
    way = re.compile(r"Move brick \(P\) (\d+\.\d) mm to the rear")
    told_mm, least_mm = (float(way.fullmatch(name)[1]) for name in (told, least))  # type: ignore[index]
    assert least_mm > 7.0
    assert 0.0 <= round(told_mm - least_mm, 1) <= 0.1


def test_one_that_is_locked_is_not_moved() -> None:
    lay = in_the_way(locked=True)
    assert remedies(lay) == changes(lay) == []


def test_where_its_holes_are_it_says_that_new_ones_are_needed() -> None:
    lay = in_the_way(held=Held(by="holes", on="floor"))
    assert remedies(lay) == ["Move brick (P) 7.0 mm to the rear (needs new holes)"]
    assert changes(lay) == remedies(lay)


def test_it_is_not_moved_into_something_else() -> None:
    # A rib 5 mm behind it leaves 3 mm to go, and the brick is too high to go elsewhere.
    rib = block("rib", (270, 0, 0), (285, 200, 400))
    assert remedies(in_the_way(obstacles=[rib])) == []


def test_two_faults_of_one_part_are_mended_by_two_moves() -> None:
    # Beside it, 1 mm off its side at y = 130, a rail runs along all that it could go to the rear.
    lay = in_the_way(obstacles=[block("rail", (0, 131, 0), (400, 140, 40))])
    assert len(faults(check_layout(lay, remedies=False).report)) == 2
    assert changes(lay)[0] == (
        "Move brick (P) 1.0 mm towards the access side, and Move brick (P) 7.0 mm to the rear"
    )
