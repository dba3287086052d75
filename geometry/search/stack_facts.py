"""What a stack of a row is in words, by label: what stands on which cells, and how.

Several that stand side by side are told one by one, each by its cells.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence

from catalog.enclosure import Zone
from catalog.model import Direction
from catalog.parts import Exchanger
from geometry.layout import Item, Layout, Stack
from geometry.placement import Placed, place_stack, zone_frame
from geometry.search.listing.option import Option
from geometry.search.slide_words import free_words, slid_words, slots_of

SIDE_WORDS: Mapping[Direction, str] = {
    "+x": "front",
    "-x": "rear",
    "+y": "far side",
    "-y": "access side",
    "+z": "top",
    "-z": "floor",
}

FACTS = (
    "holds", "stands on", "exchanger", "fans", "pump", "pump turned", "port end", "turned", "ports",
    "slide", "free to slide", "stands at", "obstacles",
)  # fmt: skip
"""The labels of what a zone holds, in the order in which one reads them."""


def stack_facts(
    layout: Layout,
    zone: Zone,
    stack: Stack,
    free_mm: tuple[tuple[float, float], tuple[float, float]],
) -> dict[str, str]:
    """Return what a stack of a row is in words, by label; what it has not is left out.

    `free_mm` is how far it may be slid back and ahead, along u and along v.
    """
    facts: dict[str, str] = {}
    placed = place_stack(layout, stack)
    for one in placed:
        if isinstance(one.part, Exchanger):
            side = " on the outer side" if one.side == "outer" else ""
            facts["exchanger"] = one.part.name + side
            facts["port end"] = SIDE_WORDS[one.pose.x.name]
            if lies_across(one):
                facts["turned"] = QUARTER
            over = isinstance(one.use, Item) and one.use.turned_over
            facts["ports"] = "to the plate" if over else "away from the plate"
        elif one.part.kind in ("pump", "pump_reservoir"):
            facts["pump"] = one.part.name
            if isinstance(one.use, Item) and one.use.turn:
                facts["pump turned"] = f"by {90 * one.use.turn} degrees"
    under = _under(placed)
    taken = set().union(*under.values())
    if len(taken) < len(zone.cells):
        facts["stands on"] = _cell_words(zone, taken)
    fans = _fan_words(layout, zone, stack, taken)
    if fans:
        facts["fans"] = fans
    frame = zone_frame(layout, zone.id)
    facts["slide"] = slid_words(frame, (stack.slide_u_mm, stack.slide_v_mm), slots_of(placed))
    facts["free to slide"] = free_words(frame, free_mm)
    return facts


def beside(stack: Stack | None, option: Option) -> Iterator[tuple[Option, Stack | None]]:
    """Yield the columns of an option with what of its stack in a row is theirs, in their order."""
    inner = outer = 0
    for column in option.columns:
        if stack is None or column.layers is None:
            yield column, stack
            continue
        first, inner = inner, inner + len(column.layers.inner)
        begin, outer = outer, outer + len(column.layers.outer)
        yield column, stack.but(inner=stack.inner[first:inner], outer=stack.outer[begin:outer])


_DIMENSIONS = re.compile(r"\d+(?: across)?(?: x \d+)+")


def pump_words(name: str) -> str:
    """Return a pump in a few words, by the dimensions in its name; all of a name that has none.

    >>> pump_words("Pump, compact body 60 x 60 x 40 on a 120 plate")
    'pump 60 x 60 x 40'
    >>> pump_words("Pump and reservoir, lying, 120 x 90 x 62, bare"), pump_words("Blue one")
    ('pump and reservoir 120 x 90 x 62', 'pump Blue one')
    """
    what, sizes = name.split(",")[0].lower(), _DIMENSIONS.search(name)
    if sizes is None or not what.startswith("pump"):
        return f"pump {name}"
    return f"{what} {sizes[0]}"


_OF_ALL = ("holds", "slide", "free to slide", "obstacles")
"""The labels of what is the same for all that stands side by side."""


def joined(beside: Sequence[Mapping[str, str]]) -> dict[str, str]:
    """Return the facts of what stands side by side as one, told by its cells."""
    if len(beside) == 1:
        return dict(beside[0])
    told = {}
    for label in FACTS:
        of = [facts for facts in beside if label in facts and label != "stands on"]
        if label in _OF_ALL and of:
            told[label] = of[0][label]
        elif of:
            told[label] = "; ".join(f"{facts['stands on']}: {facts[label]}" for facts in of)
    return told


def _cell_words(zone: Zone, cells: Collection[str]) -> str:
    """Return cells of a zone in words, in its order: "cells 1, 2"."""
    own = [cell.id for cell in zone.cells if cell.id in cells]
    return f"{'cell' if len(own) == 1 else 'cells'} {', '.join(own)}"


def _under(placed: Sequence[Placed]) -> dict[str, set[str]]:
    """Return the cells of the zone that lie under each item of a stack."""
    return {one.id: {seat.cell for seat in one.seats if seat.cell is not None} for one in placed}


def _fan_words(layout: Layout, zone: Zone, stack: Stack, taken: Collection[str]) -> str:
    """Return the fans of a stack, said by what they do to the core.

    A row that leaves some of the cells free that the stack takes is told by its cells.
    """
    rows: list[str] = []
    core_seen = has_outer = False
    for side, layers in (("outer", tuple(reversed(stack.outer))), ("inner", stack.inner)):
        for layer in layers:
            parts = [layout.part(item.part) for item in layer.items]
            core_seen |= any(part.kind == "exchanger" for part in parts)
            if parts[0].kind == "fan":
                gaps = len(parts) < len(taken)
                on = f" on {_cell_words(zone, [i.cell for i in layer.items])}" if gaps else ""
                rows.append(f"{len(parts)} x {parts[0].name}{on}")
                has_outer |= side == "outer"
    if not rows:
        return "none" if core_seen else ""
    if not core_seen:
        return f"{' and '.join(rows)}, alone{', on the outer side' if has_outer else ''}"
    return f"{fan_sense(layout, stack)}, {' and '.join(dict.fromkeys(rows))}"


def _sense(stack: Stack, ahead: Collection[object], behind: Collection[object]) -> str:
    """Say what fans ahead of a core and behind it do to it by the air of their stack."""
    if ahead and behind:
        return "push-pull"
    return "push" if bool(ahead) is (stack.air == "inward") else "pull"


def fan_sense(layout: Layout, stack: Stack) -> str:
    """Say where the fans of a stack with one exchanger are: "pull", "push, across the plate"."""
    core_side = ""
    ahead: list[str] = []
    behind: list[str] = []
    for side, layers in (("outer", tuple(reversed(stack.outer))), ("inner", stack.inner)):
        for layer in layers:
            kind = layout.part(layer.items[0].part).kind
            if kind == "exchanger":
                core_side = side
            elif kind == "fan":
                (behind if core_side else ahead).append(side)
    outside = ", on the outer side" if core_side == "outer" else ""
    if not ahead and not behind:
        return f"no fans{outside}"
    fans_side = {*ahead, *behind}
    across = ", across the plate" if fans_side != {core_side} else ""
    return f"{_sense(stack, ahead, behind)}{across}{outside}"


QUARTER = "a quarter"
"""Said of how an exchanger for one fan is turned that lies across its zone: of others the cells
tell it."""


def port_end_words(one: Placed) -> str:
    """Say to which side of the room the port end of a placed exchanger looks: "top"."""
    return SIDE_WORDS[one.pose.x.name] + (f", turned {QUARTER}" if lies_across(one) else "")


def lies_across(one: Placed) -> bool:
    """Whether an exchanger for one fan lies with its length across that of its zone."""
    alone = isinstance(one.part, Exchanger) and len(one.part.cells) == 1
    return alone and isinstance(one.use, Item) and one.use.turn % 2 == 1
