"""Every stack that some parts make on a zone, listed by hand: by places alone, without a placer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, product

from catalog.enclosure import Zone
from catalog.parts import Exchanger, Fan, Pump, PumpReservoir, part_cells
from catalog.shapes import Cell
from geometry.layout import Stack
from geometry.search.wishes import Wishes

Held = tuple[str, str, int, bool]
"""A part by its id, the cell that it names, its turn, and whether it is turned over."""

Side = tuple[frozenset[Held], ...]
Listed = tuple[Side, Side]
"""The layers of the inner and the outer side, from the plate on."""

TURNS = (0, 1, 2, 3)


def of_stack(stack: Stack) -> Listed:
    """What a stack is made of."""

    def side(layers: Sequence[object]) -> Side:
        return tuple(
            frozenset((i.part, i.cell, i.turn, i.turned_over) for i in layer.items)  # type: ignore[attr-defined]
            for layer in layers
        )

    return side(stack.inner), side(stack.outer)


def by_hand(zone: Zone, wishes: Wishes) -> Iterator[Listed]:
    """Yield what stands on a zone without anything beside it."""
    sides = [name for name in ("inner", "outer") if getattr(zone, name) is not None]
    for side in sides:
        for fan in wishes.fans:
            cells = [cell.id for cell in zone.cells if _takes(cell, fan)]
            for row in _rows(cells):
                fans = _row(fan, row)
                yield from _with_pumps(wishes, side, [fans], [], fan, row)
        for core in wishes.exchangers:
            for held, cells in _placings(zone, core, side):
                yield from _with_fans(zone, wishes, side, sides, core, held, cells)
    if "inner" in sides and wishes.pump != "none":
        for pump, cell, turn in product(wishes.pumps, zone.cells, TURNS):
            if _takes(cell, pump):
                yield (frozenset({(pump.id, cell.id, turn, False)}),), ()


def _with_fans(
    zone: Zone,
    wishes: Wishes,
    side: str,
    sides: Sequence[str],
    core: Exchanger,
    held: Held,
    cells: Sequence[str],
) -> Iterator[Listed]:
    body = frozenset({held})
    if "none" in wishes.fan_places:
        yield _sided(side, [body], [])
    able = [fan for fan in wishes.fans if any(_takes(cell, fan) for cell in core.cells)]
    rows = list(_rows(cells)) if wishes.part_rows else [tuple(cells)]
    for fan, row in product(able, rows):
        fans = _row(fan, row)
        if "plate" in wishes.fan_places:
            yield from _with_pumps(wishes, side, [fans, body], [], None, ())
        if "far" in wishes.fan_places:
            yield from _with_pumps(wishes, side, [body, fans], [], fan, row)
        if "outer" in wishes.fan_places and len(sides) == 2:
            last = (fan, row) if side == "outer" else (None, ())
            yield from _with_pumps(wishes, side, [body], [fans], *last)
        for second, far in product(able if wishes.mixed_fans else [fan], rows):
            behind = _row(second, far)
            if "both" in wishes.fan_places:
                yield from _with_pumps(wishes, side, [fans, body, behind], [], second, far)
            if "across" in wishes.fan_places and len(sides) == 2:
                last = (second, far) if side == "inner" else (fan, row)
                yield from _with_pumps(wishes, side, [body, behind], [fans], *last)


def _with_pumps(
    wishes: Wishes,
    side: str,
    own: list[frozenset[Held]],
    other: list[frozenset[Held]],
    last: Fan | None,
    row: Sequence[str],
) -> Iterator[Listed]:
    """Yield layers, and with them those with a pump on a fan that is the last of the inner side."""
    yield _sided(side, own, other)
    inner = own if side == "inner" else other
    if wishes.pump == "none" or last is None or not inner:
        return
    for pump, cell, turn in product(wishes.pumps, row, TURNS):
        if _fan_takes(last, pump):
            top = frozenset({(pump.id, cell, turn, False)})
            if side == "inner":
                yield _sided(side, [*own, top], other)
            else:
                yield _sided(side, own, [*other, top])


def _sided(side: str, own: list[frozenset[Held]], other: list[frozenset[Held]]) -> Listed:
    return (tuple(own), tuple(other)) if side == "inner" else (tuple(other), tuple(own))


def _row(fan: Fan, cells: Sequence[str]) -> frozenset[Held]:
    return frozenset((fan.id, cell, 0, False) for cell in cells)


def _rows(cells: Sequence[str]) -> Iterator[tuple[str, ...]]:
    for count in range(1, len(cells) + 1):
        yield from combinations(cells, count)


def _placings(zone: Zone, core: Exchanger, side: str) -> Iterator[tuple[Held, list[str]]]:
    """Yield the ways to put up a core with a cell of the zone under each of its own."""
    for cell, turn, over in product(zone.cells, TURNS, (False, True)):
        if not any(_takes(cell, own) for own in core.cells):
            continue
        own = sorted((round(u, 3), round(v, 3), c) for (u, v), c in _turned(core, turn, over, side))
        under = [
            _under(zone, cell.u_mm + u - own[0][0], cell.v_mm + v - own[0][1], c) for u, v, c in own
        ]
        if all(under):
            yield (core.id, cell.id, turn, over), [one for one in under if one]


def _turned(
    core: Exchanger, turn: int, over: bool, side: str
) -> Iterator[tuple[tuple[float, float], Cell]]:
    """Yield the cells of a core where they lie in u and v, seen along the inward way.

    On the outer side one looks at it from behind, and turned over too: each mirrors what lies
    across.
    """
    for cell in core.cells:
        x, y = cell.u_mm, -cell.v_mm if over else cell.v_mm
        for _ in range(turn):
            x, y = -y, x
        yield (x, -y if side == "outer" else y), cell


def _under(zone: Zone, u: float, v: float, own: Cell) -> str | None:
    """Return the cell of a zone nearest to a place, within half a frame; those first that fit."""
    reach = max(mount.frame_mm for mount in own.accepts) / 2
    away = [
        (not _takes(cell, own), max(abs(u - cell.u_mm), abs(v - cell.v_mm)), n, cell.id)
        for n, cell in enumerate(zone.cells)
    ]
    near = [one for one in away if one[1] < reach]
    return min(near)[3] if near else None


def _takes(cell: Cell, part: Fan | Pump | PumpReservoir | Cell) -> bool:
    own = part.accepts if isinstance(part, Cell) else part_cells(part)[0].accepts
    return bool({m.size_mm for m in cell.accepts} & {m.size_mm for m in own})


def _fan_takes(fan: Fan, pump: Pump | PumpReservoir) -> bool:
    return _takes(part_cells(fan)[0], pump)
