"""What is stopped by a wall is told the way back inside, not out through the wall."""

from __future__ import annotations

import pytest
from small_rooms import (
    brick,
    exchanger,
    found,
    free,
    layout,
    one,
    room,
    row,
    said,
    stack,
    zone,
)

from catalog.enclosure import Opening
from catalog.shapes import Box, Plug
from geometry.checks.back_inside import NO_WAY_BACK
from geometry.checks.finding_figures import with_tolerances
from geometry.checks.runner import check_layout
from geometry.finding import Finding
from geometry.layout import Layout, Settings

CORE = exchanger(1, 30)
SIZE = (400, 300, 300)
NO_MARGIN = Settings(judge="nominal", margin_mm=0)


def towards_the_access_side(zone_y_mm: float, slot_v_mm: float = 0.0) -> Layout:
    """A core on the floor whose port end reaches 30 mm farther to the access side than its zone."""
    own = zone("z", "floor", (100, zone_y_mm, 0), "+x", "+y", row(1, slot_v_mm=slot_v_mm))
    return layout(room(SIZE, [own]), [CORE], [stack("S", "z", one("E1", CORE, turn=3))])


def port_end(lay: Layout) -> Finding:
    return found(check_layout(lay, remedies=False).report, "port_end")


@pytest.mark.parametrize("zone_y_mm", [29.0, 27.0, 10.0, 0.0])
def test_a_port_end_through_a_thin_wall_is_told_the_way_back(zone_y_mm: float) -> None:
    # The wall is 2 mm thick; the port end begins at y = zone_y - 30. Out through the wall it would
    # be parted by zone_y + 2, which is less than the way back from zone_y = 14 down.
    finding = port_end(towards_the_access_side(zone_y_mm, slot_v_mm=40.0))
    back = 30.0 - zone_y_mm
    assert finding.measured_mm == pytest.approx(-back)
    assert finding.shift == pytest.approx((0.0, back, 0.0))
    assert finding.title.endswith(
        f"is stopped by access-side wall: overlaps {back:.1f} mm, {back + 2:.1f} mm missing to the "
        "2.0 mm margin"
    )
    assert finding.advice == (
        f"Move Exchanger 1 x 120, 30 (E1) {back + 2:.1f} mm away from the access side."
    )


def test_moved_so_far_it_keeps_its_margin() -> None:
    lay = towards_the_access_side(10.0, slot_v_mm=40.0)
    (own,) = lay.stacks
    report = check_layout(lay.but(stacks=(own.but(slide_v_mm=22.0),)), remedies=False).report
    assert said(report, "port_end", "outside_cavity") == []
    report = check_layout(lay.but(stacks=(own.but(slide_v_mm=21.9),)), remedies=False).report
    assert said(report, "port_end") == [("port_end", "tight", ("E1", "access"), 1.9)]


def test_the_remedy_slides_it_back_inside() -> None:
    lay = towards_the_access_side(10.0, slot_v_mm=40.0)
    names = [one.name for one in found(check_layout(lay).report, "port_end").remedies]
    assert "Slide the stack on z 22.0 mm away from the access side (along +y)" in names


def test_the_figure_told_has_its_tolerance() -> None:
    report = with_tolerances(check_layout(towards_the_access_side(10.0), remedies=False).report)
    finding = found(report, "port_end")
    assert finding.tolerance is not None
    assert finding.tolerance.nominal.nominal_mm == pytest.approx(-20.0)
    assert finding.tolerance.worst.worst_mm < -20.0


def test_in_a_corner_each_wall_is_told_its_own_way_back() -> None:
    # No move along one axis brings the port end back from both walls.
    own = zone("z", "floor", (-10, 0, 0), "+x", "+y", row(1))
    lay = layout(room(SIZE, [own]), [CORE], [stack("S", "z", one("E1", CORE, turn=3))])
    report = check_layout(lay, remedies=False).report
    shifts = {f.ids: f.shift for f in report.findings if f.kind == "port_end"}
    assert shifts == {("E1", "access"): (0.0, 30.0, 0.0)}


def plug_faults(*openings: Opening) -> list[Finding]:
    """A brick 5 mm before the access-side wall, whose plug wants 20 mm there, 20 wide and high."""
    plug = Plug(
        id="plug", name="plug", at_mm=(0, -30, 30), facing="-y", width_mm=20, height_mm=20,
        plug_mm=20,
    )  # fmt: skip
    part = brick("brick", (60, 60, 60), (plug,))
    own = room(SIZE, openings=openings)
    lay = layout(own, [part], [], [free("P", part, (200, 35, 0))], settings=NO_MARGIN)
    return [f for f in check_layout(lay, remedies=False).report.findings if f.kind == "plug_room"]


def test_a_plug_through_a_wall_is_told_the_way_back() -> None:
    # Its room ends at y = -15; out through the wall it would be parted by 7 mm.
    (finding,) = plug_faults()
    assert finding.title == "Plug of brick (P) has no room: access-side wall overlaps it 15.0 mm"
    assert finding.advice.startswith("Move brick (P) 15.0 mm away from the access side, or choose")


def test_a_plug_may_go_out_through_an_opening() -> None:
    def slot(x0_mm: float) -> Opening:
        shape = Box(at_mm=(x0_mm, -2, 20), size_mm=(20, 2, 20))
        return Opening(id="slot", name="slot", wall="access", shape=shape)

    assert plug_faults(slot(190)) == []
    (finding,) = plug_faults(slot(193))
    assert finding.advice.startswith("Move brick (P) 3.0 mm to the front, or choose")


def test_what_is_larger_than_the_cavity_has_no_way_back_from_its_step() -> None:
    # An L whose arms are 100 and 20 mm wide, and a port end of 30 x 120 mm that lies in neither.
    cavity = (
        Box(at_mm=(0, 0, 0), size_mm=(400, 100, 100)),
        Box(at_mm=(0, 0, 0), size_mm=(20, 300, 100)),
    )
    own = zone("z", "floor", (200, 150, 0), "+x", "+y", row(1))
    outer = (Box(at_mm=(-2, -2, -2), size_mm=(404, 304, 104)),)
    lay = layout(
        room((400, 300, 100), [own], cavity=cavity, outer=outer),
        [CORE], [stack("S", "z", one("E1", CORE))],
    )  # fmt: skip
    report = check_layout(lay, remedies=False).report
    finding = found(report, "port_end")
    assert (finding.ids, finding.shift) == (("E1", "step"), None)
    assert finding.advice == NO_WAY_BACK
