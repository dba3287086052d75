"""What a layout names must be there: zones, cells, parts, ports, fittings, states, holders."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Protocol, get_args

from catalog.enclosure import Enclosure, WallName, Zone
from catalog.errors import Fault
from catalog.parts import Fitting, Part, part_cells, part_ports
from catalog.paths import step_down
from geometry.layout import FreePart, Item, Layout, PortUse, Side, Stack
from geometry.walls import OUTSIDE, WALL_NAMES

SIDES: tuple[Side, ...] = ("inner", "outer")


class _Named(Protocol):
    @property
    def id(self) -> str: ...


def reference_faults(layout: Layout) -> tuple[Fault, ...]:
    """Return every reference of a layout that leads nowhere, and every id that is used twice."""
    names = _Names.of(layout)
    return (
        *_part_keys(layout),
        *_repeated_ids(layout),
        *(f for i, stack in enumerate(layout.stacks) for f in _stack(names, stack, i)),
        *(f for i, free in enumerate(layout.free) for f in _free(names, free, i)),
        *_states(layout),
    )


@dataclass(frozen=True, slots=True)
class _Names:
    """What a layout has, gathered once for all that refers to it."""

    parts: Mapping[str, Part]
    zones: Mapping[str, Zone]
    holders: Mapping[str, None]
    stackable: frozenset[str]

    @classmethod
    def of(cls, layout: Layout) -> _Names:
        return cls(
            parts=layout.parts,
            zones={zone.id: zone for zone in layout.enclosure.zones},
            holders=dict.fromkeys(holder_ids(layout)),
            stackable=frozenset(key for key, part in layout.parts.items() if part_cells(part)),
        )


def named_ids(layout: Layout) -> Iterator[tuple[str, str]]:
    """Yield field path and id of all that a finding could name, the enclosure's first."""
    yield from enclosure_ids(layout.enclosure)
    for i, stack in enumerate(layout.stacks):
        yield f"stacks[{i}].id", stack.id
        for side in SIDES:
            for k, layer in enumerate(stack.side(side)):
                path = f"stacks[{i}].{side}[{k}]"
                yield f"{path}.id", layer.id
                for n, item in enumerate(layer.items):
                    yield f"{path}.items[{n}].id", item.id
    for i, free in enumerate(layout.free):
        yield f"free[{i}].id", free.id


def enclosure_ids(enclosure: Enclosure) -> Iterator[tuple[str, str]]:
    """Yield field path and id of all that belongs to an enclosure."""
    lists: dict[str, tuple[_Named, ...]] = {
        "zones": enclosure.zones,
        "obstacles": enclosure.obstacles,
        "panels": enclosure.panels,
        "openings": enclosure.openings,
        "outside": enclosure.outside,
        "no_drill": enclosure.no_drill,
    }
    for field, things in lists.items():
        for i, thing in enumerate(things):
            yield f"enclosure.{field}[{i}].id", thing.id


def holder_ids(layout: Layout) -> tuple[str, ...]:
    """Return the ids on which a free part can be held: walls, the enclosure's, placed parts."""
    enclosure = layout.enclosure
    fixed: tuple[_Named, ...] = (
        *enclosure.zones,
        *enclosure.obstacles,
        *enclosure.panels,
        *enclosure.outside,
    )
    stacked = (
        item.id
        for stack in layout.stacks
        for layer in (*stack.inner, *stack.outer)
        for item in layer.items
    )
    return (
        *get_args(WallName),
        *(thing.id for thing in fixed),
        *stacked,
        *(free.id for free in layout.free),
    )


def _part_keys(layout: Layout) -> Iterator[Fault]:
    for key, part in layout.parts.items():
        if part.id != key:
            where = f"{step_down('parts', key, in_map=True)}.id"
            yield Fault(where, f'found "{part.id}" under the key "{key}"', "make both the same")


def _repeated_ids(layout: Layout) -> Iterator[Fault]:
    first: dict[str, str] = dict.fromkeys((*WALL_NAMES, OUTSIDE), "the walls")
    for path, one in named_ids(layout):
        if one in first:
            problem = f'the id "{one}" is used twice, first in {first[one]}'
            yield Fault(path, problem, "give each its own id")
        first.setdefault(one, path)


def _stack(names: _Names, stack: Stack, index: int) -> Iterator[Fault]:
    path = f"stacks[{index}]"
    zone = names.zones.get(stack.zone)
    if zone is None:
        yield _missing(f"{path}.zone", stack.zone, "zone of the enclosure", names.zones)
    for side in SIDES:
        layers = stack.side(side)
        if zone is not None and layers and zone.side(side) is None:
            problem = f'has layers, but zone "{zone.id}" takes nothing on its {side} side'
            yield Fault(f"{path}.{side}", problem, "move them, or give the zone that side")
        for k, layer in enumerate(layers):
            for n, item in enumerate(layer.items):
                yield from _item(names, zone, item, f"{path}.{side}[{k}].items[{n}]")


