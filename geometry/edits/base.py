"""What all edits share: finding what an id names, new ids, copies of parts, locks."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from pydantic import ValidationError

from catalog.model import FrozenMap, Model
from catalog.parts import Part, PartKind
from geometry.layout import FreePart, Held, Item, Layer, Layout, Side, Stack
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import Placed, place_stack
from geometry.recent import Recent
from geometry.references import SIDES, holder_ids, named_ids
from geometry.zone_names import zone_names

M = TypeVar("M", bound=Model)

ID_LETTERS: Mapping[PartKind, str] = {
    "exchanger": "E",
    "fan": "F",
    "gasket": "G",
    "adapter": "A",
    "pump": "P",
    "reservoir": "R",
    "pump_reservoir": "PR",
    "board": "B",
    "card": "C",
    "supply": "PS",
    "drive": "D",
    "fitting": "FT",
}
"""How the ids of placed parts begin; stacks are S1, S2 and layers L1, L2."""

DECIMALS = -round(math.log10(LENGTH_EPS_MM))
"""Coordinates are kept to the length tolerance, so that ten nudges of 0.1 mm make 1 mm."""


class EditError(ValueError):
    """An edit that cannot be done; the message says why, and what would mend it."""


@dataclass(frozen=True)
class Spot:
    """Where an item stands in a layout: stack, side, and its places in the lists."""

    stack: Stack
    side: Side
    layer_index: int
    item_index: int

    @property
    def layer(self) -> Layer:
        """The layer that holds the item."""
        return self.stack.side(self.side)[self.layer_index]

    @property
    def item(self) -> Item:
        """The item itself."""
        return self.layer.items[self.item_index]


def _items(layout: Layout) -> Iterator[tuple[Stack, Item]]:
    for stack in layout.stacks:
        for layer in (*stack.inner, *stack.outer):
            for item in layer.items:
                yield stack, item


def find_spot(layout: Layout, item_id: str) -> Spot | None:
    """Return where a stacked item stands; None when no stack holds it."""
    stacks = layout.stacks
    return _found.of(stacks, beside=item_id, find=lambda: _spot_of(stacks, item_id))


_found: Recent[Spot | None] = Recent(16)
"""Where items stand: the edits of a drag ask for the same one at every move."""


def _spot_of(stacks: Sequence[Stack], item_id: str) -> Spot | None:
    for stack in stacks:
        for side, layers in zip(SIDES, (stack.inner, stack.outer), strict=True):
            for i, layer in enumerate(layers):
                for k, item in enumerate(layer.items):
                    if item.id == item_id:
                        return Spot(stack, side, i, k)
    return None


def need_spot(layout: Layout, item_id: str) -> Spot:
    """Return where a stacked item stands; EditError when no stack holds it."""
    spot = find_spot(layout, item_id)
    if spot is not None:
        return spot
    if find_free(layout, item_id) is not None:
        raise EditError(f"{name_of(layout, item_id)} is not in a stack; drop it into a zone first")
    raise EditError(f"there is no part {item_id} in this layout")


def find_free(layout: Layout, part_id: str) -> FreePart | None:
    """Return a free part by id; None when there is none."""
    return next((free for free in layout.free if free.id == part_id), None)


def need_free(layout: Layout, part_id: str) -> FreePart:
    """Return a free part by id; EditError when there is none."""
    free = find_free(layout, part_id)
    if free is not None:
        return free
    if find_spot(layout, part_id) is not None:
        raise EditError(f"{name_of(layout, part_id)} is in a stack; lift it out first")
    raise EditError(f"there is no part {part_id} in this layout")


def need_use(layout: Layout, part_id: str) -> Item | FreePart:
    """Return a placed part, stacked or free; EditError when there is none."""
    spot = find_spot(layout, part_id)
    return spot.item if spot is not None else need_free(layout, part_id)


def need_stack(layout: Layout, stack_id: str) -> Stack:
    """Return a stack by id; EditError when there is none."""
    for stack in layout.stacks:
        if stack.id == stack_id:
            return stack
    raise EditError(f"there is no stack {stack_id} in this layout")


def name_of(layout: Layout, placed_id: str) -> str:
    """Return a placed part's name with its id, for messages: "Fan 120 x 25 (F3)"."""
    spot = find_spot(layout, placed_id)
    use = spot.item if spot is not None else find_free(layout, placed_id)
    return placed_id if use is None else f"{layout.part(use.part).name} ({placed_id})"


def new_id(layout: Layout, letters: str, also: Iterable[str] = ()) -> str:
    """Return the next free id that begins with `letters`: one above the highest number in use."""
    in_use = _highest.of(
        layout,
        beside=letters,
        find=lambda: _highest_number(letters, (one for _, one in named_ids(layout))),
    )
    return f"{letters}{1 + max(in_use, _highest_number(letters, also))}"


_highest: Recent[int] = Recent(4)
"""The highest numbers in use: a drag asks of the same layout at every move."""


def _highest_number(letters: str, ids: Iterable[str]) -> int:
    pattern = re.compile(re.escape(letters) + r"(\d{1,9})\Z")
    matches = (pattern.match(one) for one in ids)
    return max((int(m.group(1)) for m in matches if m), default=0)


def new_part_id(layout: Layout, part: Part) -> str:
    """Return an id for one more placed copy of `part`: "E1", "F3"."""
    return new_id(layout, ID_LETTERS[part.kind])


def with_copy(layout: Layout, part: Part) -> tuple[Layout, Part]:
    """Return the layout with a copy of `part`, and that copy.

    An equal copy that is there already is used. When another part goes by the same id (the
    library has changed since), the new copy gets an id of its own.
    """
    for known in layout.parts.values():
        if known == part or (known.id.startswith(f"{part.id}-") and known.but(id=part.id) == part):
            return layout, known
    part_id, number = part.id, 2
    while part_id in layout.parts:
        part_id, number = f"{part.id[:60]}-{number}", number + 1
    copy = part if part_id == part.id else part.but(id=part_id)
    return layout.but(parts=FrozenMap({**layout.parts, part_id: copy})), copy


