"""Leftover depth: how far each stack could still grow before it meets the next solid thing.

The leftover depth of a cell is the travel of the last item over it, heads and fittings included,
along the direction in which the stack piles up, against everything that is not in its stack:
hard solids and keep-outs alike, since it is often a plug, with the bend of its cable, that limits
the depth. Each of them is met on its own and the least counts: an item that stands in a duct is too
deep by the way back out of that duct, not by the way back through the wall behind it. A solid that
shares room with the item limits the depth too, however little it does so sideways, and the depth is
short by the whole way back out of it: so no depth is left while an item stands in what lies ahead.
What starts no farther out than the seat of the stack stands beside it, and so does a wall that is
left faster sideways; they say nothing of the depth.

An item is not measured through what is stacked over it, only where it sticks out (an exchanger
whose fittings pass its fans); it is listed where it leaves less than the last items do. The stack's
own leftover depth is the least of all.

On the outer side of a wall nothing may be known to stand in the way; there the zone's nominal
depth limits, where it has one, and the leftover depth is infinite where it has none.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, isinf

import numpy as np

from catalog.enclosure import ZoneSide
from geometry.bare import bare_prisms
from geometry.finding import LayerSpan, Leftover, StackDepth
from geometry.layout import Item, Layer, Layout, Side, Stack
from geometry.measures.broadphase import Floats, bounds_array
from geometry.measures.overlap import parting_shift
from geometry.measures.pose import Vec, Way
from geometry.measures.prism import Bounds, Prism
from geometry.measures.shifts import pair_shifts
from geometry.measures.solid import Role, Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.measures.travel import Travel, travel
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.walls import OUTSIDE, WALL_NAMES

SIDES: tuple[Side, Side] = ("inner", "outer")


@dataclass(frozen=True, eq=False, slots=True)
class ItemTravel:
    """The travel of one placed item, the solid it meets, and the room that it looked at.

    `covers` are the solids of the items stacked over it.
    """

    solids: tuple[Solid, ...]
    way: Way
    found: Travel
    hit: Solid | None
    column: Bounds
    covers: tuple[Solid, ...]


@dataclass(frozen=True, eq=False)
class Depths:
    """The depths of all stacks; `measured_now` counts the items looked at for this scene."""

    stacks: tuple[StackDepth, ...]
    items: Mapping[str, ItemTravel]
    solids: frozenset[Solid]
    measured_now: int
    sides: Mapping[tuple[str, Side], tuple[tuple[Placed, ...], StackDepth]]


def stack_depths(scene: Scene) -> tuple[StackDepth, ...]:
    """Return the depths of every stack and side, in the order of the layout."""
    return measure_depths(scene).stacks


def measure_depths(scene: Scene, before: Depths | None = None) -> Depths:
    """Return all depths, taking over from `before` the travels that nothing has changed."""
    solids = frozenset(scene.solids)
    kept = _kept(scene, solids, before) if before is not None else {}
    items: dict[str, ItemTravel] = {}
    sides: dict[tuple[str, Side], tuple[tuple[Placed, ...], StackDepth]] = {}
    for stack in scene.layout.stacks:
        for side in SIDES:
            placed = tuple(one for one in scene.items_of(stack) if one.side == side)
            if not placed:
                continue
            for one in placed:
                items[one.id] = kept.get(one.id) or _item_travel(scene, one)
            old = before.sides.get((stack.id, side)) if before is not None else None
            if old is None or old[0] != placed or any(one.id not in kept for one in placed):
                old = (placed, _stack_depth(scene, stack, side, placed, items))
            sides[stack.id, side] = old
    measured = sum(items[one] is not kept.get(one) for one in items)
    return Depths(tuple(depth for _, depth in sides.values()), items, solids, measured, sides)


def _kept(scene: Scene, solids: frozenset[Solid], before: Depths) -> dict[str, ItemTravel]:
    fresh = solids - before.solids
    bounds = bounds_array([s for s in scene.solids if s in fresh])
    kept: dict[str, ItemTravel] = {}
    for one_id, old in before.items.items():
        one = scene.placed.get(one_id)
        if one is None or one.stack is None or scene.solids_of[one_id] is not old.solids:
            continue
        if _covers(scene, one) != old.covers:
            continue
        limit_stands = old.hit is None or old.hit in solids or old.hit.owner == OUTSIDE
        if limit_stands:
            kept[one_id] = old
    entered = _entered([old.column for old in kept.values()], bounds)
    return {one: old for (one, old), met in zip(kept.items(), entered, strict=True) if not met}


def _entered(columns: Sequence[Bounds], bounds: Floats) -> list[bool]:
    """Return for each column whether one of some bounds reaches into it."""
    room = np.array(columns).reshape(len(columns), 6)
    met = np.zeros(len(columns), dtype=bool)
    for one in bounds:
        met |= ((room[:, :3] <= one[3:]) & (room[:, 3:] >= one[:3])).all(axis=1)
    return [bool(m) for m in met]


def out_way(one: Placed) -> Way:
    """Return the direction in which the stack of a placed item piles up.

    Raises ValueError for a free part.
    """
    if one.frame is None or one.side is None:
        raise ValueError(f"{one.id} is in no stack")
    return one.frame.out_of_plate(one.side)


def _covers(scene: Scene, one: Placed) -> tuple[Solid, ...]:
    """Return the hard solids of the items that are stacked over an item's layer."""
    assert one.stack is not None
    assert one.side is not None
    layers = one.stack.side(one.side)
    above = {id(layer) for layer in layers[layers.index(one.layer) + 1 :]}
    return tuple(
        solid
        for other in scene.items_of(one.stack)
        if other.side == one.side and id(other.layer) in above
        for solid in scene.solids_of[other.id]
        if solid.hard
    )