def _item(names: _Names, zone: Zone | None, item: Item, path: str) -> Iterator[Fault]:
    if zone is not None and item.cell not in {cell.id for cell in zone.cells}:
        cells = [cell.id for cell in zone.cells]
        yield _missing(f"{path}.cell", item.cell, f'cell of zone "{zone.id}"', cells)
    part = names.parts.get(item.part)
    if part is None:
        yield _missing(f"{path}.part", item.part, "part of this layout", names.parts)
        return
    if item.part not in names.stackable:
        problem = f'"{part.id}" ({part.kind}) has no hole pattern, so it cannot be in a stack'
        yield Fault(f"{path}.part", problem, 'place it under "free"')
    yield from _ports(names, part, item.ports, f"{path}.ports")


def _free(names: _Names, free: FreePart, index: int) -> Iterator[Fault]:
    path = f"free[{index}]"
    part = names.parts.get(free.part)
    if part is None:
        yield _missing(f"{path}.part", free.part, "part of this layout", names.parts)
    else:
        yield from _ports(names, part, free.ports, f"{path}.ports")
    held = free.held
    if held.on is not None and (held.on == free.id or held.on not in names.holders):
        known = [one for one in names.holders if one != free.id]
        yield _missing(f"{path}.held.on", held.on, "wall, obstacle, zone or placed part", known)
    elif held.cells:
        zone = names.zones.get(held.on or "")
        if zone is None:
            yield _missing(f"{path}.held.on", held.on or "", "zone of the enclosure", names.zones)
            return
        cells = [cell.id for cell in zone.cells]
        for i, cell in enumerate(held.cells):
            if cell not in cells:
                where = f"{path}.held.cells[{i}]"
                yield _missing(where, cell, f'cell of zone "{zone.id}"', cells)


def _ports(names: _Names, part: Part, uses: Mapping[str, PortUse], path: str) -> Iterator[Fault]:
    if not uses:
        return
    ports = [port.id for port in part_ports(part)]
    fittings = [known.id for known in names.parts.values() if isinstance(known, Fitting)]
    for port_id, use in uses.items():
        where = step_down(path, port_id, in_map=True)
        if port_id not in ports:
            yield _missing(where, port_id, f'port of "{part.id}"', ports)
        if use.fitting is None:
            continue
        chosen = names.parts.get(use.fitting)
        if chosen is None:
            yield _missing(f"{where}.fitting", use.fitting, "fitting of this layout", fittings)
        elif not isinstance(chosen, Fitting):
            mend = f"choose one of {_listed(fittings)}" if fittings else "leave it out"
            problem = f'"{chosen.id}" is of kind {chosen.kind}, no fitting'
            yield Fault(f"{where}.fitting", problem, mend)


def _states(layout: Layout) -> Iterator[Fault]:
    obstacles = {obstacle.id: obstacle for obstacle in layout.enclosure.obstacles}
    for obstacle_id, state_id in layout.states.items():
        where = step_down("states", obstacle_id, in_map=True)
        obstacle = obstacles.get(obstacle_id)
        if obstacle is None:
            yield _missing(where, obstacle_id, "obstacle of the enclosure", obstacles)
            continue
        states = [state.id for state in obstacle.states]
        if state_id not in states:
            yield _missing(where, state_id, f'state of obstacle "{obstacle.id}"', states)


def _missing(path: str, found: str, what: str, known: Iterable[str]) -> Fault:
    """Return the fault for a name that leads nowhere; the mend names what exists."""
    # Loaded here: only a mistake needs it.
    from difflib import get_close_matches

    names = list(known)
    near = get_close_matches(found, names, n=1, cutoff=_NEAR)
    if near:
        mend = f'did you mean "{near[0]}"?'
    else:
        mend = f"there is {_listed(names)}" if names else "there is none"
    return Fault(path, f'found "{found}", which is no {what}', mend)


_NEAR = 0.8
"""How alike a name must be to be taken for a slip of the pen: "front-zone" is no "roof-zone"."""

_MOST_NAMES = 12


def _listed(names: list[str]) -> str:
    rest = len(names) - _MOST_NAMES
    shown = ", ".join(names[:_MOST_NAMES])
    return f"{shown} and {rest} more" if rest > 0 else shown