def without_leftovers(layout: Layout) -> Layout:
    """Return the layout without copies of parts that nothing uses, and holds on what is gone."""
    gone = {free.held.on for free in layout.free}.difference((None, *holder_ids(layout)))
    if gone:
        for free in layout.free:
            if free.held.on in gone:
                layout = with_free(layout, free.but(held=Held()))
    used = set(used_parts(layout))
    if used.issuperset(layout.parts):
        return layout
    kept = {part_id: part for part_id, part in layout.parts.items() if part_id in used}
    return layout.but(parts=FrozenMap(kept))


def used_parts(layout: Layout) -> Iterator[str]:
    """Yield the part ids that placed parts and their ports name."""
    uses: list[Item | FreePart] = [item for _, item in _items(layout)]
    for use in (*uses, *layout.free):
        yield use.part
        if use.ports:
            yield from (port.fitting for port in use.ports.values() if port.fitting is not None)


def with_item(layout: Layout, spot: Spot, item: Item) -> Layout:
    """Return the layout with the item at `spot` replaced."""
    items = _put(spot.layer.items, spot.item_index, item)
    layers = _put(spot.stack.side(spot.side), spot.layer_index, spot.layer.but(items=items))
    return with_stack(layout, spot.stack.but(**{spot.side: layers}))


def without_item(layout: Layout, spot: Spot) -> Layout:
    """Return the layout without the item at `spot`; an emptied layer or stack goes with it."""
    items = spot.layer.items[: spot.item_index] + spot.layer.items[spot.item_index + 1 :]
    layers = spot.stack.side(spot.side)
    kept = (spot.layer.but(items=items),) if items else ()
    layers = layers[: spot.layer_index] + kept + layers[spot.layer_index + 1 :]
    return with_stack(layout, spot.stack.but(**{spot.side: layers}))


def with_stack(layout: Layout, stack: Stack) -> Layout:
    """Return the layout with a stack replaced or added; one without layers is left out."""
    stacks: list[Stack] = []
    there = False
    for known in layout.stacks:
        if known.id != stack.id:
            stacks.append(known)
            continue
        there = True
        if stack.inner or stack.outer:
            stacks.append(stack)
    if not there:
        stacks.append(stack)
    return layout.but(stacks=tuple(stacks))


def with_free(layout: Layout, free: FreePart) -> Layout:
    """Return the layout with a free part replaced or added."""
    if find_free(layout, free.id) is None:
        return layout.but(free=(*layout.free, free))
    return layout.but(free=tuple(free if one.id == free.id else one for one in layout.free))


def without_free(layout: Layout, part_id: str) -> Layout:
    """Return the layout without a free part."""
    return layout.but(free=tuple(one for one in layout.free if one.id != part_id))


def changed(model: M, **changes: object) -> M:
    """Return a model with some fields replaced and checked; EditError says what is wrong."""
    fields = {name: getattr(model, name) for name in type(model).model_fields}
    return checked(type(model), **{**fields, **changes})


def checked(model_type: type[M], **fields: object) -> M:
    """Build a model; EditError in plain words when a value is out of its range."""
    try:
        return model_type(**fields)
    except ValidationError as error:
        from catalog.faults import explain

        shown = {k: list(v) if isinstance(v, tuple) else v for k, v in fields.items()}
        raise EditError(str(explain(error, model_type, shown)[0])) from None


def tidy(value_mm: float) -> float:
    """Return a coordinate to the length tolerance, without a negative zero."""
    return round(value_mm, DECIMALS) + 0.0


def refuse_locked(layout: Layout, placed_id: str) -> None:
    """Raise EditError when a placed part, or the stack that holds it, is locked."""
    spot = find_spot(layout, placed_id)
    if spot is not None:
        refuse_locked_stack(layout, spot.stack)
    use = spot.item if spot is not None else find_free(layout, placed_id)
    if use is not None and use.locked:
        raise EditError(f"{name_of(layout, placed_id)} is locked; unlock it first")


def refuse_locked_stack(layout: Layout, stack: Stack) -> None:
    """Raise EditError when a stack is locked."""
    if stack.locked:
        zone = zone_names(layout.enclosure).get(stack.zone, stack.zone)
        raise EditError(f"the stack on zone {zone} is locked; unlock it first")


def keep_locked(before: Layout, after: Layout) -> Layout:
    """Return `after`; EditError when it moves, changes or drops a part that is locked."""
    if not _locks.of(before.stacks, find=lambda: any(s.is_fixed for s in before.stacks)):
        return after
    stands = {one.id: one for one in _stacked(after)}
    for stack in before.stacks:
        locked = stack.locked_items
        for one in place_stack(before, stack) if locked else ():
            if one.id in locked and not _stands_still(one, stands.get(one.id)):
                raise EditError(
                    f"{name_of(before, one.id)} is locked where it stands and this would move it; "
                    "unlock it first"
                )
    return after


_locks: Recent[bool] = Recent(8)
"""Whether any item of some stacks is locked: a drag asks for the same stacks at every move."""


def _stacked(layout: Layout) -> Iterator[Placed]:
    for stack in layout.stacks:
        yield from place_stack(layout, stack)


def _stands_still(before: Placed, after: Placed | None) -> bool:
    return after is not None and after.pose == before.pose and after.part is before.part


def _put(things: tuple[M, ...], index: int, thing: M) -> tuple[M, ...]:
    return (*things[:index], thing, *things[index + 1 :])
