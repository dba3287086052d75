"""Random edits on whatever a layout holds, valid or not, for property tests."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from edit_rooms import BRACKET, FAN_15, FAN_25, FITTING, PARTS, PUMP, ROOM, SLIM_2, empty_layout
from hypothesis import strategies as st

from catalog.parts import part_ports
from geometry import edits
from geometry.layout import Held, Layout, PortUse

Edit = Callable[[Layout], Layout]

DIRECTIONS = ("+x", "-x", "+y", "-y", "+z", "-z")
OTHER_ROOM = ROOM.but(
    id="other-room", name="Other room", zones=ROOM.zones[::2], obstacles=(BRACKET.but(id="F2"),)
)

lengths = st.floats(-600, 600).map(lambda mm: round(mm, 3))
points = st.tuples(lengths, lengths, lengths)
sides = st.sampled_from(("inner", "outer"))
parts = st.sampled_from(PARTS)
turns = st.integers(0, 3)
layer_indices = st.integers(0, 4)


def filled_layout() -> Layout:
    """Return a room with an exchanger, fans that push, and a free pump."""
    layout, _ = edits.insert_item(empty_layout(), "floor-zone", "inner", 0, SLIM_2, "f1")
    layout = edits.fill_fans(layout, "S1", "inner", "push", FAN_25)
    return edits.add_free(layout, PUMP, (250, 80, 200))[0]


def placed_ids(layout: Layout) -> list[str]:
    """Return the ids of all placed parts."""
    stacked = [i.id for s in layout.stacks for la in (*s.inner, *s.outer) for i in la.items]
    return [*stacked, *(free.id for free in layout.free)]


@st.composite
def random_edit(
    draw: st.DrawFn, layout: Layout, among: Iterable[str] | None = None
) -> tuple[str, Edit]:
    """Draw an edit by its name, for things that are in `layout` where it takes ids."""
    kinds = [*ON_ANY]
    if placed_ids(layout):
        kinds += [*ON_PLACED]
    if layout.stacks:
        kinds += [*ON_STACKS]
    name = draw(st.sampled_from(kinds if among is None else [*among]))
    if name in ON_ANY:
        return name, ON_ANY[name](draw)
    if name in ON_STACKS:
        return name, ON_STACKS[name](draw, draw(st.sampled_from(layout.stacks)).id)
    placed = draw(st.sampled_from(placed_ids(layout)))
    return name, ON_PLACED[name](draw, placed, layout)


def _zone_cell(draw: st.DrawFn) -> tuple[str, str]:
    zone = draw(st.sampled_from(ROOM.zones))
    return zone.id, draw(st.sampled_from(zone.cells)).id


def _insert(draw: st.DrawFn) -> Edit:
    zone, cell = _zone_cell(draw)
    side, index, part, turn = draw(sides), draw(layer_indices), draw(parts), draw(turns)
    return lambda la: edits.insert_item(la, zone, side, index, part, cell, turn)[0]


def _insert_row(draw: st.DrawFn) -> Edit:
    zone, _ = _zone_cell(draw)
    side, index, part = draw(sides), draw(layer_indices), draw(parts)
    return lambda la: edits.insert_row(la, zone, side, index, part)[0]


def _add_free(draw: st.DrawFn) -> Edit:
    part, at = draw(parts), draw(points)
    x_to, z_to = draw(st.sampled_from(DIRECTIONS)), draw(st.sampled_from(DIRECTIONS))
    return lambda la: edits.add_free(la, part, at, x_to, z_to)[0]


def _margin(draw: st.DrawFn) -> Edit:
    margin = draw(st.one_of(st.none(), st.floats(-1, 20)))
    roles = draw(st.one_of(st.none(), st.just(("body", "fitting"))))
    return lambda la: edits.set_margin(la, margin, roles)


def _state(draw: st.DrawFn) -> Edit:
    state = draw(st.sampled_from(("in-place", "back", "out", "up")))
    return lambda la: edits.set_state(la, "bracket", state)


def _enclosure(draw: st.DrawFn) -> Edit:
    enclosure = draw(st.sampled_from((ROOM, OTHER_ROOM)))
    return lambda la: edits.replace_enclosure(la, enclosure)


def _name(draw: st.DrawFn) -> Edit:
    name = draw(st.text(max_size=90))
    return lambda la: edits.set_name(la, name)


ON_ANY: dict[str, Callable[[st.DrawFn], Edit]] = {
    "insert_item": _insert,
    "insert_row": _insert_row,
    "add_free": _add_free,
    "set_margin": _margin,
    "set_state": _state,
    "replace_enclosure": _enclosure,
    "set_name": _name,
}


def _fill(draw: st.DrawFn, stack: str) -> Edit:
    plan = draw(st.sampled_from(("push", "pull", "push-pull", "none")))
    side, fan = draw(sides), draw(st.sampled_from((FAN_15, FAN_25)))
    return lambda la: edits.fill_fans(la, stack, side, plan, fan)


def _slide(draw: st.DrawFn, stack: str) -> Edit:
    u_mm, v_mm = draw(lengths), draw(lengths)
    return lambda la: edits.set_slide(la, stack, u_mm, v_mm)


def _stack_air(draw: st.DrawFn, stack: str) -> Edit:
    air = draw(st.sampled_from(("inward", "outward")))
    return lambda la: edits.set_stack_air(la, stack, air)


def _lock_stack(draw: st.DrawFn, stack: str) -> Edit:
    locked = draw(st.booleans())
    return lambda la: edits.set_locked(la, stack, locked)


def _move_layer(draw: st.DrawFn, stack: str) -> Edit:
    side, index, to = draw(sides), draw(layer_indices), draw(layer_indices)

    def edit(layout: Layout) -> Layout:
        layers = layout.stack(stack).side(side)
        if index >= len(layers):
            raise edits.EditError("no such layer")
        return edits.move_layer(layout, layers[index].id, to)

    return edit


def _move_stack(draw: st.DrawFn, stack: str) -> Edit:
    zone, cell = _zone_cell(draw)
    begin = draw(st.sampled_from((None, cell)))
    return lambda la: edits.move_stack(la, stack, zone, begin)


def _remove_stack(_: st.DrawFn, stack: str) -> Edit:
    return lambda la: edits.remove(la, stack)


ON_STACKS: dict[str, Callable[[st.DrawFn, str], Edit]] = {
    "fill_fans": _fill,
    "set_slide": _slide,
    "set_stack_air": _stack_air,
    "lock stack": _lock_stack,
    "move_layer": _move_layer,
    "move_stack": _move_stack,
    "remove stack": _remove_stack,
}


def _move(draw: st.DrawFn, placed: str, _: Layout) -> Edit:
    zone, cell = _zone_cell(draw)
    side, index, turn = draw(sides), draw(layer_indices), draw(turns)

    def edit(layout: Layout) -> Layout:
        if placed in {free.id for free in layout.free}:
            return edits.drop_in(layout, placed, zone, side, index, cell, turn)
        return edits.move_item(layout, placed, zone, side, index, cell, turn)

    return edit


def _nudge(draw: st.DrawFn, placed: str, _: Layout) -> Edit:
    by = draw(points)
    return lambda la: edits.nudge(la, placed, by)


def _rotate(draw: st.DrawFn, placed: str, _: Layout) -> Edit:
    quarters = draw(st.integers(-3, 5))
    about = draw(st.one_of(st.none(), st.sampled_from(DIRECTIONS)))
    return lambda la: edits.rotate(la, placed, quarters, about)


def _thickness(draw: st.DrawFn, placed: str, _: Layout) -> Edit:
    step = draw(st.sampled_from((1, -1)))
    return lambda la: edits.next_thickness(la, placed, PARTS, step)


def _swap(draw: st.DrawFn, placed: str, _: Layout) -> Edit:
    part = draw(parts)
    return lambda la: edits.swap_part(la, placed, part)


def _port(draw: st.DrawFn, placed: str, layout: Layout) -> Edit:
    uses = {use.id: use.part for use in layout.free}
    for stack in layout.stacks:
        for layer in (*stack.inner, *stack.outer):
            uses.update((item.id, item.part) for item in layer.items)
    ports = [port.id for port in part_ports(layout.part(uses[placed]))] or ["none"]
    port = draw(st.sampled_from(ports))
    fitting = draw(st.sampled_from((None, FITTING, "plug")))
    if fitting == "plug":
        return lambda la: edits.set_port(la, placed, port, PortUse(plugged=True))
    return lambda la: edits.set_fitting(la, placed, port, fitting)


def _lock(draw: st.DrawFn, placed: str, _: Layout) -> Edit:
    locked = draw(st.sampled_from((True, False, False)))
    return lambda la: edits.set_locked(la, placed, locked)


def _held(draw: st.DrawFn, placed: str, layout: Layout) -> Edit:
    known = (None, "floor", "bracket", "shelf", "front-zone", *placed_ids(layout))
    on, by = draw(st.sampled_from(known)), draw(st.sampled_from(("clamp", "zone cells")))
    return lambda la: edits.set_held(la, placed, Held(by=by, on=on))


def _head(draw: st.DrawFn, placed: str, _: Layout) -> Edit:
    head = draw(st.floats(-1, 5))
    return lambda la: edits.set_head_mm(la, placed, head)


ON_PLACED: dict[str, Callable[[st.DrawFn, str, Layout], Edit]] = {
    "move": _move,
    "nudge": _nudge,
    "rotate": _rotate,
    "next_thickness": _thickness,
    "swap_part": _swap,
    "port": _port,
    "lock": _lock,
    "set_held": _held,
    "set_head_mm": _head,
    "flip_port_end": lambda _draw, placed, _: lambda la: edits.flip_port_end(la, placed),
    "turn_over": lambda _draw, placed, _: lambda la: edits.turn_over(la, placed),
    "toggle_air": lambda _draw, placed, _: lambda la: edits.toggle_air(la, placed),
    "lift_out": lambda _draw, placed, _: lambda la: edits.lift_out(la, placed),
    "duplicate": lambda _draw, placed, _: lambda la: edits.duplicate(la, placed)[0],
    "remove": lambda _draw, placed, _: lambda la: edits.remove(la, placed),
}

KINDS = (*ON_ANY, *ON_STACKS, *ON_PLACED)
"""Every kind of edit that `random_edit` draws."""
