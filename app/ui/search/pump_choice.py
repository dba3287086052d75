"""Whether rows hold a pump: as the layout does, none, any, or exactly one. No widget in it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from catalog.parts import Part, Pump, PumpReservoir
from geometry.depths import SIDES
from geometry.layout import Layout
from geometry.search.wishes import PumpWish

PumpAsked = PumpWish | Literal["kept"]
"""What can be asked for; "kept" puts in a pump that a searched stack holds now, none elsewhere."""

PUMPS: tuple[tuple[PumpAsked, str], ...] = (
    ("kept", "as in the layout"),
    ("none", "none"),
    ("allowed", "allowed"),
    ("required", "exactly one"),
)
NONE_HELD = "No stack that is searched holds a pump, so none is put in."


def held_pumps(layout: Layout, zones: Iterable[str]) -> tuple[Part, ...]:
    """Return the pumps in the stacks on some zones, one for each place where one stands."""
    searched = frozenset(zones)
    every = (
        layout.part(item.part)
        for stack in layout.stacks
        if stack.zone in searched and not stack.is_fixed
        for side in SIDES
        for layer in stack.side(side)
        for item in layer.items
    )
    return tuple(
        part for part in every if isinstance(part, Pump | PumpReservoir) and part.plate is not None
    )


def wish_for(asked: PumpAsked, held: Sequence[Part]) -> PumpWish:
    """Return what a search is told of pumps, where searched stacks hold some."""
    if asked == "kept":
        return "required" if held else "none"
    return asked


def parts_for(asked: PumpAsked, held: Sequence[Part], parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts to search with: where a pump is kept, that one in the place of all pumps."""
    if asked != "kept" or not held:
        return tuple(parts)
    others = (part for part in parts if not isinstance(part, Pump | PumpReservoir))
    return (*others, *{part.id: part for part in held}.values())


def kept_text(held: Sequence[Part]) -> str:
    """Say what every row holds where the pump is kept."""
    if not held:
        return NONE_HELD
    if len(held) == 1:
        return f"Every row keeps {held[0].name}."
    return f"Every row keeps one of the {len(held)} pumps in the stacks: one at most is put in."


def bare_text(parts: Sequence[Part]) -> str:
    """Say which of some parts are pumps that stand only on their own feet; empty for none."""
    plates = [part.plate for part in parts if isinstance(part, Pump | PumpReservoir)]
    bare = plates.count(None)
    if not bare:
        return ""
    if bare == len(plates):
        which = "None of the pumps ticked has a"
    else:
        which = f"{bare} of the {len(plates)} pumps ticked {'has' if bare == 1 else 'have'} no"
    return f"{which} plate to be screwed on by: for those tick “On its own feet too”."