def _item_travel(scene: Scene, one: Placed) -> ItemTravel:
    solids = scene.solids_of[one.id]
    way, seat_mm = out_way(one), seat_face_mm(one)
    hard = [s for s in solids if s.hard]
    prisms = [p for s in hard for p in s.prisms]
    covers = _covers(scene, one)
    bare = bare_prisms(prisms, covers, way) if covers else prisms
    column = _column(bounds_array(prisms), way, 0.0)
    found, hit = Travel(inf), None
    for ahead_mm, other in in_column(scene, column, way):
        if ahead_mm >= found.mm:
            break
        if limits(other, one):
            if ahead_mm >= 0 and _reach_mm(bare, other, way) >= found.mm:
                continue
            met = _met(prisms, bare, other, way, seat_mm)
            if met.mm < found.mm:
                found, hit = met, other
    if bare and _inside(scene, one) and isinf(found.mm):
        # An opening or a grille lies ahead: what is outside ends the depth.
        met = travel(bare, way, [(0, scene.walls.beyond.prisms)])
        if 0 <= met.mm < found.mm:
            found, hit = met, scene.walls.beyond
    reach = _column(bounds_array(prisms), way, max(found.mm, 0.0))
    return ItemTravel(solids, way, found, hit, reach, covers)


def _met(
    prisms: Sequence[Prism], bare: Sequence[Prism], other: Solid, way: Way, seat_mm: float
) -> Travel:
    """Return the travel to a solid: of the whole item where it shares room, else of what is bare.

    Infinite where the solid stands beside the item.
    """
    met = travel(prisms, way, [(0, other.prisms)])
    ahead: Sequence[Prism] = other.prisms
    if met.mm < 0:
        if other.owner in WALL_NAMES:
            return met if _is_left_backwards(prisms, other, way) else Travel(inf)
        ahead = [p for p in other.prisms if _starts_ahead(p, way, seat_mm)]
        met = travel(prisms, way, [(0, ahead)]) if ahead else Travel(inf)
    if met.mm < 0 or bare is prisms:
        return met
    return travel(bare, way, [(0, ahead)])


def _starts_ahead(prism: Prism, way: Way, seat_mm: float) -> bool:
    """Whether all of a prism lies farther out than the seat of a stack."""
    if way.sign > 0:
        return prism.bounds[way.axis] > seat_mm + LENGTH_EPS_MM
    return prism.bounds[way.axis + 3] < seat_mm - LENGTH_EPS_MM


