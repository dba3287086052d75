"""Edits of what stands in an odd room, as a window lets one do them."""

from __future__ import annotations

from odd_draws import LONG, SHORT, Draws, Edit, Maker, item_ids

from catalog.parts import part_cells, part_ports
from geometry import edits
from geometry.edits.base import changed
from geometry.layout import Held, Layout


def _insert(draws: Draws, layout: Layout) -> Edit:
    zone, side, cell = draws.zone_place(layout)
    index, turn = draws.random.randrange(3), draws.random.randrange(4)
    part = draws.stackable()
    return lambda la: edits.insert_item(la, zone.id, side, index, part, cell, turn)[0]


def _move_item(draws: Draws, layout: Layout) -> Edit | None:
    item = draws.item(layout)
    zone, side, cell = draws.zone_place(layout)
    index, turn = draws.random.randrange(3), draws.random.randrange(4)
    if item is None:
        return None
    return lambda la: edits.move_item(la, item, zone.id, side, index, cell, turn)


def _drop_in(draws: Draws, layout: Layout) -> Edit | None:
    one = draws.one_of([f.id for f in layout.free if part_cells(layout.part(f.part))])
    zone, side, cell = draws.zone_place(layout)
    index, turn = draws.random.randrange(2), draws.random.randrange(4)
    if one is None:
        return None
    return lambda la: edits.drop_in(la, one, zone.id, side, index, cell, turn)


def _add_free(draws: Draws, _: Layout) -> Edit:
    part, at = draws.random.choice(draws.parts), draws.point()
    return lambda la: edits.add_free(la, part, at)[0]


def _move_free(draws: Draws, layout: Layout) -> Edit | None:
    one, at = draws.free(layout), draws.point()
    return None if one is None else lambda la: edits.move_free(la, one, at)


def _hold(draws: Draws, layout: Layout) -> Edit | None:
    one = draws.free(layout)
    if one is None:
        return None
    by = draws.random.choice(("clamp", "adhesive", "holes", "zone cells", "nothing"))
    zone, _, cell = draws.zone_place(layout)
    things = [zone.id, *(o.id for o in layout.enclosure.obstacles), *item_ids(layout)]
    on = draws.random.choice([None, "floor", *things])
    cells = (cell,) if by == "zone cells" else ()
    return lambda la: edits.set_held(la, one, checked_held(by, on, cells))


def checked_held(by: str, on: str | None, cells: tuple[str, ...]) -> Held:
    return changed(Held(), by=by, on=on, cells=cells)


def _slide(draws: Draws, layout: Layout) -> Edit | None:
    stack, u, v = draws.stack(layout), draws.mm(-9, 9), draws.mm(-9, 9)
    return None if stack is None else lambda la: edits.set_slide(la, stack, u, v)


def _move_stack(draws: Draws, layout: Layout) -> Edit | None:
    stack, (zone, _, cell) = draws.stack(layout), draws.zone_place(layout)
    return None if stack is None else lambda la: edits.move_stack(la, stack, zone.id, cell)


def _stack_air(draws: Draws, layout: Layout) -> Edit | None:
    stack, air = draws.stack(layout), draws.random.choice(("inward", "outward"))
    return None if stack is None else lambda la: edits.set_stack_air(la, stack, air)


def _swap(draws: Draws, layout: Layout) -> Edit | None:
    one, part = draws.placed(layout), draws.random.choice(draws.parts)
    return None if one is None else lambda la: edits.swap_part(la, one, part)


def _nudge(draws: Draws, layout: Layout) -> Edit | None:
    one, by = draws.placed(layout), (draws.mm(-8, 8), draws.mm(-8, 8), draws.mm(-8, 8))
    return None if one is None else lambda la: edits.nudge(la, one, by)


def _rotate(draws: Draws, layout: Layout) -> Edit | None:
    one, quarters = draws.placed(layout), draws.random.randrange(1, 4)
    return None if one is None else lambda la: edits.rotate(la, one, quarters, None)


def _turn(draws: Draws, layout: Layout) -> Edit | None:
    one = draws.placed(layout)
    edit = draws.random.choice((edits.turn_over, edits.flip_port_end, edits.toggle_air))
    return None if one is None else lambda la: edit(la, one)


def _take(draws: Draws, layout: Layout) -> Edit | None:
    one = draws.placed(layout)
    edit = draws.random.choice((edits.remove, edits.lift_out))
    return None if one is None else lambda la: edit(la, one)


def _duplicate(draws: Draws, layout: Layout) -> Edit | None:
    one = draws.placed(layout)
    return None if one is None else lambda la: edits.duplicate(la, one)[0]


def _heads(draws: Draws, layout: Layout) -> Edit | None:
    item, mm = draws.item(layout), draws.random.choice((0.0, 2.0, 4.0))
    return None if item is None else lambda la: edits.set_head_mm(la, item, mm)


def _port(draws: Draws, layout: Layout) -> Edit | None:
    uses = {item.id: item.part for s in layout.stacks for la in (*s.inner, *s.outer)
            for item in la.items} | {one.id: one.part for one in layout.free}  # fmt: skip
    ported = [
        (one, port.id) for one, part in uses.items() for port in part_ports(layout.part(part))
    ]
    if not ported:
        return None
    one, port = draws.random.choice(ported)
    fitting = draws.random.choice((None, LONG, SHORT, "plug"))
    if isinstance(fitting, str):
        return lambda la: edits.plug_port(la, one, port)
    return lambda la: edits.set_fitting(la, one, port, fitting)


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
