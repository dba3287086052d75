"""How a part lies: its port end flipped, its port face turned, quarter turns, a fan's air.

A stacked part turns on its zone; a free one about each axis of the room, in its middle.
"""

from __future__ import annotations

from collections.abc import Iterator

from catalog.model import Direction
from catalog.parts import Exchanger, Fan
from geometry.checks.words import called
from geometry.edits import flip_port_end, new_holes_note, rotate, set_air, turn_over
from geometry.layout import FreePart, Item
from geometry.measures.pose import way
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.search.mending.steps import Edit, Step

AXES: tuple[Direction, Direction, Direction] = ("+x", "+y", "+z")

QUARTERS = (1, 3, 2)

FLIP, FACE, QUARTER, AIR = 5.0, 6.0, 7.0, 2.0
"""What each costs: the tubes of an exchanger stay where only its port end or face is turned."""


def stacked_turns(scene: Scene, one: Placed) -> Iterator[Step]:
    """Yield how a stacked part can lie otherwise on its zone."""
    if not isinstance(one.use, Item) or one.use.locked:
        return
    name, item = called(scene, one.id), one.id
    if isinstance(one.part, Exchanger):
        yield _flip(one.id, name, lambda lay: flip_port_end(lay, item), FLIP)
        yield _face(one.id, name, lambda lay: turn_over(lay, item), FACE)
        for turns in (1, 3):
            yield _turn(item, name, _stacked(item, turns), turns, QUARTER)
    else:
        for turns in QUARTERS:
            yield _turn(item, name, _stacked(item, turns), turns, 4.0 + turns % 2)
    if isinstance(one.part, Fan) and one.use.air == "against":
        yield Step(
            f"Change the air direction of {name}",
            AIR,
            item,
            lambda lay: set_air(lay, item, "with"),
            "turn",
            parts=(f"Air {item}",),
            knob=f"air {item}",
        )


def free_turns(scene: Scene, one: Placed) -> Iterator[Step]:
    """Yield the turns of a free part about the three axes of the room, in its middle."""
    use = one.use
    if not isinstance(use, FreePart) or use.locked:
        return
    name, note = called(scene, one.id), new_holes_note(use)
    holes = 5.0 if note else 0.0
    for about in AXES:
        axis = way(about).axis
        for turns in QUARTERS:
            edit = _free(one.id, turns, about)
            half = turns == 2 and isinstance(one.part, Exchanger)
            if half and axis == way(use.z_to).axis:
                yield _flip(one.id, name, edit, FLIP + holes, note)
            elif half and axis == way(use.x_to).axis:
                yield _face(one.id, name, edit, FACE + holes, note)
            else:
                told = f" about the {about[1]} axis{note}"
                yield _turn(one.id, name, edit, turns, QUARTER + holes, told, f" {about[1]}")


def _flip(part: str, name: str, edit: Edit, cost: float, note: str = "") -> Step:
    text = f"Flip port end of {name}{note}"
    return Step(text, cost, part, edit, "turn", (f"Flip {part}",), knob=f"turn {part}")


def _face(part: str, name: str, edit: Edit, cost: float, note: str = "") -> Step:
    text = f"Turn port face of {name}{note}"
    return Step(text, cost, part, edit, "turn", (f"Face {part}",), knob=f"face {part}")


def _turn(
    part: str, name: str, edit: Edit, turns: int, cost: float, told: str = "", about: str = ""
) -> Step:
    text = f"Turn {name} by {90 * turns} degrees{told}"
    knob = f"turn {part}{about}"
    return Step(text, cost, part, edit, "turn", (f"{knob} {turns}",), knob=knob)


def _stacked(item: str, turns: int) -> Edit:
    return lambda layout: rotate(layout, item, turns)


def _free(part: str, turns: int, about: Direction) -> Edit:
    return lambda layout: rotate(layout, part, turns, about)
