"""The single changes to a layout that a fitter would try first, each with what it costs to do.

Flip or turn an exchanger, slide a stack, put in thinner parts, take the fans off one face, move a
pump to another fan, move a whole stack to another zone. None is judged here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from catalog.parts import Exchanger, Fan, Part, Pump, PumpReservoir
from geometry.checks.bolting import slide_room
from geometry.checks.words import called
from geometry.edits import (
    FanPlan,
    fan_plan,
    fill_fans,
    flip_port_end,
    move_item,
    next_thickness,
    rotate,
    set_air,
    set_slide,
    set_state,
    turn_over,
)
from geometry.finding import Finding
from geometry.layout import Item, Layout, Side, Stack
from geometry.placement import Placed
from geometry.remedies import changes_for
from geometry.scene import Scene

SIDES: tuple[Side, Side] = ("inner", "outer")


@dataclass(frozen=True)
class Step:
    """One change: what it is called, what it touches, how much work it is, and the edit.

    `cost` ranks: a slide of some millimetres is less than a flip, which is less than another part.
    A slide has `slide`, so that the least one that helps can be looked for; what is made of
    several changes names them in `parts`.
    """

    name: str
    cost: float
    touches: str
    edit: Callable[[Layout], Layout]
    slide: tuple[str, int, float] | None = None
    parts: tuple[str, ...] = ()

    @property
    def atoms(self) -> frozenset[str]:
        """The changes that it is made of: a flip with a turn holds both."""
        return frozenset(self.parts or (self.name,))


def steps_for(scene: Scene, findings: Sequence[Finding], parts: Sequence[Part]) -> list[Step]:
    """Return the changes worth a try for some findings, cheapest first, each name once."""
    found: dict[str, Step] = {}
    for step in _all_steps(scene, findings, parts):
        found.setdefault(step.name, step)
    return sorted(found.values(), key=lambda step: step.cost)


def _all_steps(scene: Scene, findings: Sequence[Finding], parts: Sequence[Part]) -> Iterator[Step]:
    named = dict.fromkeys(one for finding in findings for one in finding.ids)
    concerned = [scene.placed[one] for one in named if one in scene.placed]
    stacks = [one.stack for one in concerned if one.stack is not None]
    stacks += [s for s in scene.layout.stacks if s.id in named]
    for stack in {s.id: s for s in stacks}.values():
        if stack.locked:
            continue
        yield from _slides(scene, stack)
        for one in scene.items_of(stack):
            yield from _on_item(scene, stack, one, parts)
        yield from _fan_plans(scene, stack)
        yield from _zones(scene, stack)
    for finding in findings:
        for change in changes_for(scene, finding):
            if change.name.startswith("Slide "):
                continue  # slides are looked for here to the tenth of a millimetre
            yield Step(change.name, 30.0, finding.ids[0], change.edit, parts=_parts_of(change.name))
    for obstacle in scene.layout.enclosure.obstacles:
        if obstacle.id in named:
            for state in obstacle.states:
                yield Step(
                    f"Set {obstacle.name}: {state.name}",
                    50.0,
                    obstacle.id,
                    _set_state(obstacle.id, state.id),
                )


def _parts_of(name: str) -> tuple[str, ...]:
    """Return the names of the flip and the turn of which a change is made; none for others."""
    both = "Flip port end and turn port face of "
    if not name.startswith(both):
        return ()
    what = name.removeprefix(both)
    return (f"Flip port end of {what}", f"Turn port face of {what}")


def _slides(scene: Scene, stack: Stack) -> Iterator[Step]:
    items = scene.items_of(stack)
    for along, at in enumerate((stack.slide_u_mm, stack.slide_v_mm)):
        room = slide_room(items, along)
        if not room.possible:
            continue
        for to in (room.least_mm, room.most_mm):
            if abs(to - at) >= LEAST_SLIDE_MM:
                yield slide_step(scene, stack, along, to)


LEAST_SLIDE_MM = 0.1
"""Slides are given in tenths of a millimetre: finer ones cannot be set by hand."""


def slide_step(scene: Scene, stack: Stack, along: int, to_mm: float) -> Step:
    """Return the step that slides a stack to a place in its slots."""
    at = (stack.slide_u_mm, stack.slide_v_mm)
    by = to_mm - at[along]
    zone = scene.frames[stack.zone].zone
    way = zone.u if along == 0 else zone.v
    to = (to_mm, at[1]) if along == 0 else (at[0], to_mm)
    return Step(
        f"Slide the stack on {zone.name} by {by:+.1f} mm along {'uv'[along]} ({way})",
        1.0 + abs(by) / 100,
        stack.id,
        lambda layout: set_slide(layout, stack.id, *to),
        (stack.id, along, to_mm),
    )


def _on_item(scene: Scene, stack: Stack, one: Placed, parts: Sequence[Part]) -> Iterator[Step]:
    if not isinstance(one.use, Item) or one.use.locked:
        return
    name, item = called(scene, one.id), one.id
    if isinstance(one.part, Exchanger):
        yield Step(f"Flip port end of {name}", 5.0, item, lambda lay: flip_port_end(lay, item))
        yield Step(f"Turn port face of {name}", 6.0, item, lambda lay: turn_over(lay, item))
        yield Step(
            f"Swap {name} for the next thinner one",
            20.0,
            item,
            lambda lay: next_thickness(lay, item, parts, -1),
        )
    if isinstance(one.part, Fan):
        if one.use.air == "against":
            yield Step(
                f"Change the air direction of {name}",
                2.0,
                item,
                lambda lay: set_air(lay, item, "with"),
            )
        layer = one.layer
        if layer is not None and layer.items[0].id == item:
            ids = tuple(i.id for i in layer.items)
            which = f"the fans beside {name}" if len(ids) > 1 else name
            yield Step(
                f"Swap {which} for the next thinner ones"
                if len(ids) > 1
                else f"Swap {which} for the next thinner one",
                15.0,
                layer.id,
                lambda lay: _thinner_row(lay, ids, parts),
            )
    if isinstance(one.part, Pump | PumpReservoir):
        for turns in (1, 2, 3):
            yield Step(
                f"Turn {name} by {90 * turns} degrees",
                4.0 + turns % 2,
                item,
                lambda lay, n=turns: rotate(lay, item, n),  # type: ignore[misc]
            )
        yield from _other_cells(scene, stack, one)


def _thinner_row(layout: Layout, ids: Sequence[str], parts: Sequence[Part]) -> Layout:
    for item in ids:
        layout = next_thickness(layout, item, parts, -1)
    return layout


def _other_cells(scene: Scene, stack: Stack, one: Placed) -> Iterator[Step]:
    """Yield the moves of a pump to the other fans of its stack."""
    assert isinstance(one.use, Item)
    assert one.side is not None
    layers = stack.side(one.side)
    at = next(k for k, layer in enumerate(layers) if layer == one.layer)
    if at == 0:
        return
    for below in layers[at - 1].items:
        if below.cell != one.use.cell and isinstance(scene.layout.part(below.part), Fan):
            yield Step(
                f"Move {called(scene, one.id)} to the fan on cell {below.cell}",
                12.0,
                one.id,
                _move(one.id, stack.zone, one.side, at, below.cell),
            )


def _move(item: str, zone: str, side: Side, layer: int, cell: str) -> Callable[[Layout], Layout]:
    return lambda layout: move_item(layout, item, zone, side, layer, cell)


def _fan_plans(scene: Scene, stack: Stack) -> Iterator[Step]:
    """Yield push-pull to push or to pull, fans to the other face, and no fans."""
    layout = scene.layout
    zone = scene.frames[stack.zone].zone.name
    for side in SIDES:
        now = fan_plan(layout, stack, side)
        if now in (None, "none"):
            continue
        fans = [
            part
            for layer in stack.side(side)
            for item in layer.items
            for part in (layout.part(item.part),)
            if isinstance(part, Fan)
        ]
        for plan, cost in PLANS if fans else ():
            if plan != now:
                yield Step(
                    f"Set the fans on {zone} from {now} to {plan}",
                    cost if now == "push-pull" else cost + 1.0,
                    stack.id,
                    _fill(stack.id, side, plan, fans[0]),
                )


PLANS: tuple[tuple[FanPlan, float], ...] = (("push", 10.0), ("pull", 10.5))


def _fill(stack: str, side: Side, plan: FanPlan, fan: Fan) -> Callable[[Layout], Layout]:
    return lambda layout: fill_fans(layout, stack, side, plan, fan)


def _zones(scene: Scene, stack: Stack) -> Iterator[Step]:
    """Yield the moves of a whole stack to empty zones, cell by cell from each first cell."""
    layout = scene.layout
    taken = {s.zone for s in layout.stacks}
    old = [cell.id for cell in scene.frames[stack.zone].zone.cells]
    used = [old.index(i.cell) for layer in (*stack.inner, *stack.outer) for i in layer.items]
    first, last = min(used), max(used)
    for zone in layout.enclosure.zones:
        if zone.id in taken or not scene.frames[zone.id].present:
            continue
        for start in range(len(zone.cells) - (last - first)):
            cells = {old[k]: zone.cells[start + k - first].id for k in range(first, last + 1)}
            yield Step(
                f"Move the stack on {scene.frames[stack.zone].zone.name} to {zone.name}, "
                f"from cell {zone.cells[start].id}",
                40.0,
                stack.id,
                _to_zone(stack, zone.id, cells),
            )


def _to_zone(stack: Stack, zone: str, cells: dict[str, str]) -> Callable[[Layout], Layout]:
    def moved(layout: Layout) -> Layout:
        sides = {
            side: tuple(
                layer.but(items=tuple(i.but(cell=cells[i.cell]) for i in layer.items))
                for layer in stack.side(side)
            )
            for side in SIDES
        }
        there = stack.but(zone=zone, slide_u_mm=0.0, slide_v_mm=0.0, **sides)
        return layout.but(stacks=tuple(there if s.id == stack.id else s for s in layout.stacks))

    return moved


def _set_state(obstacle: str, state: str) -> Callable[[Layout], Layout]:
    return lambda layout: set_state(layout, obstacle, state)
