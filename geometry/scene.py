"""The scene: a layout with all its solids in place. Checks, views and drawings read it.

A scene is built from the one before where there is one, so that what did not change keeps its
solids (the same objects) and with them every measure taken of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields
from functools import cached_property
from typing import TypeVar

from catalog.enclosure import Enclosure
from catalog.parts import Part
from geometry.fixed_solids import fixed_solids
from geometry.layout import FreePart, Item, Layout, Stack
from geometry.measures.broadphase import Floats, bounds_array
from geometry.measures.prism import Prism, Round, place
from geometry.measures.solid import Role, Solid
from geometry.part_solids import Piece, part_pieces, seat_thickness_mm
from geometry.placement import (
    Placed,
    ZoneFrame,
    place_free,
    place_stack,
    zone_frame,
)
from geometry.recent import Recent
from geometry.walls import Walls, enclosure_walls
from geometry.zone_names import zone_names

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class Since:
    """How a scene differs from the one before, of which `key` is the key, in the same room.

    `stacks` are the ids of the stacks that stand anew, or no more, `moved` those of such parts;
    `gone` are the solids that are there no more, `fresh` the ones in their stead. `in_order` tells
    whether the same stacks and parts are placed, in the same order and on the same sides.
    """

    key: object
    stacks: frozenset[str]
    moved: frozenset[str]
    gone: frozenset[Solid]
    fresh: tuple[Solid, ...]
    in_order: bool


@dataclass(frozen=True, eq=False)
class Scene:
    """All solids of a layout, in world coordinates."""

    layout: Layout
    placed: Mapping[str, Placed]
    solids_of: Mapping[str, tuple[Solid, ...]]
    fixed: tuple[Solid, ...]
    frames: Mapping[str, ZoneFrame]
    """Every zone as it stands, by id."""
    since: Since | None = None
    """Set where it was built from a scene of the same room and the same parts."""
    key: object = field(default_factory=object)
    """By which `since` of the next scene knows this one."""

    def since_then(self, before: Scene | None) -> Since | None:
        """Return how it differs from an earlier scene, where it was built from that one."""
        since = self.since
        return since if since and before and since.key is before.key else None

    @cached_property
    def movable(self) -> tuple[Solid, ...]:
        """The solids of all placed items and free parts."""
        return tuple(solid for solids in self.solids_of.values() for solid in solids)

    @cached_property
    def solids(self) -> tuple[Solid, ...]:
        """All solids: the placed ones first, then those of the enclosure."""
        return self.movable + self.fixed

    @cached_property
    def rank(self) -> Mapping[Solid, int]:
        """The place of each solid among all of them."""
        return {solid: k for k, solid in enumerate(self.solids)}

    @cached_property
    def bounds(self) -> Floats:
        """The bounds of all solids, shape (n, 6), in the order of `solids`."""
        return bounds_array(self.solids)

    @cached_property
    def walls(self) -> Walls:
        """The walls, and what lies beyond them; the walls are among the fixed solids too."""
        return enclosure_walls(self.layout.enclosure)

    @cached_property
    def fixed_names(self) -> Mapping[str, str]:
        """What belongs to the enclosure, by owner id, with its name."""
        enclosure, walls = self.layout.enclosure, self.walls
        return _names.of(enclosure, find=lambda: _names_in(enclosure, walls))

    def name_of(self, owner: str) -> str:
        """Return what an owner of solids is called; its id where it has no name."""
        one = self.placed.get(owner)
        return self.fixed_names.get(owner, owner) if one is None else one.part.name

    @cached_property
    def _items_by_stack(self) -> Mapping[str, tuple[Placed, ...]]:
        found: dict[str, list[Placed]] = {stack.id: [] for stack in self.layout.stacks}
        for one in self.placed.values():
            if one.stack is not None:
                found[one.stack.id].append(one)
        return {stack: tuple(items) for stack, items in found.items()}

    def items_of(self, stack: Stack) -> tuple[Placed, ...]:
        """Return the placed items of a stack, from the plate outwards."""
        return self._items_by_stack[stack.id]


_names: Recent[Mapping[str, str]] = Recent(8)
"""What belongs to an enclosure, by owner id, with its name."""


def _names_in(enclosure: Enclosure, walls: Walls) -> Mapping[str, str]:
    names = {solid.owner: solid.name for solid in (*walls.solids, walls.beyond)}
    names.update(zone_names(enclosure))
    names.update((panel.id, panel.name) for panel in enclosure.panels)
    names.update((opening.id, opening.name) for opening in enclosure.openings)
    names.update((solid.id, solid.name) for solid in enclosure.outside)
    names.update((obstacle.id, obstacle.name) for obstacle in enclosure.obstacles)
    return names


def build_scene(layout: Layout, before: Scene | None = None) -> Scene:
    """Return the scene of `layout`, sharing with `before` whatever is the same in both.

    Raises KeyError where the layout names a part, zone or cell that it does not have.
    """
    same_room = (
        before is not None
        and before.layout.enclosure is layout.enclosure
        and before.layout.states == layout.states
    )
    if before is not None and same_room and before.layout.parts is layout.parts:
        return _built_on(before, layout)
    placed = {one.id: one for one in _place_all(layout, before if same_room else None)}
    if before is not None and not same_room:
        # Another state of an obstacle leaves most things where they were.
        earlier = before.placed
        placed = {k: earlier[k] if earlier.get(k) == one else one for k, one in placed.items()}
    kept = {
        one.id: _solids_as_before(one, layout, before)
        if before is not None
        else tuple(placed_solids(one, layout))
        for one in placed.values()
    }
    if before is not None and same_room:
        return Scene(layout, placed, kept, before.fixed, before.frames)
    frames = {z.id: zone_frame(layout, z.id) for z in layout.enclosure.zones}
    fixed = fixed_solids(layout)
    if before is not None:
        fixed = _as_before(fixed, before.fixed)
    return Scene(layout, placed, kept, fixed, frames)


def _built_on(before: Scene, layout: Layout) -> Scene:
    """Return the scene in the same room with the same parts; what is as before is not looked at."""
    stacks, of_stacks = _stacked(before, layout)
    free, was_free = _not_in(layout.free, before.layout.free)
    anew = {one.id: one for stack in stacks for one in of_stacks.get(stack, ())}
    anew.update((one.id, place_free(layout, one)) for one in free)
    was = [one.id for stack in stacks for one in before._items_by_stack.get(stack, ())]
    was += [one.id for one in was_free]
    solids = {one_id: _solids_as_before(one, layout, before) for one_id, one in anew.items()}
    placed, solids_of = {**before.placed, **anew}, {**before.solids_of, **solids}
    in_order = _in_order(before, layout, stacks, of_stacks)
    if not in_order:
        ids = [one.id for own in of_stacks.values() for one in own]
        ids += [one.id for one in layout.free]
        placed, solids_of = {k: placed[k] for k in ids}, {k: solids_of[k] for k in ids}
    gone = [s for k in was if (own := before.solids_of[k]) is not solids.get(k) for s in own]
    fresh = [s for k, own in solids.items() if own is not before.solids_of.get(k) for s in own]
    moved = frozenset((*anew, *was))
    since = Since(before.key, stacks, moved, frozenset(gone), tuple(fresh), in_order)
    scene = Scene(layout, placed, solids_of, before.fixed, before.frames, since)
    vars(scene)["_items_by_stack"] = of_stacks
    if in_order:
        _put_in_order(scene, before, solids)
    return scene


def _in_order(
    before: Scene,
    layout: Layout,
    changed: Iterable[str],
    of_stacks: Mapping[str, tuple[Placed, ...]],
) -> bool:
    """Whether the same is placed as before, in the same order and on the same sides of stacks."""
    earlier, was_free = before._items_by_stack, before.layout.free
    if list(of_stacks) != list(earlier):
        return False
    for stack in changed:
        now, then = ([(one.id, one.side) for one in of[stack]] for of in (of_stacks, earlier))
        if now != then:
            return False
    if layout.free is was_free:
        return True
    apart = ((one, was) for one, was in zip(layout.free, was_free, strict=False) if one is not was)
    return len(layout.free) == len(was_free) and all(one.id == was.id for one, was in apart)


def _stacked(before: Scene, layout: Layout) -> tuple[frozenset[str], dict[str, tuple[Placed, ...]]]:
    """Return the stacks that are not as before, or are there no more, and the items of all."""
    earlier = {stack.id: stack for stack in before.layout.stacks}
    changed: list[str] = []
    items: dict[str, tuple[Placed, ...]] = {}
    for stack in layout.stacks:
        old = earlier.pop(stack.id, None)
        if old is stack or old == stack:
            items[stack.id] = before._items_by_stack[stack.id]
        else:
            items[stack.id] = place_stack(layout, stack)
            changed.append(stack.id)
    return frozenset((*changed, *earlier)), items


def _not_in(now: Sequence[T], before: Sequence[T]) -> tuple[list[T], list[T]]:
    """Return those of two lists of objects that the other does not have."""
    if now is before:
        return [], []
    apart = [(one, was) for one, was in zip(now, before, strict=False) if one is not was]
    own = [one for one, _ in apart] + list(now[len(before) :])
    its = [was for _, was in apart] + list(before[len(now) :])
    old, new = {id(one) for one in its}, {id(one) for one in own}
    return [one for one in own if id(one) not in old], [one for one in its if id(one) not in new]


def _solids_as_before(one: Placed, layout: Layout, before: Scene) -> tuple[Solid, ...]:
    """Return the solids of a part, the same objects as before where it stands as it did."""
    old = before.placed.get(one.id)
    if old is not None and _same_place(one, old, layout, before.layout):
        return before.solids_of[one.id]
    return tuple(placed_solids(one, layout))


def _put_in_order(scene: Scene, before: Scene, anew: Mapping[str, tuple[Solid, ...]]) -> None:
    """Take the order of all solids over, with some in the stead of others, if one for one."""
    if any(len(own) != len(before.solids_of[one]) for one, own in anew.items()):
        return
    solids, rank, bounds = list(before.solids), dict(before.rank), before.bounds.copy()
    for one, own in anew.items():
        for solid, was in zip(own, before.solids_of[one], strict=True):
            at = rank[solid] = rank.pop(was)
            solids[at], bounds[at] = solid, solid.bounds
    movable = tuple(solids[: len(solids) - len(scene.fixed)])
    vars(scene).update(movable=movable, solids=tuple(solids), rank=rank, bounds=bounds)


def _as_before(solids: tuple[Solid, ...], before: tuple[Solid, ...]) -> tuple[Solid, ...]:
    """Return solids, those that are equal to earlier ones as the same objects."""
    old = {solid.id: solid for solid in before}
    return tuple(
        known if (known := old.get(one.id)) is not None and _alike(one, known) else one
        for one in solids
    )


def _alike(one: Solid, other: Solid) -> bool:
    return all(getattr(one, f.name) == getattr(other, f.name) for f in fields(Solid))


def _place_all(layout: Layout, before: Scene | None) -> Iterator[Placed]:
    """Yield all items in file order; `before` is a scene in the same room, if there was one."""
    old_stacks = {s.id: s for s in before.layout.stacks} if before is not None else {}
    for stack in layout.stacks:
        if before is not None and old_stacks.get(stack.id) is stack:
            items = before.items_of(stack)
            if all(layout.parts.get(one.use.part) is one.part for one in items):
                yield from items
                continue
        yield from place_stack(layout, stack)
    for free in layout.free:
        old = before.placed.get(free.id) if before is not None else None
        if old is not None and old.use is free and layout.parts.get(free.part) is old.part:
            yield old
        else:
            yield place_free(layout, free)


def _same_place(one: Placed, old: Placed, layout: Layout, old_layout: Layout) -> bool:
    if one is old:
        return _same_fittings(one, layout, old_layout)
    return (
        one.part is old.part
        and one.pose == old.pose
        and one.last_over == old.last_over
        and one.use.ports == old.use.ports
        and _head_mm(one) == _head_mm(old)
        and _same_fittings(one, layout, old_layout)
        and _joint(one, layout) == _joint(old, old_layout)
    )


def _same_fittings(one: Placed, layout: Layout, old_layout: Layout) -> bool:
    """Whether the fittings that a part names are the same objects in two layouts."""
    if not one.use.ports or layout.parts is old_layout.parts:
        return True
    now, before = _fittings(one, layout), _fittings(one, old_layout)
    return all(a is b for a, b in zip(now, before, strict=True))


def _fittings(one: Placed, layout: Layout) -> list[Part | None]:
    """Return the fittings that a part names for its ports; None for the default and unknown."""
    named = [use.fitting for use in one.use.ports.values()]
    return [None if name is None else layout.parts.get(name) for name in named]


_recent: Recent[tuple[Piece, ...]] = Recent(256)
"""What parts are made of, which stays as they move."""


def placed_solids(one: Placed, layout: Layout) -> Iterator[Solid]:
    """Yield the solids of a placed part, in world coordinates."""
    stack, held_on = _joint(one, layout)
    ports = one.use.ports

    def find() -> tuple[Piece, ...]:
        return part_pieces(one.part, ports, layout.parts)

    # An edit makes the ports of what it moves anew, and equal to what they were.
    own = _recent.of(one.part, *_fittings(one, layout), beside=frozenset(ports.items()), find=find)
    for piece in (*own, *_screw_heads(one)):
        prisms = tuple(place(prism, one.pose) for prism in piece.prisms)
        solid_id = f"{one.id}/{piece.suffix}"
        yield Solid(solid_id, one.id, piece.name, piece.role, prisms, stack, held_on)


def _joint(one: Placed, layout: Layout) -> tuple[str | None, str | None]:
    """Return the stack in which a part is bolted, and the owner of what holds it."""
    if one.stack is not None and one.frame is not None:
        return one.stack.id, one.frame.zone.owner
    held_on = one.use.held.on if isinstance(one.use, FreePart) else None
    for zone in layout.enclosure.zones if held_on is not None else ():
        if zone.id == held_on:
            return None, zone.owner
    return None, held_on


def _head_mm(one: Placed) -> float:
    return one.use.head_mm if isinstance(one.use, Item) else 0.0


HEAD_ACROSS_FACTOR = 0.06
"""Screw head across, as a share of the frame (common practice: 7 mm on a 120 mm frame)."""


def _screw_heads(one: Placed) -> Iterator[Piece]:
    """Yield the standing screw heads over the cells on which nothing further is stacked."""
    if _head_mm(one) <= 0:
        return
    top = 0.0 if getattr(one.use, "turned_over", False) else seat_thickness_mm(one.part)
    prisms: list[Prism] = []
    for seat in one.seats:
        if seat.cell not in one.last_over or one.frame is None:
            continue
        mount = seat.mount[0]
        away = -1.0 if top == 0.0 else 1.0
        ends = sorted((top, top + away * _head_mm(one)))
        own = _own_centre(one, seat.centre)
        for sa in (-0.5, 0.5):
            for sb in (-0.5, 0.5):
                a, b = own[0] + sa * mount.pitch_mm, own[1] + sb * mount.pitch_mm
                outline = Round(a, b, a, b, HEAD_ACROSS_FACTOR * mount.frame_mm / 2)
                prisms.append(Prism(2, outline, ends[0], ends[1]))
    if prisms:
        yield Piece("heads", "screw heads", Role.BODY, tuple(prisms))


def _own_centre(one: Placed, centre: tuple[float, float]) -> tuple[float, float]:
    """Return a seat's centre in the part frame."""
    assert one.frame is not None
    world = one.frame.pose.point((centre[0], centre[1], 0.0))
    local = one.pose.local(world)
    return (local[0], local[1])
