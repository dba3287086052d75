"""A session in an odd room: random steps of all that a window lets one do, and undo.

Edits of what stands; locks; parts and the room changed in place, under their ids; judge, margins
and states; stacks and free parts in another order. Every layout is one that a file may hold.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from random import Random

from odd_rooms import odd_case

from catalog.enclosure import Enclosure, Zone
from catalog.model import Dimension, FrozenMap
from catalog.parts import Exchanger, Fan, Fitting, Gasket, Part, Pump, part_cells, part_ports
from catalog.shapes import Extrusion, Shape
from geometry import edits
from geometry.edits import EditError
from geometry.edits.base import changed
from geometry.layout import Held, Layout, Side
from geometry.placement import SIDES
from geometry.references import reference_faults

Edit = Callable[[Layout], Layout]

LONG = Fitting(id="long", name="Long fitting", length_mm=40, diameter_mm=18, hand_mm=10)
SHORT = Fitting(id="short", name="Short fitting", length_mm=12, diameter_mm=18, hand_mm=6)

FILLED_BY = 6
"""A session begins when so many parts more than the room had were put in."""

UNDO_SHARE = 0.15
BACK = 6
"""An undo goes back by at most so many steps."""


@dataclass(frozen=True)
class Step:
    """What was done, and the layout that it gave."""

    name: str
    layout: Layout


@dataclass(frozen=True)
class Session:
    """Draws steps in an odd room."""

    random: Random
    parts: tuple[Part, ...]
    begin: Layout

    @classmethod
    def of(cls, seed: int) -> Session:
        """Return the session of a seed, always the same, in its room with a few parts more."""
        random, case = Random(seed), odd_case(seed).case
        wishes, layout = case.wishes, case.layout
        parts = (*wishes.exchangers, *wishes.fans, *wishes.pumps, *layout.parts.values())
        known = {part.id: part for part in (*parts, LONG, SHORT)}
        session = cls(random, tuple(known.values()), layout)
        for _ in range(FILLED_BY):
            layout = session.step(layout, ("insert", "insert", "add free")).layout
        return replace(session, begin=layout)

    def steps(self, most: int) -> Iterator[Step]:
        """Yield steps one on the other; some go back to a layout shortly before."""
        past = [self.begin]
        for _ in range(most):
            if len(past) > 1 and self.random.random() < UNDO_SHARE:
                step = Step("undo", self.random.choice(past[-BACK:]))
            else:
                step = self.step(past[-1])
            past.append(step.layout)
            yield step

    def step(self, layout: Layout, among: Sequence[str] = ()) -> Step:
        """Return a step that does something, drawn anew as long as it is refused."""
        while True:
            name = self.random.choice(among or self.random.choice(SORTS))
            edit = KINDS[name](self, layout)
            if edit is None:
                continue
            try:
                after = edit(layout)
            except EditError:
                continue
            if after is not layout and not reference_faults(after):
                return Step(name, after)

    # ---- what is drawn ----

    def mm(self, least: float, most: float) -> float:
        return round(self.random.uniform(least, most), 1)

    def point(self) -> tuple[float, float, float]:
        return self.mm(-5, 200), self.mm(-5, 150), self.mm(-5, 190)

    def zone_place(self, layout: Layout) -> tuple[Zone, Side, str]:
        """Return a zone, a side of it that takes layers, and one of its cells."""
        zone = self.random.choice(layout.enclosure.zones)
        sides = [side for side in SIDES if zone.side(side) is not None]
        return zone, self.random.choice(sides), self.random.choice(zone.cells).id

    def stackable(self) -> Part:
        return self.random.choice([part for part in self.parts if part_cells(part)])

    def placed(self, layout: Layout) -> str | None:
        return self.one_of((*item_ids(layout), *(one.id for one in layout.free)))

    def item(self, layout: Layout) -> str | None:
        return self.one_of(item_ids(layout))

    def stack(self, layout: Layout) -> str | None:
        return self.one_of([one.id for one in layout.stacks])

    def free(self, layout: Layout) -> str | None:
        return self.one_of([one.id for one in layout.free])

    def one_of(self, ids: Sequence[str]) -> str | None:
        return self.random.choice(ids) if ids else None


def item_ids(layout: Layout) -> list[str]:
    """Return the ids of all items of stacks."""
    layers = (layer for one in layout.stacks for layer in (*one.inner, *one.outer))
    return [item.id for layer in layers for item in layer.items]


# ---- what stands ----


def _insert(session: Session, layout: Layout) -> Edit:
    zone, side, cell = session.zone_place(layout)
    index, turn = session.random.randrange(3), session.random.randrange(4)
    part = session.stackable()
    return lambda la: edits.insert_item(la, zone.id, side, index, part, cell, turn)[0]


def _move_item(session: Session, layout: Layout) -> Edit | None:
    item = session.item(layout)
    zone, side, cell = session.zone_place(layout)
    index, turn = session.random.randrange(3), session.random.randrange(4)
    if item is None:
        return None
    return lambda la: edits.move_item(la, item, zone.id, side, index, cell, turn)


def _drop_in(session: Session, layout: Layout) -> Edit | None:
    one = session.one_of([f.id for f in layout.free if part_cells(layout.part(f.part))])
    zone, side, cell = session.zone_place(layout)
    index, turn = session.random.randrange(2), session.random.randrange(4)
    if one is None:
        return None
    return lambda la: edits.drop_in(la, one, zone.id, side, index, cell, turn)


def _add_free(session: Session, _: Layout) -> Edit:
    part, at = session.random.choice(session.parts), session.point()
    return lambda la: edits.add_free(la, part, at)[0]


def _move_free(session: Session, layout: Layout) -> Edit | None:
    one, at = session.free(layout), session.point()
    return None if one is None else lambda la: edits.move_free(la, one, at)


def _hold(session: Session, layout: Layout) -> Edit | None:
    one = session.free(layout)
    if one is None:
        return None
    by = session.random.choice(("clamp", "adhesive", "holes", "zone cells", "nothing"))
    zone, _, cell = session.zone_place(layout)
    things = [zone.id, *(o.id for o in layout.enclosure.obstacles), *item_ids(layout)]
    on = session.random.choice([None, "floor", *things])
    cells = (cell,) if by == "zone cells" else ()
    return lambda la: edits.set_held(la, one, checked_held(by, on, cells))


def checked_held(by: str, on: str | None, cells: tuple[str, ...]) -> Held:
    return changed(Held(), by=by, on=on, cells=cells)


def _slide(session: Session, layout: Layout) -> Edit | None:
    stack, u, v = session.stack(layout), session.mm(-9, 9), session.mm(-9, 9)
    return None if stack is None else lambda la: edits.set_slide(la, stack, u, v)


def _move_stack(session: Session, layout: Layout) -> Edit | None:
    stack, (zone, _, cell) = session.stack(layout), session.zone_place(layout)
    return None if stack is None else lambda la: edits.move_stack(la, stack, zone.id, cell)


def _stack_air(session: Session, layout: Layout) -> Edit | None:
    stack, air = session.stack(layout), session.random.choice(("inward", "outward"))
    return None if stack is None else lambda la: edits.set_stack_air(la, stack, air)


def _lock(session: Session, layout: Layout) -> Edit | None:
    of = session.random.choice((session.placed, session.placed, session.stack))(layout)
    locked = session.random.random() < 0.5
    return None if of is None else lambda la: edits.set_locked(la, of, locked)


def _swap(session: Session, layout: Layout) -> Edit | None:
    one, part = session.placed(layout), session.random.choice(session.parts)
    return None if one is None else lambda la: edits.swap_part(la, one, part)


def _nudge(session: Session, layout: Layout) -> Edit | None:
    one, by = session.placed(layout), (session.mm(-8, 8), session.mm(-8, 8), session.mm(-8, 8))
    return None if one is None else lambda la: edits.nudge(la, one, by)


def _rotate(session: Session, layout: Layout) -> Edit | None:
    one, quarters = session.placed(layout), session.random.randrange(1, 4)
    return None if one is None else lambda la: edits.rotate(la, one, quarters, None)


def _turn(session: Session, layout: Layout) -> Edit | None:
    one = session.placed(layout)
    edit = session.random.choice((edits.turn_over, edits.flip_port_end, edits.toggle_air))
    return None if one is None else lambda la: edit(la, one)


def _take(session: Session, layout: Layout) -> Edit | None:
    one = session.placed(layout)
    edit = session.random.choice((edits.remove, edits.lift_out))
    return None if one is None else lambda la: edit(la, one)


def _duplicate(session: Session, layout: Layout) -> Edit | None:
    one = session.placed(layout)
    return None if one is None else lambda la: edits.duplicate(la, one)[0]


def _heads(session: Session, layout: Layout) -> Edit | None:
    item, mm = session.item(layout), session.random.choice((0.0, 2.0, 4.0))
    return None if item is None else lambda la: edits.set_head_mm(la, item, mm)


def _port(session: Session, layout: Layout) -> Edit | None:
    uses = {item.id: item.part for s in layout.stacks for la in (*s.inner, *s.outer)
            for item in la.items} | {one.id: one.part for one in layout.free}  # fmt: skip
    ported = [
        (one, port.id) for one, part in uses.items() for port in part_ports(layout.part(part))
    ]
    if not ported:
        return None
    one, port = session.random.choice(ported)
    fitting = session.random.choice((None, LONG, SHORT, "plug"))
    if isinstance(fitting, str):
        return lambda la: edits.plug_port(la, one, port)
    return lambda la: edits.set_fitting(la, one, port, fitting)


def _order(_: Session, layout: Layout) -> Edit:
    return lambda la: la.but(stacks=la.stacks[::-1], free=la.free[::-1])


# ---- how it is judged ----


def _margin(session: Session, _: Layout) -> Edit:
    mm = session.random.choice((0.0, 1.0, 2.0, 5.0, 9.0))
    roles = session.random.choice((None, ("body", "fitting"), ("body", "body")))
    return lambda la: edits.set_margin(la, mm, roles)


def _judge(_: Session, layout: Layout) -> Edit:
    other = "nominal" if layout.settings.judge == "worst case" else "worst case"
    return lambda la: edits.set_judge(la, other)


def _state(session: Session, layout: Layout) -> Edit | None:
    movable = [one for one in layout.enclosure.obstacles if len(one.states) > 1]
    if not movable:
        return None
    one = session.random.choice(movable)
    state = session.random.choice(one.states).id
    return lambda la: edits.set_state(la, one.id, state)


# ---- what is edited in place, under its id ----


def _part_in_place(session: Session, layout: Layout) -> Edit | None:
    if not layout.parts:
        return None
    key = session.random.choice(sorted(layout.parts))
    part = layout.parts[key]
    other = session.random.choice((_renamed, _other_size, _other_size, _other_tolerance))
    return lambda la: la.but(parts=FrozenMap({**la.parts, key: other(session, part)}))


def _part_beside(session: Session, layout: Layout) -> Edit:
    """The map of the parts is another then, and each part that stands is the same."""
    part = session.random.choice(session.parts)
    return lambda la: (
        la if part.id in la.parts else la.but(parts=FrozenMap({**la.parts, part.id: part}))
    )


def _renamed(_: Session, part: Part) -> Part:
    return changed(part, name=part.name + "'")


def _other_size(session: Session, part: Part) -> Part:
    by = session.random.choice((-3.0, 3.0, 5.0))
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
    return _renamed(session, part)


_DIMENSION_OF: dict[str, str] = {
    "exchanger": "core_thickness_mm",
    "fan": "thickness_mm",
    "fitting": "length_mm",
    "gasket": "compressed_mm",
}


def _other_tolerance(session: Session, part: Part) -> Part:
    path = _DIMENSION_OF.get(part.kind)
    if path is None:
        return _renamed(session, part)
    return changed(part, dimensions=FrozenMap({path: _off(session)}))


def _off(session: Session) -> Dimension:
    pick = session.random.choice
    return Dimension(minus_mm=pick((0.1, 2.0)), plus_mm=pick((0.2, 3.0)), origin="measured")


def _in_room(other: Callable[[Session, Enclosure], Enclosure | None]) -> Maker:
    def make(session: Session, layout: Layout) -> Edit | None:
        enclosure = other(session, layout.enclosure)
        return None if enclosure is None else lambda la: la.but(enclosure=enclosure)

    return make


def _obstacle_in_place(session: Session, room: Enclosure) -> Enclosure | None:
    if not room.obstacles:
        return None
    at = session.random.randrange(len(room.obstacles))
    one = room.obstacles[at]
    shapes = tuple(_shifted(shape, session.random.choice((-4.0, 7.0))) for shape in one.shapes)
    changes = ({"name": one.name + "'"}, {"plugs": ()}, {"shapes": shapes}, {"shapes": shapes})
    one = changed(one, **session.random.choice(changes))
    return changed(room, obstacles=(*room.obstacles[:at], one, *room.obstacles[at + 1 :]))


def _shifted(shape: Shape, by_mm: float) -> Shape:
    if isinstance(shape, Extrusion):
        return changed(shape, from_mm=shape.from_mm + by_mm, to_mm=shape.to_mm + by_mm)
    x, y, z = shape.at_mm
    return changed(shape, at_mm=(x + by_mm, y, z))


def _opening_in_place(session: Session, room: Enclosure) -> Enclosure | None:
    if not room.openings:
        return None
    first = room.openings[0]
    renamed = (first.but(name=first.name + "'"), *room.openings[1:])
    return changed(room, openings=session.random.choice((room.openings[:-1], renamed)))


def _outside_gone(_: Session, room: Enclosure) -> Enclosure | None:
    return changed(room, outside=room.outside[1:]) if room.outside else None


def _zone_in_place(session: Session, room: Enclosure) -> Enclosure:
    pick = session.random.choice
    at = session.random.randrange(len(room.zones))
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


def _room_tolerance(session: Session, room: Enclosure) -> Enclosure:
    path = f"zones[0].origin_mm[{session.random.randrange(3)}]"
    return changed(room, dimensions=FrozenMap({**room.dimensions, path: _off(session)}))


Maker = Callable[[Session, Layout], Edit | None]

STANDING: dict[str, Maker] = {
    "insert": _insert,
    "move item": _move_item,
    "drop in": _drop_in,
    "add free": _add_free,
    "move free": _move_free,
    "hold": _hold,
    "slide": _slide,
    "move stack": _move_stack,
    "air of a stack": _stack_air,
    "swap": _swap,
    "nudge": _nudge,
    "rotate": _rotate,
    "turn": _turn,
    "take": _take,
    "duplicate": _duplicate,
    "heads": _heads,
    "port": _port,
}
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
KINDS: dict[str, Maker] = {**STANDING, **TOLD, **IN_PLACE}
"""Every kind of step; what gives None is not possible in the layout."""

SORTS: tuple[tuple[str, ...], ...] = ((*STANDING,), (*TOLD,), (*IN_PLACE,))
"""What is as often drawn: an edit of what stands, what is told of it, what changes in place."""
