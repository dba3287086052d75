"""Leftover depth: how far each stack could still grow before it meets the next solid thing.

The leftover depth of a cell is the travel of the last item over it (`geometry.item_travel`), heads
and fittings included, along the direction in which the stack piles up. An item that sticks out from
under what is stacked over it (an exchanger whose fittings pass its fans) is listed where it leaves
less than the last items do. The stack's own leftover depth is the least of all.

Heights count from the face of the plate on which a side is seated, as the depth over a zone does.
On the outer side of a wall nothing may be known to stand in the way; there the zone's nominal
depth limits, where it has one, and the leftover depth is infinite where it has none.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from math import inf, isinf
from typing import NamedTuple

from geometry.finding import LayerSpan, Leftover, StackDepth
from geometry.item_travel import ItemTravel, around_stack, covers_of, item_travel
from geometry.layout import Item, Layer, Side, Stack
from geometry.measures.pose import Vec, Way
from geometry.measures.prism import Bounds, bounds_meet, hull
from geometry.measures.solid import Role, Solid
from geometry.measures.tolerance import meets
from geometry.placement import Placed
from geometry.scene import Scene, Since
from geometry.stack_sides import out_way, zone_side
from geometry.walls import OUTSIDE

SIDES: tuple[Side, Side] = ("inner", "outer")


class Heights(NamedTuple):
    """How far the items of one side of a stack stand off the datum (mm, by id), and its layers.

    The total counts from the face of the plate.
    """

    far_mm: Mapping[str, float]
    layers: tuple[LayerSpan, ...]
    total_mm: float


class DepthSide(NamedTuple):
    """One side of a stack: its items, its depth, and from what that follows besides.

    `hits` are the solids that its items meet, `room` bounds all the room that they look at.
    """

    placed: tuple[Placed, ...]
    heights: Heights
    depth: StackDepth
    hits: frozenset[Solid]
    room: Bounds


@dataclass(frozen=True, eq=False)
class Depths:
    """The depths of all stacks; `measured_now` counts the items looked at for this scene."""

    stacks: tuple[StackDepth, ...]
    items: Mapping[str, ItemTravel]
    solids: AbstractSet[Solid]
    measured_now: int
    sides: Mapping[tuple[str, Side], DepthSide]


@dataclass(frozen=True)
class LimitedBeside:
    """What is left of a depth over one item (`reach_mm` high), while another stands taller."""

    over: str
    reach_mm: float
    left_mm: float
    tallest: str
    tallest_mm: float


def measure_depths(
    scene: Scene, before: Depths | None = None, since: Since | None = None
) -> Depths:
    """Return all depths, taking over from `before` the travels that nothing has changed.

    `since` tells what changed, where that is known.
    """
    if before is None:
        before, since = Depths((), {}, frozenset(), 0, {}), None
    news = _News(scene, before, since)
    items: dict[str, ItemTravel] = {}
    if since is not None:
        items.update(before.items)
        for one_id in since.moved:
            items.pop(one_id, None)
    sides: dict[tuple[str, Side], DepthSide] = {}
    looked_at: Sequence[Stack] = scene.layout.stacks
    if since is not None and since.in_order:
        # The same sides as before, of which most are as they were.
        sides.update(before.sides)
        concerned = {stack for (stack, _), old in sides.items() if news.concern(old)}
        concerned |= since.stacks
        looked_at = [stack for stack in looked_at if stack.id in concerned]
    measured = 0
    for stack in looked_at:
        stands = since is not None and stack.id not in since.stacks
        for side in SIDES:
            old = before.sides.get((stack.id, side))
            if stands and (old is None or not news.concern(old)):
                if old is not None:
                    sides[stack.id, side] = old
                continue
            placed = tuple(one for one in scene.items_of(stack) if one.side == side)
            if not placed:
                continue
            anew = _travels(scene, placed, before.items, news, stands=stands)
            for one in placed:
                items[one.id] = anew.get(one.id) or before.items[one.id]
            if old is None or anew or old.placed != placed:
                heights = old.heights if old is not None and stands else None
                old = _side(scene, stack, side, placed, items, heights)
            sides[stack.id, side] = old
            measured += len(anew)
    depths = tuple(one.depth for one in sides.values())
    return Depths(depths, items, news.solids, measured, sides)


class _News:
    """The solids that are there now, and the bounds of those that were not there before."""

    def __init__(self, scene: Scene, before: Depths, since: Since | None) -> None:
        self.solids = scene.rank.keys()
        if since is not None:
            fresh: Sequence[Solid] = since.fresh
        else:
            fresh = [s for s in scene.solids if s not in before.solids]
        self._gone = before.solids - self.solids if since is None else since.gone
        self._fresh = [s.bounds for s in fresh]
        self._hull: Bounds | None = hull(self._fresh) if fresh else None

    def concern(self, old: DepthSide) -> bool:
        """Whether a side that stands as it did may have another depth."""
        return self._enters(old.room) or not old.hits.isdisjoint(self._gone)

    def leave(self, old: ItemTravel) -> bool:
        """Whether an item that stands as it did, under the same covers, travels as far."""
        limit_stands = old.hit is None or old.hit in self.solids or old.hit.owner == OUTSIDE
        return limit_stands and not self._enters(old.column)

    def _enters(self, room: Bounds) -> bool:
        """Whether a solid that was not there before reaches into some room."""
        if self._hull is None or not bounds_meet(self._hull, room):
            return False
        return any(bounds_meet(one, room) for one in self._fresh)


def _travels(
    scene: Scene,
    placed: Sequence[Placed],
    before: Mapping[str, ItemTravel],
    news: _News,
    *,
    stands: bool,
) -> dict[str, ItemTravel]:
    """Return the travels of the items of a side for which those before do not hold.

    `stands` tells that the stack is known to stand as it did.
    """
    anew: dict[str, ItemTravel] = {}
    around = None
    for one in placed:
        old = before.get(one.id)
        if old is not None and not (stands or _stands(scene, one, old)):
            old = None
        if old is None or not news.leave(old):
            around = around_stack(scene, placed) if around is None else around
            anew[one.id] = item_travel(scene, one, around, old)
    return anew


def _stands(scene: Scene, one: Placed, old: ItemTravel) -> bool:
    """Whether an item stands as it did, and what is stacked over it too."""
    return scene.solids_of[one.id] is old.solids and covers_of(scene, one) == old.covers


def _side(
    scene: Scene,
    stack: Stack,
    side: Side,
    placed: tuple[Placed, ...],
    travels: Mapping[str, ItemTravel],
    heights: Heights | None,
) -> DepthSide:
    """Return one side of a stack; `heights` are those of its items, if they are known."""
    own = [travels[one.id] for one in placed]
    hits = frozenset(t.hit for t in own if t.hit is not None and t.hit.owner != OUTSIDE)
    heights = heights or _heights(scene, stack, side, placed)
    cells = _cells(scene, placed, travels, heights.far_mm)
    depth = StackDepth(stack.id, side, heights.layers, heights.total_mm, cells)
    return DepthSide(placed, heights, depth, hits, hull([t.column for t in own]))


def _heights(scene: Scene, stack: Stack, side: Side, placed: Sequence[Placed]) -> Heights:
    plate_mm = zone_side(placed[0]).plate_mm
    far = {one.id: far_mm(scene, one) for one in placed}
    layers = tuple(_span(scene, layer, placed, plate_mm) for layer in stack.side(side))
    return Heights(far, layers, max(far.values()) - plate_mm)


def _cells(
    scene: Scene,
    placed: Sequence[Placed],
    travels: Mapping[str, ItemTravel],
    far: Mapping[str, float],
) -> tuple[Leftover, ...]:
    """Return what is left over the cells of a side, and where it is less over what sticks out."""
    cells = [
        _leftover(scene, one, travels[one.id], cell, far[one.id])
        for one in placed
        for cell in one.last_over
    ]
    least = min((left.mm for left in cells), default=inf)
    last_mm = max((far[one.id] for one in placed if one.last_over), default=-inf)
    for one in placed:
        # A nominal depth is asked of what reaches farther than all that is stacked over it.
        found = travels[one.id]
        counts = found.hit is not None or far[one.id] > last_mm
        if one.last_over:
            continue
        if (counts and _left_mm(one, found, far[one.id]) < least) or not cells:
            cells.append(_leftover(scene, one, found, _anchor(one), far[one.id]))
    return tuple(cells)


def far_mm(scene: Scene, one: Placed, *, fittings: bool = True) -> float:
    """Return how far an item stands off the datum with all that is hard on it.

    A pump on its plate and standing screw heads count, and so do fittings unless left out.
    """
    return max(
        _solid_far_mm(one, solid)
        for solid in scene.solids_of[one.id]
        if solid.hard and (fittings or solid.role is not Role.FITTING)
    )


def standing_out(scene: Scene, depth: StackDepth) -> LayerSpan | None:
    """Return what stands out of a stack beyond its last layer, up to its total; None if nothing.

    With it the layers add up to the total. It is named by the solid that reaches farthest.
    """
    top = max((span.top_mm for span in depth.layers), default=0.0)
    if meets(top, depth.total_mm):
        return None
    farthest = _farthest(scene, depth)
    return LayerSpan(farthest.id, _full_name(scene, farthest), top, depth.total_mm)


def limited_beside(scene: Scene, depth: StackDepth) -> LimitedBeside | None:
    """Return what is limited where the tallest thing of a stack stands beside it; None elsewhere.

    With no such thing the total and what is left add up to the clear depth. Nor is it told where
    what limits is in the way sideways.
    """
    least = depth.least
    if isinf(least.mm) or least.sideways_mm is not None or meets(least.reach_mm, depth.total_mm):
        return None
    over = scene.name_of(least.item)
    tallest = _full_name(scene, _farthest(scene, depth))
    return LimitedBeside(over, least.reach_mm, least.mm, tallest, depth.total_mm)


def _farthest(scene: Scene, depth: StackDepth) -> Solid:
    """Return the hard solid of one side of a stack that reaches farthest off the datum."""
    own = [
        (far, solid)
        for one in scene.items_of(scene.layout.stack(depth.stack))
        if one.side == depth.side
        for solid in scene.solids_of[one.id]
        if solid.hard
        for far in [_solid_far_mm(one, solid)]
    ]
    return max(own, key=lambda each: each[0])[1]


def _solid_far_mm(one: Placed, solid: Solid) -> float:
    assert one.frame is not None
    way, bounds = out_way(one), solid.bounds
    datum = one.frame.pose.shift[way.axis]
    return bounds[way.axis + 3] - datum if way.sign > 0 else datum - bounds[way.axis]


def _span(scene: Scene, layer: Layer, placed: Sequence[Placed], plate_mm: float) -> LayerSpan:
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
        min(one.base_mm for one in own) - plate_mm,
        max(far_mm(scene, one, fittings=False) if last else one.top_mm for one in own) - plate_mm,
    )


def _anchor(one: Placed) -> str:
    assert isinstance(one.use, Item)
    return one.use.cell


def _left_mm(one: Placed, item: ItemTravel, far: float) -> float:
    """Return what is left over an item: its travel, else its zone's nominal depth less `far`."""
    nominal = zone_side(one)
    if isinf(item.found.mm) and nominal.depth_mm is not None:
        return nominal.plate_mm + nominal.depth_mm - far
    return item.found.mm


