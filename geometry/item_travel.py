"""How far one item of a stack could move along the stack, and what it then meets.

An item travels with its heads and fittings, against everything that is not in its stack: hard
solids and keep-outs alike, since it is often a plug, with the bend of its cable, that is met. Each
of them is met on its own and the least counts: an item that stands in a duct is too deep by the way
back out of that duct, not by the way back through the wall behind it. A solid that shares room with
the item limits it too, however little it does so sideways, and it is short by the whole way back
out of it: so nothing is left while an item stands in what lies ahead. What starts no farther out
than the seat of the stack stands beside it and says nothing of the depth. A wall that is left
faster sideways says nothing of it to what stands in it, as a port in the edge of its opening; to
the rest of the item it does.

An item is not measured through what is stacked over it, only where it sticks out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isinf

import numpy as np

from geometry.measures.overlap import parting_shift
from geometry.measures.pose import Way
from geometry.measures.prism import PLANE, Bounds, Prism, whole_bounds
from geometry.measures.shifts import pair_shifts
from geometry.measures.solid import Role, Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.measures.travel import Travel, travel
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.stack_sides import on_wall, out_way, seat_face_mm
from geometry.uncovered_prisms import uncovered_prisms
from geometry.walls import WALL_NAMES


@dataclass(frozen=True, eq=False, slots=True)
class ItemTravel:
    """The travel of one placed item, the solid it meets, and the room that it looked at.

    `covers` are the solids of the items stacked over it, `bare` what they leave of it.
    """

    solids: tuple[Solid, ...]
    way: Way
    found: Travel
    hit: Solid | None
    column: Bounds
    covers: tuple[Solid, ...]
    bare: Sequence[Prism]


def item_travel(
    scene: Scene,
    one: Placed,
    around: Sequence[Solid] | None = None,
    before: ItemTravel | None = None,
) -> ItemTravel:
    """Return how far an item could move along its stack.

    `around` is what limits the stack and stands in its way (`around_stack`); it spares looking for
    that among all solids for each item. `before` is how far it went with the same solids and the
    same covers, which lay bare the same of it.
    """
    if around is None:
        around = around_stack(scene, [one])
    solids = scene.solids_of[one.id]
    way, seat_mm = out_way(one), seat_face_mm(one)
    hard = [s for s in solids if s.hard]
    prisms = [p for s in hard for p in s.prisms]
    covers = before.covers if before is not None else covers_of(scene, one)
    bare: Sequence[Prism] = prisms
    if covers:
        bare = before.bare if before is not None else uncovered_prisms(prisms, covers, way)
    whole = whole_bounds(prisms)
    column = _column(whole, way, 0.0)
    found, hit = Travel(inf), None
    for ahead_mm, other in _ahead(around, column, way):
        if ahead_mm >= found.mm:
            break
        if ahead_mm >= 0:
            if not _reached(bare, other, way, found.mm):
                continue
            met = travel(bare, way, [(0, other.prisms)])
        else:
            met = _met(prisms, bare, other, way, seat_mm)
        if met.mm < found.mm:
            found, hit = met, other
    if bare and _inside(scene, one) and isinf(found.mm):
        # An opening or a grille lies ahead: what is outside ends the depth.
        met = travel(bare, way, [(0, scene.walls.beyond.prisms)])
        if 0 <= met.mm < found.mm:
            found, hit = met, scene.walls.beyond
    reach = _column(whole, way, max(found.mm, 0.0))
    return ItemTravel(solids, way, found, hit, reach, covers, bare)


def around_stack(scene: Scene, placed: Sequence[Placed]) -> list[Solid]:
    """Return what may limit some items of one side of a stack, in the order of the scene."""
    way = out_way(placed[0])
    hard = [s for one in placed for s in scene.solids_of[one.id] if s.hard]
    rows = _rows_in_column(scene, column_of(hard, way), way)
    return [s for s in (scene.solids[row] for row in rows) if limits(s, placed[0])]


def covers_of(scene: Scene, one: Placed) -> tuple[Solid, ...]:
    """Return the hard solids of the items that are stacked over an item's layer."""
    assert one.stack is not None
    assert one.side is not None
    layers = one.stack.side(one.side)
    own = next(k for k, layer in enumerate(layers) if layer is one.layer)
    above = {id(layer) for layer in layers[own + 1 :]}
    return tuple(
        solid
        for other in scene.items_of(one.stack)
        if other.side == one.side and id(other.layer) in above
        for solid in scene.solids_of[other.id]
        if solid.hard
    )


