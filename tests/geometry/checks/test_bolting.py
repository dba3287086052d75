"""Rules of bolting: hole patterns, slots, sizes of zones, threads, air."""

from __future__ import annotations

from small_rooms import (
    block,
    brick,
    exchanger,
    fan,
    fan_layer,
    found,
    grille,
    layout,
    mount,
    one,
    room,
    row,
    said,
    stack,
    zone,
)

from catalog.enclosure import Enclosure, Opening
from catalog.model import FrozenMap
from catalog.parts import Fitting
from catalog.shapes import Cell
from geometry.checks.runner import check_layout
from geometry.finding import Report
from geometry.layout import Item, Layer, Layout, PortUse

CUBE = brick("cube", (40, 40, 40))


def report(of: Layout) -> Report:
    return check_layout(of).report


# ---- bolting ----


def row_zone(cells: tuple[Cell, ...], **more: object) -> Enclosure:
    return room(
        (500, 200, 200),
        [zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", cells, **more)],
    )


def test_a_fan_of_another_pitch_does_not_meet_the_holes() -> None:
    blower = fan(25, 140.0)
    of = layout(
        row_zone(row(1)), [blower], [stack("S", "roof-zone", fan_layer("A", blower, ["c1"]))]
    )
    # Holes at 124.5 and 105 mm: each is off by 9.75, of which 0.5 is play.
    assert said(report(of), "hole_pattern") == [
        ("hole_pattern", "blocked", ("A.1", "roof-zone"), -9.25)
    ]


def test_a_rounded_pitch_is_within_the_play() -> None:
    # 125 for 124.5 mm, as it circulates: each hole is off by 0.25.
    blower = fan(25, 140.0).but(pitch_mm=125.0)
    of = layout(
        row_zone(row(1, 140.0)), [blower], [stack("S", "roof-zone", fan_layer("A", blower, ["c1"]))]
    )
    assert said(report(of), "hole_pattern") == []


def test_a_cell_that_takes_two_sizes_takes_both() -> None:
    cell = row(1, 140.0)[0].but(accepts=(mount(120.0), mount(140.0)))
    for size in (120.0, 140.0):
        blower = fan(25, size)
        stacked = stack("S", "roof-zone", fan_layer("A", blower, ["c1"]))
        assert said(report(layout(row_zone((cell,)), [blower], [stacked])), "hole_pattern") == []


def test_cells_spaced_differently_need_slots() -> None:
    # An exchanger whose cells are 123 mm apart on holes 120 mm apart: 3 mm to share out, of which
    # each hole gives 0.5 mm of play to either side, so 2 mm are missing; slots of 1 mm give them.
    core = exchanger(2, 30, apart_mm=123.0, ports=0)

    def on(slot_mm: float, slide_mm: float = 0.0) -> list[object]:
        cells = row(2, slot_u_mm=slot_mm)
        of = layout(
            row_zone(cells),
            [core],
            [stack("S", "roof-zone", one("E", core), slide_u_mm=slide_mm)],
        )
        return list(said(report(of), "hole_pattern", "slide"))

    assert on(0.0) == [("hole_pattern", "blocked", ("E", "roof-zone"), -2.0)]
    # With slots of 1 mm it goes when slid back by half of the 3 mm.
    assert on(1.0) == [("slide", "blocked", ("S", "roof-zone"), -1.5)]
    assert on(1.0, -1.5) == []


def test_fans_under_an_exchanger_slide_in_their_own_slots_to_meet_it() -> None:
    # The exchanger's cells are 120 mm apart, the zone's 125: the second fan has to stand 5 mm back.
    core, blower = exchanger(2, 30), fan(25)
    big = (400, 200, 200)

    def on(slot_mm: float, slide_mm: float = 0.0) -> Report:
        cells = row(2, apart_mm=125, slot_u_mm=slot_mm)
        under = zone("roof-zone", "roof", (10, 160, 200), "+x", "-y", cells)
        layers = (fan_layer("A", blower, ["c1", "c2"]), one("E", core))
        stacks = [stack("S", "roof-zone", *layers, slide_u_mm=slide_mm)]
        return report(layout(room(big, [under]), [core, blower], stacks))

    assert said(on(6.0), "hole_pattern", "slide") == []
    # Slots of 4 mm need a slide of 1 mm or more; 0.5 mm of it are in the play of the holes.
    assert said(on(4.0), "hole_pattern", "slide") == [
        ("slide", "blocked", ("S", "roof-zone"), -0.5)
    ]
    (mend,) = found(on(4.0), "slide").remedies
    assert said(check_layout(mend.layout).report, "hole_pattern", "slide") == []
    assert said(on(4.0, 1.0), "hole_pattern", "slide") == []
    # Slots of 1 mm cannot take up 5 mm, wherever the stack stands: 4 mm are left, less the play.
    assert said(on(1.0), "hole_pattern", "slide") == [
        ("slide", "blocked", ("S", "roof-zone"), -3.5)
    ]
    assert "No slide along" in found(on(1.0), "slide").advice
    # Round holes let no fan slide: then the exchanger does not meet the fan.
    assert said(on(0.0), "hole_pattern", "slide") == [
        ("hole_pattern", "blocked", ("E", "A.2"), -4.5)
    ]


def test_a_part_without_a_hole_pattern_cannot_be_stacked() -> None:
    of = layout(row_zone(row(1)), [CUBE], [stack("S", "roof-zone", one("A", CUBE))])
    assert said(report(of), "hole_pattern") == [("hole_pattern", "blocked", ("A", "S"), None)]


def test_a_slide_beyond_the_slots_is_blocked_and_its_remedy_brings_it_back() -> None:
    blower = fan(25)
    cells = row(2, slot_u_mm=6.0)
    of = layout(
        row_zone(cells),
        [blower],
        [stack("S", "roof-zone", fan_layer("A", blower, ["c1", "c2"]), slide_u_mm=10.0)],
    )
    # 6 mm of slot and 0.5 mm of play: 10 - 6.5 = 3.5 mm too far.
    assert said(report(of), "slide") == [("slide", "blocked", ("S", "roof-zone"), -3.5)]
    (mend,) = found(report(of), "slide").remedies
    assert mend.layout.stacks[0].slide_u_mm == 6.0
    assert said(report(mend.layout)) == []


def test_a_stack_off_its_slots_both_ways_is_told_once_and_brought_back_both_ways() -> None:
    blower = fan(25)
    cells = row(1, slot_u_mm=4.0, slot_v_mm=2.0)
    away = stack("S", "roof-zone", fan_layer("A", blower, ["c1"]), slide_u_mm=9.0, slide_v_mm=-3.0)
    of = layout(row_zone(cells), [blower], [away])
    fault = found(report(of), "slide")
    # Half a millimetre of each way is in the play of the holes.
    assert fault.title == (
        "Stack on roof zone is 4.5 mm off its slots along x and 0.5 mm off its slots along y"
    )
    assert fault.measured_mm == -4.5
    # v runs along -y, so -3 mm along it is 3 mm away from the access side.
    assert fault.advice.startswith(
        "Slide it 5.0 mm to the rear (along -x) and 1.0 mm towards the access side (along -y)."
    )
    (mend,) = fault.remedies
    assert (mend.layout.stacks[0].slide_u_mm, mend.layout.stacks[0].slide_v_mm) == (4.0, -2.0)


def test_a_slide_within_the_slots_gives_room_at_one_end() -> None:
    # The fan ends at x = 180, a post stands from 178: 2 mm missing, 4 with the margin; the slot
    # of 6 mm lets the stack slide back by 4.
    blower = fan(25)
    post = block("post", (178, 80, 150), (190, 120, 200))
    roof = zone("roof-zone", "roof", (60, 160, 200), "+x", "-y", row(1, slot_u_mm=6.0))
    of = layout(
        room((500, 200, 200), [roof], [post]),
        [blower],
        [stack("S", "roof-zone", fan_layer("A", blower, ["c1"]))],
    )
    fault = found(report(of), "overlap")
    assert (fault.measured_mm, [r.name for r in fault.remedies]) == (
        -2.0,
        ["Slide the stack on roof zone 4.0 mm to the rear (along -x)"],
    )


def test_a_core_longer_than_its_zone_is_blocked_and_one_raised_on_fans_tight() -> None:
    long, blower = exchanger(3, 30, ports=0), fan(25)
    # The core starts with the zone at u = 0 and ends at 360, the zone at 240.
    seated = layout(row_zone(row(2)), [long], [stack("S", "roof-zone", one("E", long))])
    assert said(report(seated), "zone_size") == [
        ("zone_size", "blocked", ("E", "S", "roof-zone"), -120.0)
    ]
    fans = fan_layer("A", blower, ["c1", "c2"])
    raised = layout(
        row_zone(row(2)), [long, blower], [stack("S", "roof-zone", fans, one("E", long))]
    )
    assert said(report(raised), "zone_size") == [
        ("zone_size", "tight", ("E", "S", "roof-zone"), -120.0)
    ]
    for of, tight in ((seated, False), (raised, True)):
        (fault,) = (f for f in report(of).findings if f.kind == "zone_size")
        assert fault.advice.startswith("Only tight, since it does not lie on the plate") is tight


def test_end_tanks_may_pass_the_zones_edge() -> None:
    core = exchanger(2, 30, ports=0)
    of = layout(row_zone(row(2)), [core], [stack("S", "roof-zone", one("E", core))])
    assert said(report(of)) == []


# ---- threads and air ----


def threaded(thread: str) -> Layout:
    core = exchanger(1, 30)
    fitting = Fitting(id="barb", name="Barb", length_mm=24, diameter_mm=20, thread=thread)
    item = Item(id="E", part=core.id, cell="c1", ports=FrozenMap({"p1": PortUse(fitting="barb")}))
    return layout(
        row_zone(row(1)), [core, fitting], [stack("S", "roof-zone", Layer(id="L", items=(item,)))]
    )


def test_a_fitting_of_another_thread_is_blocked() -> None:
    assert said(report(threaded("G1/4"))) == []
    assert said(report(threaded("G3/8"))) == [("port_thread", "blocked", ("E", "p1"), None)]


def test_a_port_with_no_fitting_chosen_is_not_run_for_its_thread() -> None:
    core = exchanger(1, 30)
    of = layout(row_zone(row(1)), [core], [stack("S", "roof-zone", one("E", core))])
    assert [n.ids for n in report(of).not_run if n.kind == "port_thread"] == [("E",)]


def test_a_fan_against_the_stacks_air_is_tight_and_turning_it_mends_it() -> None:
    blower = fan(25)
    against = stack("S", "roof-zone", fan_layer("A", blower, ["c1"], air="against"))
    of = layout(row_zone(row(1)), [blower], [against])
    assert said(report(of)) == [("air_sense", "tight", ("A.1", "S"), None)]
    (mend,) = found(report(of), "air_sense").remedies
    assert said(report(mend.layout)) == []


def test_a_fan_on_a_closed_wall_moves_no_air() -> None:
    # The zone's cells stand at x = 70 and 190 under the roof; the fan on the second spans 130-250.
    blower = fan(25)
    roof = zone("roof-zone", "roof", (10, 160, 200), "+x", "-y", row(2))
    fans = stack("S", "roof-zone", fan_layer("A", blower, ["c1", "c2"]))

    def over(*openings: Opening) -> Report:
        return report(layout(room((300, 200, 200), [roof], openings=openings), [blower], [fans]))

    assert said(over(grille(20, 120), grille(140, 240))) == []
    assert said(over(grille(20, 120))) == [("air_sense", "tight", ("A.2", "S", "roof-zone"), None)]
    assert said(over()) == []
    assert [n.ids for n in over().not_run if n.kind == "air_sense"] == [("S", "roof-zone")]


def test_layers_on_a_side_that_takes_none_are_blocked() -> None:
    blower = fan(25)
    of = layout(
        row_zone(row(1)),
        [blower],
        [stack("S", "roof-zone", outer=(fan_layer("O", blower, ["c1"]),))],
    )
    assert ("held", "blocked", ("S", "roof-zone"), None) in said(report(of))
