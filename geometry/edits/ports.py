"""Edits on ports: open or plugged, and which fitting stands on an open one."""

from __future__ import annotations

from catalog.model import FrozenMap
from catalog.parts import Fitting, part_ports
from geometry.edits.base import (
    EditError,
    find_spot,
    name_of,
    need_use,
    refuse_locked,
    with_copy,
    with_free,
    with_item,
    without_leftovers,
)
from geometry.layout import FreePart, Layout, PortUse


def set_port(layout: Layout, placed_id: str, port_id: str, use: PortUse) -> Layout:
    """Set what is done with a port of a placed part.

    Raises EditError when the part is locked, has no such port, or the fitting is not in the
    layout (give the part to `set_fitting` then).
    """
    refuse_locked(layout, placed_id)
    placed = need_use(layout, placed_id)
    known = [port.id for port in part_ports(layout.part(placed.part))]
    if port_id not in known:
        has = f"it has {', '.join(known)}" if known else "it has none"
        raise EditError(f"{name_of(layout, placed_id)} has no port {port_id}; {has}")
    if use.fitting is not None and not isinstance(layout.parts.get(use.fitting), Fitting):
        raise EditError(f"there is no fitting {use.fitting} in this layout")
    ports = FrozenMap({**placed.ports, port_id: use})
    if isinstance(placed, FreePart):
        return without_leftovers(with_free(layout, placed.but(ports=ports)))
    spot = find_spot(layout, placed_id)
    assert spot is not None
    return without_leftovers(with_item(layout, spot, placed.but(ports=ports)))


def set_fitting(layout: Layout, placed_id: str, port_id: str, fitting: Fitting | None) -> Layout:
    """Open a port and stand a fitting on it; None chooses the default fitting.

    Raises EditError when the part is locked or has no such port.
    """
    if fitting is None:
        return set_port(layout, placed_id, port_id, PortUse())
    grown, copy = with_copy(layout, fitting)
    return set_port(grown, placed_id, port_id, PortUse(fitting=copy.id))


def plug_port(layout: Layout, placed_id: str, port_id: str) -> Layout:
    """Plug a port, so that no fitting stands on it.

    Raises EditError when the part is locked or has no such port.
    """
    return set_port(layout, placed_id, port_id, PortUse(plugged=True))