def seat_face_mm(one: Placed) -> float:
    """Return the world coordinate, along the stack, of the face on which a stack is seated."""
    assert one.frame is not None
    zone = one.frame.zone
    side = zone.inner if one.side == "inner" else zone.outer
    way = out_way(one)
    plate = side.plate_mm if side is not None else 0.0
    return one.frame.pose.shift[way.axis] + way.sign * plate


def _reach_mm(prisms: Sequence[Prism], other: Solid, way: Way) -> float:
    """Return the travel of an item to a solid that lies wholly ahead of it.

    The same figure as `travel` gives, without the place of contact, which costs more.
    """
    return min(
        (
            lo if way.sign > 0 else -hi
            for q in other.prisms
            for p in prisms
            for lo, hi in pair_shifts(p, q, way.axis)
        ),
        default=inf,
    )


def _is_left_backwards(prisms: Sequence[Prism], other: Solid, way: Way) -> bool:
    """Whether the least way out of a solid that shares room with an item is back down the stack."""
    shift = parting_shift(prisms, other.prisms)
    return shift is not None and shift.way == -way


def column_of(solids: Sequence[Solid], way: Way) -> Bounds:
    """Return the bounds of an item from which `in_column` looks along `way`."""
    return _column(bounds_array(solids), way, 0.0)


def _column(bounds: Floats, way: Way, reach_mm: float) -> Bounds:
    """Return the bounds of the room that an item sweeps along `way`."""
    low, high = bounds[:, :3].min(axis=0), bounds[:, 3:].max(axis=0)
    if way.sign > 0:
        high[way.axis] += reach_mm
    else:
        low[way.axis] -= reach_mm
    return (*low.tolist(), *high.tolist())


def in_column(scene: Scene, column: Bounds, way: Way) -> list[tuple[float, Solid]]:
    """Return what stands in the room that an item sweeps, nearest first.

    `column` bounds the item. With each solid comes a distance (mm) that the item can move at
    least before they touch; negative for one that may share room with it.
    """
    low, high = np.array(column[:3]), np.array(column[3:])
    if way.sign > 0:
        high[way.axis] = inf
    else:
        low[way.axis] = -inf
    bounds = scene.bounds
    rows = np.flatnonzero(((bounds[:, :3] < high) & (bounds[:, 3:] > low)).all(axis=1))
    if way.sign > 0:
        ahead = bounds[rows, way.axis] - column[way.axis + 3]
    else:
        ahead = column[way.axis] - bounds[rows, way.axis + 3]
    order = np.argsort(ahead, kind="stable")
    return [(float(ahead[k]), scene.solids[rows[k]]) for k in order.tolist()]


def limits(solid: Solid, one: Placed) -> bool:
    """Whether a solid counts for the depth of a stacked item: all but its own stack and air."""
    assert one.stack is not None
    return solid.role is not Role.AIR and solid.stack != one.stack.id


def _inside(scene: Scene, one: Placed) -> bool:
    """Whether an item belongs inside: all do but those on the outer side of a wall."""
    return one.side == "inner" or not on_wall(scene.layout, one)


def on_wall(layout: Layout, one: Placed) -> bool:
    """Whether an item's zone is on a wall or panel, not on a bracket inside the enclosure."""
    if one.frame is None:
        return False
    owner = one.frame.zone.owner
    return all(obstacle.id != owner for obstacle in layout.enclosure.obstacles)


def _stack_depth(
    scene: Scene,
    stack: Stack,
    side: Side,
    placed: Sequence[Placed],
    travels: Mapping[str, ItemTravel],
) -> StackDepth:
    cells = [left for one in placed for left in _leftovers(scene, one, travels[one.id])]
    least = min((left.mm for left in cells), default=inf)
    for one in placed:
        if not one.last_over and (travels[one.id].found.mm < least or not cells):
            cells.append(_leftover(scene, one, travels[one.id], _anchor(one)))
    total = max(far_mm(scene, one) for one in placed)
    spans = tuple(_span(scene, layer, placed) for layer in stack.side(side))
    return StackDepth(stack.id, side, spans, total, tuple(cells))


