"""Edits on one placed part: which way round it is, its air, its thickness, its lock."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, assert_never

from catalog.model import Direction, FrozenMap
from catalog.parts import (
    Adapter,
    Exchanger,
    Fan,
    Gasket,
    Part,
    part_cells,
    part_ports,
)
from geometry.edits.base import (
    EditError,
    changed,
    find_spot,
    keep_locked,
    name_of,
    need_free,
    need_spot,
    need_use,
    refuse_locked,
    tidy,
    with_copy,
    with_free,
    with_item,
    with_stack,
    without_leftovers,
)
from geometry.edits.body import body_middle
from geometry.layout import FreePart, Layout
from geometry.measures.pose import Pose, way
from geometry.part_solids import seat_thickness_mm
from geometry.placement import place_free

Air = Literal["with", "against"]


def flip_port_end(layout: Layout, part_id: str) -> Layout:
    """Turn a part end for end: a half turn about its Z, so that the port end points the other way.

    Raises EditError when it is locked.
    """
    return rotate(layout, part_id, 2)


def rotate(
    layout: Layout, part_id: str, quarter_turns: int = 1, about: Direction | None = None
) -> Layout:
    """Turn a part by quarter turns about its Z; a free part about any world axis, in its middle.

    Raises EditError when it is locked, or when a stacked part shall turn about another axis.
    """
    refuse_locked(layout, part_id)
    spot = find_spot(layout, part_id)
    if spot is None:
        return _turn_free(layout, need_free(layout, part_id), quarter_turns, about)
    if about is not None:
        raise EditError(
            f"{name_of(layout, part_id)} lies on its zone and turns only about the zone's normal; "
            "lift it out first"
        )
    turn = (spot.item.turn + quarter_turns) % 4
    return keep_locked(layout, with_item(layout, spot, spot.item.but(turn=turn)))


def turn_over(layout: Layout, part_id: str) -> Layout:
    """Turn a part over: a half turn about its X, so that its ports face the other way.

    Raises EditError when it is locked.
    """
    refuse_locked(layout, part_id)
    spot = find_spot(layout, part_id)
    if spot is None:
        free = need_free(layout, part_id)
        return _turn_free(layout, free, 2, free.x_to)
    item = spot.item.but(turned_over=not spot.item.turned_over)
    return keep_locked(layout, with_item(layout, spot, item))


def set_air(layout: Layout, item_id: str, air: Air) -> Layout:
    """Set a stacked fan to blow with the stack's air or against it.

    Raises EditError when the part is no fan, is free, or is locked.
    """
    refuse_locked(layout, item_id)
    spot = need_spot(layout, item_id)
    if not isinstance(layout.part(spot.item.part), Fan):
        raise EditError(f"{name_of(layout, item_id)} is no fan; only a fan has an air direction")
    return with_item(layout, spot, spot.item.but(air=air))


def toggle_air(layout: Layout, part_id: str) -> Layout:
    """Reverse a fan: against the stack's air or with it; a free fan is turned over.

    Raises EditError when the part is no fan or is locked.
    """
    use = need_use(layout, part_id)
    if isinstance(use, FreePart):
        if not isinstance(layout.part(use.part), Fan):
            raise EditError(
                f"{name_of(layout, part_id)} is no fan; only a fan has an air direction"
            )
        return turn_over(layout, part_id)
    return set_air(layout, part_id, "with" if use.air == "against" else "against")


def set_head_mm(layout: Layout, item_id: str, head_mm: float) -> Layout:
    """Set how far a stacked part's screw heads stand above it (mm).

    Raises EditError when it is free or locked, or when the height is out of range.
    """
    refuse_locked(layout, item_id)
    spot = need_spot(layout, item_id)
    return with_item(layout, spot, changed(spot.item, head_mm=float(head_mm)))


def set_locked(layout: Layout, placed_id: str, locked: bool) -> Layout:
    """Lock or unlock a stacked part, a free part or a whole stack.

    Raises EditError when nothing goes by that id.
    """
    for stack in layout.stacks:
        if stack.id == placed_id:
            return with_stack(layout, stack.but(locked=locked))
    spot = find_spot(layout, placed_id)
    if spot is None:
        return with_free(layout, need_free(layout, placed_id).but(locked=locked))
    return with_item(layout, spot, spot.item.but(locked=locked))


def swap_part(layout: Layout, placed_id: str, part: Part) -> Layout:
    """Put another part in the place of a placed one; id, place, turn and matching ports stay.

    Raises EditError when it is locked, or when a part without a hole pattern shall go in a stack.
    """
    refuse_locked(layout, placed_id)
    spot = find_spot(layout, placed_id)
    if spot is not None and not part_cells(part):
        raise EditError(f"{part.name} has no hole pattern for a stack; place it free in the room")
    grown, copy = with_copy(layout, part)
    known = {port.id for port in part_ports(copy)}
    use = need_use(layout, placed_id)
    ports = FrozenMap({port: value for port, value in use.ports.items() if port in known})
    if isinstance(use, FreePart):
        return without_leftovers(with_free(grown, use.but(part=copy.id, ports=ports)))
    assert spot is not None
    air = use.air if isinstance(copy, Fan) else "with"
    item = use.but(part=copy.id, ports=ports, air=air)
    return keep_locked(layout, without_leftovers(with_item(grown, spot, item)))


def next_thickness(
    layout: Layout, placed_id: str, library_parts: Iterable[Part], step: Literal[1, -1] = 1
) -> Layout:
    """Put the next thicker part (`step` 1) or thinner one (-1) of the same face in its place.

    Same face: the same frame and pitch, or the same length, width and cells. Of several equally
    thick ones the most alike is taken (number of ports, tanks). Raises EditError when there is
    none, or when the part is locked.
    """
    refuse_locked(layout, placed_id)
    part = layout.part(need_use(layout, placed_id).part)
    if not isinstance(part, Exchanger | Fan | Gasket | Adapter):
        raise EditError(f"{part.name} ({placed_id}) does not come in thicknesses")
    mine = seat_thickness_mm(part)
    others = [p for p in library_parts if p.kind == part.kind and _same_face(p, part)]
    beyond = [p for p in others if (seat_thickness_mm(p) - mine) * step > 0]
    if not beyond:
        which = "thicker" if step > 0 else "thinner"
        raise EditError(f"there is no {which} {_face_words(part)} in the library")
    nearest = min((seat_thickness_mm(p) for p in beyond), key=lambda mm: abs(mm - mine))
    alike = [p for p in beyond if seat_thickness_mm(p) == nearest]
    return swap_part(layout, placed_id, min(alike, key=lambda p: (_unlike(p, part), p.id)))


def _same_face(one: Part, other: Part) -> bool:
    if isinstance(one, Fan) and isinstance(other, Fan):
        return (one.frame_mm, one.pitch_mm) == (other.frame_mm, other.pitch_mm)
    if isinstance(one, Exchanger) and isinstance(other, Exchanger):
        return (one.core_length_mm, one.core_width_mm, one.cells) == (
            other.core_length_mm,
            other.core_width_mm,
            other.cells,
        )
    if isinstance(one, Gasket) and isinstance(other, Gasket):
        return (one.length_mm, one.width_mm, one.cells) == (
            other.length_mm,
            other.width_mm,
            other.cells,
        )
    if isinstance(one, Adapter) and isinstance(other, Adapter):
        return (one.cells, one.top) == (other.cells, other.top)
    return False


def _face_words(part: Exchanger | Fan | Gasket | Adapter) -> str:
    if isinstance(part, Fan):
        return f"fan of {part.frame_mm:g} mm"
    if isinstance(part, Exchanger):
        return f"exchanger with a core of {part.core_length_mm:g} x {part.core_width_mm:g} mm"
    if isinstance(part, Gasket):
        return f"gasket of {part.length_mm:g} x {part.width_mm:g} mm"
    if isinstance(part, Adapter):
        return f"adapter of {part.length_mm:g} x {part.width_mm:g} mm"
    assert_never(part)


def _unlike(one: Part, other: Part) -> tuple[int, float]:
    """Return how much two parts of one face differ: number of ports, then millimetres of tanks."""
    if not isinstance(one, Exchanger) or not isinstance(other, Exchanger):
        return (0, 0.0)
    ports = abs(len(one.ports) - len(other.ports))
    tanks = sum(
        abs(a.length_mm - b.length_mm) + abs(a.width_mm - b.width_mm)
        for a, b in ((one.port_tank, other.port_tank), (one.return_tank, other.return_tank))
    )
    return (ports, tanks)


def _turn_free(
    layout: Layout, free: FreePart, quarter_turns: int, about: Direction | None
) -> Layout:
    """Turn a free part about an axis through the middle of its body."""
    axis = way(about or free.z_to)
    old = place_free(layout, free).pose
    x, z = old.x, old.z
    for _ in range(quarter_turns % 4):
        x, z = (w if w.axis == axis.axis else axis.cross(w) for w in (x, z))
    middle = body_middle(layout.part(free.part))
    turned = Pose.from_axes(x, z)
    was, now = old.point(middle), turned.point(middle)
    at = tuple(tidy(a - b) for a, b in zip(was, now, strict=True))
    return with_free(layout, changed(free, at_mm=at, x_to=x.name, z_to=z.name))
