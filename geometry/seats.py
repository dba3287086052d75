"""What the cells of a stacked item are bolted to: the zone's own cells, or the item below."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from catalog.shapes import Cell, Mount, mount_sizes
from geometry.pose_on_plate import UV


@dataclass(frozen=True)
class Seat:
    """How one cell of an item meets what it is bolted to.

    `cell` is the zone cell below, `on` the id of the zone or item that offers `accepts`; `mount`
    is the item's own pattern. `off_u_mm`, `off_v_mm` tell how far the item's holes have to stand
    from the supporter's hole or slot middle (the slide left out). They stand there but where a
    slot ends before they meet what spans them. `on` None means nothing is below.
    """

    own_cell: str
    centre: UV
    mount: tuple[Mount, ...]
    cell: str | None
    on: str | None
    accepts: tuple[Mount, ...] = ()
    slot_u_mm: tuple[float, float] = (0.0, 0.0)
    slot_v_mm: tuple[float, float] = (0.0, 0.0)
    off_u_mm: float = 0.0
    off_v_mm: float = 0.0


@dataclass(frozen=True)
class Support:
    """What offers holes over a zone cell: the zone's own cell, or the item stacked last.

    An item of one cell is drawn along slots by `drawn` towards the cell of what spans it, and
    falls `short` of it where they end.
    """

    on: str
    centre: UV
    cell: Cell
    drawn: UV = (0.0, 0.0)
    short: UV = (0.0, 0.0)

    @property
    def stand(self) -> UV:
        """Where an item of one cell stands on it."""
        return (self.centre[0] + self.drawn[0], self.centre[1] + self.drawn[1])


def drawn_towards(support: Support, to: UV, slide_mm: UV) -> Support:
    """Return a zone cell with what draws items of one cell on it, as far as its slots allow."""
    moved = []
    for k, slide in enumerate(slide_mm):
        least, most = support.cell.slot_u_mm if k == 0 else support.cell.slot_v_mm
        wanted = to[k] - support.centre[k] if least < most else 0.0
        moved.append((wanted, min(max(wanted, min(least - slide, 0.0)), max(most - slide, 0.0))))
    (want_u, u), (want_v, v) = moved
    return replace(support, drawn=(u, v), short=(want_u - u, want_v - v))


def seat_on(centre: UV, cell: Cell, supports: Mapping[str, Support], *, alone: bool) -> Seat:
    """Return what lies under one cell of an item: the nearest support within half a frame.

    `alone` tells that the item has no other cell, so that it is drawn along its slots.
    """
    reach = max(mount.frame_mm for mount in cell.accepts) / 2
    near: list[tuple[float, str, Support]] = []
    for zone_cell, support in supports.items():
        at = support.stand if alone else support.centre
        away = max(abs(centre[0] - at[0]), abs(centre[1] - at[1]))
        if away < reach:
            near.append((away, zone_cell, support))
    if not near:
        return Seat(cell.id, centre, cell.accepts, None, None)
    _, zone_cell, support = near[0] if len(near) == 1 else _best(near, cell)
    short = support.short if alone else (0.0, 0.0)
    return Seat(
        cell.id,
        centre,
        cell.accepts,
        zone_cell,
        support.on,
        support.cell.accepts,
        support.cell.slot_u_mm,
        support.cell.slot_v_mm,
        centre[0] - support.centre[0] + short[0],
        centre[1] - support.centre[1] + short[1],
    )


def _best(near: Sequence[tuple[float, str, Support]], cell: Cell) -> tuple[float, str, Support]:
    """Return the support whose holes match those of a cell, of several such the nearest."""
    own = mount_sizes(cell.accepts)

    def rank(one: tuple[float, str, Support]) -> tuple[bool, float]:
        return (own.isdisjoint(mount_sizes(one[2].cell.accepts)), one[0])

    return min(near, key=rank)