def far_mm(scene: Scene, one: Placed, *, fittings: bool = True) -> float:
    """Return how far an item stands off the datum with all that is hard on it.

    A pump on its plate and standing screw heads count, and so do fittings unless left out.
    """
    assert one.frame is not None
    way = out_way(one)
    datum = way.sign * one.frame.pose.shift[way.axis]
    hard = [s for s in scene.solids_of[one.id] if s.hard and (fittings or s.role != Role.FITTING)]
    return max(way.sign * v for s in hard for v in s.bounds[way.axis :: 3]) - datum


def _span(scene: Scene, layer: Layer, placed: Sequence[Placed]) -> LayerSpan:
    """Return a layer from its seat to the next one's, or to its far end where it is the last."""
    own = [one for one in placed if one.layer is not None and one.layer.id == layer.id]
    last = own[-1].id == placed[-1].id
    names = list(dict.fromkeys(one.part.name for one in own))
    counted = [
        f"{count} × {name}" if count > 1 else name
        for name in names
        for count in (sum(one.part.name == name for one in own),)
    ]
    return LayerSpan(
        layer.id,
        ", ".join(counted),
        min(one.base_mm for one in own),
        max(far_mm(scene, one, fittings=False) if last else one.top_mm for one in own),
    )


def _anchor(one: Placed) -> str:
    assert isinstance(one.use, Item)
    return one.use.cell


def _leftovers(scene: Scene, one: Placed, found: ItemTravel) -> Iterator[Leftover]:
    for cell in one.last_over:
        yield _leftover(scene, one, found, cell)


def _leftover(scene: Scene, one: Placed, item: ItemTravel, cell: str) -> Leftover:
    assert one.stack is not None
    assert one.side is not None
    assert one.frame is not None
    found, way = item.found, item.way
    left = Leftover(
        stack=one.stack.id,
        side=one.side,
        cell=cell,
        item=one.id,
        mm=found.mm,
        way=way,
        start=_above(scene, one, cell),
        place=_above(scene, one, cell),
        limited_by=None,
        limited_name="nothing in its way",
    )
    if item.hit is not None and found.place is not None:
        back = tuple(p - found.mm * w for p, w in zip(found.place, way.vector, strict=True))
        return replace(
            left,
            start=(back[0], back[1], back[2]),
            place=found.place,
            limited_by=item.hit.owner,
            limited_name=_full_name(scene, item.hit),
        )
    nominal = zone_side(one)
    if isinf(found.mm) and nominal.depth_mm is not None:
        mm = nominal.plate_mm + nominal.depth_mm - far_mm(scene, one)
        start = left.start
        place = tuple(p + mm * w for p, w in zip(start, way.vector, strict=True))
        return replace(
            left,
            mm=mm,
            place=(place[0], place[1], place[2]),
            limited_by=one.frame.zone.id,
            limited_name=f"nominal depth of {one.frame.zone.name}",
        )
    return left


def _full_name(scene: Scene, solid: Solid) -> str:
    """Name a solid; a fitting, or the room for a plug, with the part to which it belongs."""
    part = scene.name_of(solid.owner)
    if solid.role in (Role.FITTING, Role.KEEP_OUT) and part not in solid.name:
        return f"{solid.name} of {part}"
    return solid.name


def zone_side(one: Placed) -> ZoneSide:
    """Return the side of its zone on which a stacked item lies; one that says nothing by default.

    Raises ValueError for a free part.
    """
    if one.frame is None:
        raise ValueError(f"{one.id} is in no stack")
    side = one.frame.zone.inner if one.side == "inner" else one.frame.zone.outer
    return side or ZoneSide()


def _above(scene: Scene, one: Placed, cell_id: str) -> Vec:
    """Return the point on an item's far face, heads included, over the middle of a cell."""
    assert one.frame is not None
    centre = next((s.centre for s in one.seats if s.cell == cell_id), None)
    if centre is None:
        cell = one.frame.cell(cell_id)
        centre = (cell.u_mm, cell.v_mm)
    top = far_mm(scene, one)
    return one.frame.pose.point((*centre, top if one.side == "inner" else -top))
