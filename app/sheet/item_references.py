"""The parts list and the item references by which the views name its parts (ISO 6433)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalog.parts import Part, part_ports
from geometry.layout import FreePart, Item, Layout, PortUse, port_use
from geometry.part_solids import DEFAULT_FITTING

if TYPE_CHECKING:
    from geometry.scene import Scene

MOST_CHARACTERS = 5
"""An id of more characters has no room in a view; a short reference stands for it."""

FITTING_LETTERS = "FT"
OTHER_LETTERS = "N"
UNCHOSEN = ""
"""Stands for the part id of a fitting on open ports for which none was chosen yet."""


@dataclass(frozen=True)
class ListedPart:
    """One row of the parts list.

    `references` name the row's parts in the views, one a placed part, one for all fittings of a
    kind. `places` says in which stacks they are; `renamed` pairs a reference with the id in the
    file, where that was too long for a view.
    """

    part: Part
    references: tuple[str, ...]
    quantity: int
    places: tuple[str, ...]
    renamed: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class StopPlugs:
    """The plugs of one thread that close ports, and the references of the parts they are on."""

    thread: str
    quantity: int
    on: tuple[str, ...]


@dataclass(frozen=True)
class _Use:
    """One placed part: its id, what it is, its ports, and where it stands."""

    id: str
    part: Part
    ports: Mapping[str, PortUse]
    place: str


def _uses(layout: Layout) -> Iterator[_Use]:
    for stack in layout.stacks:
        for layer in (*stack.inner, *stack.outer):
            for item in layer.items:
                yield _use(layout, item, stack.id)
    for free in layout.free:
        held = "held by nothing" if free.held.by == "nothing" else f"by {free.held.by}"
        yield _use(layout, free, f"free, {held}")


def _use(layout: Layout, one: Item | FreePart, place: str) -> _Use:
    return _Use(one.id, layout.part(one.part), one.ports, place)


def _open_fittings(use: _Use) -> Iterator[tuple[str, str]]:
    """Yield each open port of a placed part with the id of the fitting chosen for it, if one is."""
    for port in part_ports(use.part):
        chosen = port_use(port, use.ports)
        if not chosen.plugged:
            yield port.id, chosen.fitting or UNCHOSEN


def item_references(layout: Layout) -> dict[str, str]:
    """Return the reference of every placed part by its id: the id itself where it is short."""
    ids = [use.id for use in _uses(layout)]
    short = {one for one in ids if len(one) <= MOST_CHARACTERS}
    references: dict[str, str] = {}
    fresh = _fresh(OTHER_LETTERS, short)
    for one in ids:
        references[one] = one if one in short else next(fresh)
    return references


def fitting_references(layout: Layout) -> dict[str, str]:
    """Return the reference of each kind of fitting by its part id, in the order of their use.

    Those not chosen yet stand under UNCHOSEN.
    """
    fresh = _fresh(FITTING_LETTERS, set(item_references(layout).values()))
    references: dict[str, str] = {}
    for use in _uses(layout):
        for _, fitting in _open_fittings(use):
            if fitting not in references:
                references[fitting] = next(fresh)
    return references


def _fresh(letters: str, used: set[str]) -> Iterator[str]:
    number = 0
    while True:
        number += 1
        if f"{letters}{number}" not in used:
            yield f"{letters}{number}"


def solid_references(scene: Scene) -> dict[str, str]:
    """Return the reference of every placed part by its id, and of every fitting by its solid's."""
    layout = scene.layout
    references = item_references(layout)
    fittings = fitting_references(layout)
    for use in _uses(layout):
        for port, fitting in _open_fittings(use):
            references[f"{use.id}/fitting:{port}"] = fittings[fitting]
    return references


def listed_parts(layout: Layout) -> tuple[ListedPart, ...]:
    """Return the parts list: placed parts in file order, then chosen fittings."""
    references = item_references(layout)
    uses: dict[str, list[_Use]] = {}
    for use in _uses(layout):
        uses.setdefault(use.part.id, []).append(use)
    rows = [
        ListedPart(
            part=group[0].part,
            references=tuple(references[use.id] for use in group),
            quantity=len(group),
            places=tuple(dict.fromkeys(use.place for use in group)),
            renamed=tuple(
                (references[use.id], use.id) for use in group if references[use.id] != use.id
            ),
        )
        for group in uses.values()
    ]
    chosen = (one for one in fitting_references(layout) if one != UNCHOSEN)
    return (*rows, *(_fitting_row(layout, one, layout.part(one)) for one in chosen))


def unchosen_fittings(layout: Layout) -> tuple[ListedPart, ...]:
    """Return the room that open ports take for fittings not chosen yet: one row, or none."""
    if UNCHOSEN not in fitting_references(layout):
        return ()
    return (_fitting_row(layout, UNCHOSEN, DEFAULT_FITTING),)


def _fitting_row(layout: Layout, fitting: str, part: Part) -> ListedPart:
    references = item_references(layout)
    on = [
        references[use.id]
        for use in _uses(layout)
        for _, own in _open_fittings(use)
        if own == fitting
    ]
    places = (f"on {', '.join(dict.fromkeys(on))}",)
    return ListedPart(part, (fitting_references(layout)[fitting],), len(on), places)


def stop_plugs(layout: Layout) -> tuple[StopPlugs, ...]:
    """Return the plugs that close ports, one row a thread."""
    references = item_references(layout)
    on: dict[str, list[str]] = {}
    for use in _uses(layout):
        for port in part_ports(use.part):
            if port_use(port, use.ports).plugged:
                on.setdefault(port.thread, []).append(references[use.id])
    return tuple(
        StopPlugs(thread, len(owners), tuple(dict.fromkeys(owners)))
        for thread, owners in on.items()
    )
