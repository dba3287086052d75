"""Changes in an odd room of what is told of it, and of parts and the room under their ids."""

from __future__ import annotations

from collections.abc import Callable

from odd_draws import Draws, Edit, Maker

from catalog.enclosure import Enclosure
from catalog.model import Dimension, FrozenMap
from catalog.parts import Exchanger, Fan, Fitting, Gasket, Part, Pump
from catalog.shapes import Extrusion, Shape
from geometry import edits
from geometry.edits.base import changed
from geometry.layout import Layout
from geometry.placement import SIDES

# ---- what is told, and how it is judged ----


def _lock(draws: Draws, layout: Layout) -> Edit | None:
    of = draws.random.choice((draws.placed, draws.placed, draws.stack))(layout)
    locked = draws.random.random() < 0.5
    return None if of is None else lambda la: edits.set_locked(la, of, locked)


def _order(_: Draws, layout: Layout) -> Edit:
    return lambda la: la.but(stacks=la.stacks[::-1], free=la.free[::-1])


def _margin(draws: Draws, _: Layout) -> Edit:
    mm = draws.random.choice((0.0, 1.0, 2.0, 5.0, 9.0))
    roles = draws.random.choice((None, ("body", "fitting"), ("body", "body")))
    return lambda la: edits.set_margin(la, mm, roles)


def _judge(_: Draws, layout: Layout) -> Edit:
    other = "nominal" if layout.settings.judge == "worst case" else "worst case"
    return lambda la: edits.set_judge(la, other)


def _state(draws: Draws, layout: Layout) -> Edit | None:
    movable = [one for one in layout.enclosure.obstacles if len(one.states) > 1]
    if not movable:
        return None
    one = draws.random.choice(movable)
    state = draws.random.choice(one.states).id
    return lambda la: edits.set_state(la, one.id, state)


# ---- what is edited in place, under its id ----


def _part_in_place(draws: Draws, layout: Layout) -> Edit | None:
    if not layout.parts:
        return None
    key = draws.random.choice(sorted(layout.parts))
    part = layout.parts[key]
    other = draws.random.choice((_renamed, _other_size, _other_size, _other_tolerance))
    return lambda la: la.but(parts=FrozenMap({**la.parts, key: other(draws, part)}))


def _part_beside(draws: Draws, layout: Layout) -> Edit:
    """The map of the parts is another then, and each part that stands is the same."""
    part = draws.random.choice(draws.parts)
    return lambda la: (
        la if part.id in la.parts else la.but(parts=FrozenMap({**la.parts, part.id: part}))
    )


def _renamed(_: Draws, part: Part) -> Part:
    return changed(part, name=part.name + "'")


def _other_size(draws: Draws, part: Part) -> Part:
    by = draws.random.choice((-3.0, 3.0, 5.0))
    if isinstance(part, Fan):
        return changed(part, thickness_mm=part.thickness_mm + by)
    if isinstance(part, Exchanger):
        return changed(part, core_thickness_mm=part.core_thickness_mm + by)
    if isinstance(part, Fitting):
        return changed(part, length_mm=part.length_mm + by)
    if isinstance(part, Gasket):
        return changed(part, compressed_mm=part.compressed_mm / 2)
    if isinstance(part, Pump):
        return changed(part, ports=part.ports[:-1])
    return _renamed(draws, part)


_DIMENSION_OF: dict[str, str] = {
    "exchanger": "core_thickness_mm",
    "fan": "thickness_mm",
    "fitting": "length_mm",
    "gasket": "compressed_mm",
}


def _other_tolerance(draws: Draws, part: Part) -> Part:
    path = _DIMENSION_OF.get(part.kind)
    if path is None:
        return _renamed(draws, part)
    return changed(part, dimensions=FrozenMap({path: _off(draws)}))


def _off(draws: Draws) -> Dimension:
    pick = draws.random.choice
    return Dimension(minus_mm=pick((0.1, 2.0)), plus_mm=pick((0.2, 3.0)), origin="measured")


def _in_room(other: Callable[[Draws, Enclosure], Enclosure | None]) -> Maker:
    def make(draws: Draws, layout: Layout) -> Edit | None:
        enclosure = other(draws, layout.enclosure)
        return None if enclosure is None else lambda la: la.but(enclosure=enclosure)

    return make


def _obstacle_in_place(draws: Draws, room: Enclosure) -> Enclosure | None:
    if not room.obstacles:
        return None
    at = draws.random.randrange(len(room.obstacles))
    one = room.obstacles[at]
    shapes = tuple(_shifted(shape, draws.random.choice((-4.0, 7.0))) for shape in one.shapes)
    changes = ({"name": one.name + "'"}, {"plugs": ()}, {"shapes": shapes}, {"shapes": shapes})
    one = changed(one, **draws.random.choice(changes))
    return changed(room, obstacles=(*room.obstacles[:at], one, *room.obstacles[at + 1 :]))


def _shifted(shape: Shape, by_mm: float) -> Shape:
    if isinstance(shape, Extrusion):
        return changed(shape, from_mm=shape.from_mm + by_mm, to_mm=shape.to_mm + by_mm)
    x, y, z = shape.at_mm
    return changed(shape, at_mm=(x + by_mm, y, z))


def _opening_in_place(draws: Draws, room: Enclosure) -> Enclosure | None:
    if not room.openings:
        return None
    first = room.openings[0]
    renamed = (first.but(name=first.name + "'"), *room.openings[1:])
    return changed(room, openings=draws.random.choice((room.openings[:-1], renamed)))


def _outside_gone(_: Draws, room: Enclosure) -> Enclosure | None:
    return changed(room, outside=room.outside[1:]) if room.outside else None


def _zone_in_place(draws: Draws, room: Enclosure) -> Enclosure:
    pick = draws.random.choice
    at = draws.random.randrange(len(room.zones))
    zone = room.zones[at]
    side = pick((None, *(side for side in SIDES if zone.side(side) is not None)))
    if side is None:
        zone = zone.but(name=zone.name + "'")
    else:
        given = changed(
            getattr(zone, side), plate_mm=pick((0.0, 1.5, 3.0)), depth_mm=pick((None, 20.0, 60.0))
        )
        zone = zone.but(**{side: given})
    return changed(room, zones=(*room.zones[:at], zone, *room.zones[at + 1 :]))


def _room_tolerance(draws: Draws, room: Enclosure) -> Enclosure:
    path = f"zones[0].origin_mm[{draws.random.randrange(3)}]"
    return changed(room, dimensions=FrozenMap({**room.dimensions, path: _off(draws)}))


TOLD: dict[str, Maker] = {
    "lock": _lock,
    "order": _order,
    "margin": _margin,
    "judge": _judge,
    "state": _state,
}
IN_PLACE: dict[str, Maker] = {
    "part": _part_in_place,
    "part beside": _part_beside,
    "obstacle": _in_room(_obstacle_in_place),
    "opening": _in_room(_opening_in_place),
    "outside gone": _in_room(_outside_gone),
    "zone": _in_room(_zone_in_place),
    "tolerance of the room": _in_room(_room_tolerance),
}
