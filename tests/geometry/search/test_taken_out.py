"""What a layout has not any more that a search makes is told: parts, fittings, obstacles."""

from __future__ import annotations

from search_oracle import made_ready
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
)

from catalog.model import FrozenMap
from catalog.parts import Fitting, Part, Plate, Port, Pump
from catalog.shapes import Box, Cell
from geometry.edits import lift_out, remove
from geometry.layout import Layout, PortUse, Stack
from geometry.search.answers import MEASURES, answers
from geometry.search.near.misses import near_misses
from geometry.search.near.summary import near_summary
from geometry.search.summary import RowTeller
from geometry.search.taken_out import parts_taken_out, taken_out
from geometry.search.wishes import Wishes

FAN, CORE = fan(25), exchanger(1, 30)
PUMP = Pump(
    id="pump-120",
    name="Pump on a 120 plate",
    plate=Plate(
        length_mm=120, width_mm=120, thickness_mm=3,
        cells=(Cell(id="1", u_mm=0, v_mm=0, accepts=row(1)[0].accepts),),
    ),
    bodies=(Box(at_mm=(-30, -30, 3), size_mm=(60, 60, 40)),),
    ports=(Port(id="out", at_mm=(30, 0, 29), facing="+x"),),
)  # fmt: skip
CAGE = block("cage", (20, 20, 20), (60, 160, 60), states=IN_OR_OUT)


def held(*stacks: Stack, parts: tuple[Part, ...] = (FAN, CORE, PUMP)) -> Layout:
    """A fan or more on the floor and on the front of a box with a cage that may be out."""
    zones = [
        zone("floor-zone", "floor", (90, 40, 0), "+x", "+y", row(2)),
        zone("front-zone", "front", (400, 40, 60), "+z", "+y", row(1)),
    ]
    return layout(room((400, 200, 300), zones, [CAGE]), parts, stacks)


def floor_with_pump() -> Stack:
    return stack("S1", "floor-zone", fan_layer("F", FAN, ["c1", "c2"]), one("P1", PUMP, "c1"))


def test_parts_are_told_with_how_many_are_gone_and_what_was_moved_is_not() -> None:
    full = held(floor_with_pump(), stack("S2", "front-zone", one("E1", CORE), one("F9", FAN)))
    assert taken_out(full, full) == ()
    assert taken_out(full, lift_out(full, "P1")) == ()
    assert taken_out(full, remove(full, "P1")) == ("Pump on a 120 plate",)
    assert taken_out(full, full.but(stacks=full.stacks[1:])) == (
        "2 x Fan 120 x 25",
        "Pump on a 120 plate",
    )
    assert taken_out(held(), full) == ()


def test_fittings_on_ports_and_obstacles_are_told_too() -> None:
    elbow = Fitting(id="elbow", name="Elbow", length_mm=20, diameter_mm=18)
    ports = FrozenMap({"p1": PortUse(fitting="elbow")})
    with_elbow = held(stack("S2", "front-zone", one("E1", CORE, ports=ports)), parts=(CORE, elbow))
    bare = with_elbow.but(stacks=(stack("S2", "front-zone", one("E1", CORE)),))
    assert taken_out(with_elbow, bare) == ("Elbow",)
    out = with_elbow.but(states=FrozenMap({"cage": "out"}))
    assert taken_out(with_elbow, out) == ("cage",)
    assert parts_taken_out(with_elbow, out) == ()
    assert taken_out(out, with_elbow) == ()


def test_rows_and_near_misses_of_a_search_tell_the_pump_that_they_drop() -> None:
    # A rail over the front zone keeps a core of 60 mm out, that may be taken out.
    rail = block("rail", (330, 60, 60), (345, 140, 180), states=IN_OR_OUT)
    base = held(floor_with_pump())
    base = base.but(enclosure=base.enclosure.but(obstacles=(CAGE, rail)))
    wishes = Wishes(
        exchangers=(CORE, exchanger(1, 60)), fans=(FAN,), fan_places=("none",), slide_steps=1
    )
    problem = made_ready(base, wishes)
    wanted = [MEASURES["volume"]]
    *_, answer = answers(problem, wanted)
    told = RowTeller(problem).told(1, answer.rows[0])
    assert told.takes_out == ("2 x Fan 120 x 25", "Pump on a 120 plate")
    *_, near = near_misses(problem, answer, wanted)
    misses = [near_summary(miss) for miss in near.found]
    assert misses
    assert all("Pump on a 120 plate" in miss.takes_out for miss in misses)
    lets_in = [one for miss in misses for one in miss.relaxations]
    assert lets_in
    assert all("Pump on a 120 plate" in one.takes_out for one in lets_in)
    assert any("rail" in one.name for one in lets_in)
    assert not any("rail" in one.takes_out for one in lets_in), "its own words say so"