def _met(
    prisms: Sequence[Prism], bare: Sequence[Prism], other: Solid, way: Way, seat_mm: float
) -> Travel:
    """Return the travel to a solid: of the whole item where it shares room, else of what is bare.

    Infinite where the solid stands beside the item; of a wall that is left faster sideways it is
    that of what does not stand in it.
    """
    met = travel(prisms, way, [(0, other.prisms)])
    ahead: Sequence[Prism] = other.prisms
    if met.mm < 0:
        if other.owner in WALL_NAMES:
            if _is_left_backwards(prisms, other, way):
                return met
            beside = [p for p in bare if travel([p], way, [(0, other.prisms)]).mm >= 0]
            return travel(beside, way, [(0, other.prisms)])
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


def _reached(prisms: Sequence[Prism], other: Solid, way: Way, within_mm: float) -> bool:
    """Whether an item meets a solid that lies wholly ahead of it before it has gone so far.

    As `travel` would tell, without the place of contact, which costs more.
    """
    k, forward, (i, j) = way.axis, way.sign > 0, PLANE[way.axis]
    for q in other.prisms:
        b = q.bounds
        for p in prisms:
            a = p.bounds
            if b[i] >= a[i + 3] or b[i + 3] <= a[i] or b[j] >= a[j + 3] or b[j + 3] <= a[j]:
                continue
            if (b[k] - a[k + 3] if forward else a[k] - b[k + 3]) >= within_mm:
                continue
            for lo, hi in pair_shifts(p, q, k):
                if (lo if forward else -hi) < within_mm:
                    return True
    return False


def _is_left_backwards(prisms: Sequence[Prism], other: Solid, way: Way) -> bool:
    """Whether the least way out of a solid that shares room with an item is back down the stack."""
    shift = parting_shift(prisms, other.prisms)
    return shift is not None and shift.way == -way


def column_of(solids: Sequence[Solid], way: Way) -> Bounds:
    """Return the bounds of an item from which `in_column` looks along `way`."""
    return _column(whole_bounds([p for s in solids for p in s.prisms]), way, 0.0)


def _column(whole: Bounds, way: Way, reach_mm: float) -> Bounds:
    """Return the bounds of the room that an item sweeps along `way`."""
    x0, y0, z0, x1, y1, z1 = whole
    low, high = [x0, y0, z0], [x1, y1, z1]
    if way.sign > 0:
        high[way.axis] += reach_mm
    else:
        low[way.axis] -= reach_mm
    return (low[0], low[1], low[2], high[0], high[1], high[2])


def in_column(scene: Scene, column: Bounds, way: Way) -> list[tuple[float, Solid]]:
    """Return what stands in the room that an item sweeps, nearest first.

    `column` bounds the item. With each solid comes a distance (mm) that the item can move at
    least before they touch; negative for one that may share room with it.
    """
    solids = scene.solids
    return _ahead([solids[row] for row in _rows_in_column(scene, column, way)], column, way)


def _rows_in_column(scene: Scene, column: Bounds, way: Way) -> list[int]:
    bounds, k = scene.bounds, way.axis
    i, j = PLANE[k]
    met = bounds[:, i] < column[i + 3]
    met &= bounds[:, i + 3] > column[i]
    met &= bounds[:, j] < column[j + 3]
    met &= bounds[:, j + 3] > column[j]
    met &= bounds[:, k + 3] > column[k] if way.sign > 0 else bounds[:, k] < column[k + 3]
    rows: list[int] = np.flatnonzero(met).tolist()
    return rows


def _ahead(solids: Sequence[Solid], column: Bounds, way: Way) -> list[tuple[float, Solid]]:
    """Return those of some solids that stand in a column, nearest first, as `in_column` does."""
    k, forward = way.axis, way.sign > 0
    i, j = PLANE[k]
    i0, i1, j0, j1, k0, k1 = (column[n] for n in (i, i + 3, j, j + 3, k, k + 3))
    found = []
    for solid in solids:
        b = solid.bounds
        if b[i] >= i1 or b[i + 3] <= i0 or b[j] >= j1 or b[j + 3] <= j0:
            continue
        if b[k + 3] > k0 if forward else b[k] < k1:
            found.append((b[k] - k1 if forward else k0 - b[k + 3], solid))
    found.sort(key=_nearness)
    return found


def _nearness(found: tuple[float, Solid]) -> float:
    return found[0]


def limits(solid: Solid, one: Placed) -> bool:
    """Whether a solid counts for the depth of a stacked item: all but its own stack and air."""
    assert one.stack is not None
    return solid.role is not Role.AIR and solid.stack != one.stack.id


def _inside(scene: Scene, one: Placed) -> bool:
    """Whether an item belongs inside: all do but those on the outer side of a wall."""
    return one.side == "inner" or not on_wall(scene.layout, one)
