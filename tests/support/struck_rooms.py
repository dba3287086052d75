"""Odd rooms in which one obstacle is in the way of several things, and changes made by bare values.

What a bare edit makes is no edit of the program: it stands against what the program lists.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

from odd_rooms import odd_case

from catalog.enclosure import Obstacle
from catalog.model import FrozenMap
from catalog.parts import Exchanger, Fan, Part
from catalog.shapes import Box
from geometry.checks.runner import Checked, check_layout
from geometry.edits import EditError, insert_item
from geometry.layout import Layer, Layout, Side, Stack
from geometry.measures.pose import Vec
from geometry.remedies import faults

BEAM = "beam"

SIDES: tuple[Side, Side] = ("inner", "outer")

Fault = tuple[str, frozenset[str]]


@dataclass(frozen=True)
class Struck:
    """A layout with faults at one beam, its check, and the parts that may be put in."""

    checked: Checked
    parts: tuple[Part, ...]
    at_beam: tuple[Fault, ...]


def struck_room(seed: int) -> Struck | None:
    """Return the odd room of a seed with a beam that strikes two or three things; None if rare."""
    random = Random(seed)
    case = odd_case(seed).case
    wishes = case.wishes
    parts: tuple[Part, ...] = (*wishes.exchangers, *wishes.fans, *wishes.pumps)
    layout = case.layout
    for zone in layout.enclosure.zones:
        layout = _filled(layout, zone.id, wishes.exchangers, wishes.fans, random)
    bare = check_layout(layout, remedies=False)
    for _ in range(12):
        beam = _beam(bare, random)
        if beam is None:
            return None
        enclosure = layout.enclosure
        struck = layout.but(enclosure=enclosure.but(obstacles=(*enclosure.obstacles, beam)))
        checked = check_layout(struck, remedies=False)
        told = faults(checked.report)
        at_beam = tuple(key for key in told if BEAM in key[1])
        if 2 <= len(at_beam) <= 3 and len(told) <= 6:
            return Struck(checked, parts, at_beam)
    return None


def _filled(
    layout: Layout,
    zone: str,
    exchangers: tuple[Exchanger, ...],
    fans: tuple[Fan, ...],
    random: Random,
) -> Layout:
    """Return the layout with a fan, a core or both on a zone, where they go."""
    cells = next(one for one in layout.enclosure.zones if one.id == zone).cells
    at = 0
    chosen = [random.choice(some) for some in (fans, exchangers) if some]
    for part in chosen:
        if random.random() < 0.75:
            try:
                layout, _ = insert_item(layout, zone, "inner", at, part, random.choice(cells).id)
            except EditError:
                continue
            at += 1
    return layout


def _beam(bare: Checked, random: Random) -> Obstacle | None:
    """Return a bar that laps some millimetres into something placed, and reaches on beside it."""
    placed = [solid for solid in bare.scene.movable if solid.hard]
    if not placed:
        return None
    bounds = random.choice(placed).bounds
    axis, sign = random.randrange(3), random.choice((-1, 1))
    laps, deep = random.uniform(0.5, 9.0), random.uniform(8.0, 50.0)
    low, high = [0.0] * 3, [0.0] * 3
    for k in range(3):
        if k == axis:
            face = bounds[k + 3] - laps if sign > 0 else bounds[k] + laps
            low[k], high[k] = (face, face + deep) if sign > 0 else (face - deep, face)
        else:
            low[k] = bounds[k] + random.uniform(-60.0, 20.0)
            high[k] = max(bounds[k + 3] + random.uniform(-20.0, 60.0), low[k] + 6.0)
    at = (round(low[0], 1), round(low[1], 1), round(low[2], 1))
    size = tuple(round(b - a, 1) for a, b in zip(low, high, strict=True))
    shape = Box(at_mm=at, size_mm=(size[0], size[1], size[2]))
    return Obstacle(id=BEAM, name=BEAM, kind="duct", shapes=(shape,))


# ---- bare edits ----


def with_slide(layout: Layout, stack: Stack, u_mm: float, v_mm: float) -> Layout:
    slid = stack.but(slide_u_mm=round(u_mm, 4), slide_v_mm=round(v_mm, 4))
    return _with_stack(layout, slid)


def with_place(layout: Layout, free_id: str, at_mm: Vec) -> Layout:
    moved = (f.but(at_mm=at_mm) if f.id == free_id else f for f in layout.free)
    return layout.but(free=tuple(moved))


def with_beam(layout: Layout, axis: int, low_mm: float, high_mm: float) -> Layout:
    """Return the layout with its beam from one place to another along an axis."""
    box = beam_of(layout)
    at, size = list(box.at_mm), list(box.size_mm)
    at[axis], size[axis] = round(low_mm, 4), round(high_mm - low_mm, 4)
    cut = box.but(at_mm=(at[0], at[1], at[2]), size_mm=(size[0], size[1], size[2]))
    obstacles = tuple(
        one.but(shapes=(cut,)) if one.id == BEAM else one for one in layout.enclosure.obstacles
    )
    return layout.but(enclosure=layout.enclosure.but(obstacles=obstacles))


def beam_of(layout: Layout) -> Box:
    (shape,) = next(one for one in layout.enclosure.obstacles if one.id == BEAM).shapes
    assert isinstance(shape, Box)
    return shape


def single_changes(
    layout: Layout, parts: tuple[Part, ...], *, cutting: bool
) -> Iterator[tuple[str, Layout]]:
    """Yield layouts one change away, amounts coarse, each with what was changed."""
    library: dict[str, Part] = {**layout.parts, **{part.id: part for part in parts}}
    for stack in layout.stacks:
        if not stack.locked:
            yield from _slides(layout, stack)
            for side in SIDES:
                yield from _layers(layout, stack, side, library)
    for free in layout.free:
        if not free.locked:
            for axis in range(3):
                for mm in (-25, -12, -6, -3, -1.5, 1.5, 3, 6, 12, 25):
                    at = list(free.at_mm)
                    at[axis] += mm
                    moved = with_place(layout, free.id, (at[0], at[1], at[2]))
                    yield f"move {free.id} {mm} along {axis}", moved
    for one in layout.enclosure.obstacles:
        now = layout.states.get(one.id, one.states[0].id)
        for state in one.states:
            if state.id != now:
                states = FrozenMap({**layout.states, one.id: state.id})
                yield f"set {one.id} {state.id}", layout.but(states=states)
    for mm in (1.0, 3.0, 8.0, 20.0, 50.0) if cutting else ():
        yield from beam_trims(layout, mm)


def beam_trims(layout: Layout, off_mm: float) -> Iterator[tuple[str, Layout]]:
    """Yield the trims of the beam by an amount at each end that leave some of it."""
    box = beam_of(layout)
    for axis in range(3):
        low, high = box.at_mm[axis], box.at_mm[axis] + box.size_mm[axis]
        if off_mm < high - low:
            low_end = with_beam(layout, axis, low + off_mm, high)
            high_end = with_beam(layout, axis, low, high - off_mm)
            yield f"trim {off_mm:.1f} from below on axis {axis}", low_end
            yield f"trim {off_mm:.1f} from above on axis {axis}", high_end


def _slides(layout: Layout, stack: Stack) -> Iterator[tuple[str, Layout]]:
    for tenths in (3, 8, 15, 25, 40, 60, 90, 120):
        for sign in (1, -1):
            mm = sign * tenths / 10
            u, v = stack.slide_u_mm, stack.slide_v_mm
            yield f"slide {stack.id} u {mm}", with_slide(layout, stack, u + mm, v)
            yield f"slide {stack.id} v {mm}", with_slide(layout, stack, u, v + mm)


def _layers(
    layout: Layout, stack: Stack, side: Side, library: dict[str, Part]
) -> Iterator[tuple[str, Layout]]:
    for at, layer in enumerate(stack.side(side)):
        if any(item.locked for item in layer.items):
            continue
        for k, item in enumerate(layer.items):
            part = library[item.part]
            if isinstance(part, Exchanger):
                over = not item.turned_over
                flips = {"flip": ((item.turn + 2) % 4, item.turned_over), "face": (item.turn, over)}
                for name, (turn, turned_over) in flips.items():
                    new = item.but(turn=turn, turned_over=turned_over)
                    items = (*layer.items[:k], new, *layer.items[k + 1 :])
                    yield (
                        f"{name} {item.id}",
                        _relaid(layout, stack, side, at, layer.but(items=items)),
                    )
        yield from _thinner(layout, stack, side, at, library)


def _thinner(
    layout: Layout, stack: Stack, side: Side, at: int, library: dict[str, Part]
) -> Iterator[tuple[str, Layout]]:
    layer = stack.side(side)[at]
    (part_id, *more) = {item.part for item in layer.items}
    part = library[part_id]
    for other in () if more else library.values():
        alike = (
            isinstance(part, Fan)
            and isinstance(other, Fan)
            and (part.frame_mm, part.pitch_mm) == (other.frame_mm, other.pitch_mm)
            and other.thickness_mm < part.thickness_mm
        ) or (
            isinstance(part, Exchanger)
            and isinstance(other, Exchanger)
            and (part.core_length_mm, part.core_width_mm, part.cells)
            == (other.core_length_mm, other.core_width_mm, other.cells)
            and other.core_thickness_mm < part.core_thickness_mm
        )
        if alike:
            items = tuple(item.but(part=other.id) for item in layer.items)
            swapped = _relaid(layout, stack, side, at, layer.but(items=items))
            copies = FrozenMap({**layout.parts, other.id: other})
            yield f"swap {layer.id} for {other.id}", swapped.but(parts=copies)


def _relaid(layout: Layout, stack: Stack, side: Side, at: int, layer: Layer) -> Layout:
    layers = stack.side(side)
    return _with_stack(layout, stack.but(**{side: (*layers[:at], layer, *layers[at + 1 :])}))


def _with_stack(layout: Layout, stack: Stack) -> Layout:
    return layout.but(stacks=tuple(stack if s.id == stack.id else s for s in layout.stacks))