def _leftover(scene: Scene, one: Placed, item: ItemTravel, cell: str, far: float) -> Leftover:
    """Return what is left over one cell of an item that stands `far` off the datum (mm)."""
    assert one.stack is not None
    assert one.side is not None
    assert one.frame is not None
    mm, way = _left_mm(one, item, far), item.way
    reach_mm, limited_by, name = far, None, "nothing in its way"
    if item.hit is not None and item.found.place is not None:
        place = item.found.place
        start = _along(place, way, -mm)
        reach_mm = way.sign * (start[way.axis] - one.frame.pose.shift[way.axis])
        limited_by, name = item.hit.owner, _full_name(scene, item.hit)
    else:
        place = start = _above(one, cell, far)
        if not isinf(mm):
            place = _along(start, way, mm)
            limited_by = one.frame.zone.id
            name = f"stated depth of {scene.name_of(limited_by)}"
    reach_mm -= zone_side(one).plate_mm
    return Leftover(
        one.stack.id, one.side, cell, one.id, mm, way, start, place, limited_by, name, reach_mm
    )


def _along(place: Vec, way: Way, mm: float) -> Vec:
    """Return a point moved along a way."""
    moved = list(place)
    moved[way.axis] += way.sign * mm
    return (moved[0], moved[1], moved[2])


def _full_name(scene: Scene, solid: Solid) -> str:
    """Name a solid; a fitting, or the room for a plug, with the part to which it belongs."""
    part = scene.name_of(solid.owner)
    if solid.role in (Role.FITTING, Role.KEEP_OUT) and part not in solid.name:
        return f"{solid.name} of {part}"
    return solid.name


def _above(one: Placed, cell_id: str, far: float) -> Vec:
    """Return the point on an item's far face, heads included, over the middle of a cell."""
    assert one.frame is not None
    centre = next((s.centre for s in one.seats if s.cell == cell_id), None)
    if centre is None:
        cell = one.frame.cell(cell_id)
        centre = (cell.u_mm, cell.v_mm)
    return one.frame.pose.point((*centre, far if one.side == "inner" else -far))
