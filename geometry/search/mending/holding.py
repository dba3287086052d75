"""Whether what is left of an obstacle after a cut is held as it was before it.

Screws and welds are not described, so touch has to tell. Pieces of an obstacle that touch each
other, if only along an edge, are one part of it. A part is held by the thing that carries the
obstacle and by each wall that it touches, and each of these is taken to be needed: what is left of
a part must still be one part, and still touch those walls, somewhere, and be no farther from what
carries it. So a part that is held is not cut off whole. Two parts do not hold each other. Another
obstacle that touches what would be cut off may rest on it, so that cut is not made.

Not judged are how thin what is left may be, how much of a wall it still touches, what holds it in
other states than the layout's, and other obstacles that stand on it but are drawn some way off.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from catalog.enclosure import Enclosure, Obstacle
from catalog.model import Direction
from geometry.edits import EditError, trim_obstacle
from geometry.edits.cut import END_WORDS
from geometry.layout import Layout
from geometry.measures.clearance import bounds_gap, clearance
from geometry.measures.pose import way
from geometry.measures.prism import Prism, shifted
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.part_solids import shape_prism
from geometry.placement import owner_state
from geometry.walls import enclosure_walls

Prisms = tuple[Prism, ...]


class Holder(NamedTuple):
    """What holds an obstacle, and how far from it the obstacle may be (mm)."""

    prisms: Prisms
    away_mm: float

    def holds(self, prisms: Sequence[Prism]) -> bool:
        """Whether something is no farther from it than that."""
        return clearance(self.prisms, prisms).mm <= self.away_mm + LENGTH_EPS_MM


def trim_held(layout: Layout, obstacle_id: str, end: Direction, off_mm: float) -> Layout:
    """Return the layout with an obstacle trimmed at one end, where that leaves it held.

    Raises EditError where a part of it would lose what holds it, or come apart, or where another
    obstacle touches what would be cut off, and as `trim_obstacle` does.
    """
    after = trim_obstacle(layout, obstacle_id, end, off_mm)
    was, left = (_obstacle(one.enclosure, obstacle_id) for one in (layout, after))
    rest = _parts_of(pieces_of(after, left))
    for part in _parts_of(pieces_of(layout, was)):
        of_it = [one for one in rest if _touch(one, part)]
        if len(of_it) > 1:
            raise EditError(f"{was.name} would come apart")
        if not all(of_it and holder.holds(of_it[0]) for holder in holders_of(layout, was, part)):
            raise EditError(f"{was.name} is held at its {END_WORDS[end]}")
    for other in _touching_cut_off(layout, was, end, off_mm):
        raise EditError(f"{other.name} may rest on {was.name} at its {END_WORDS[end]}")
    return after


def holders_of(layout: Layout, obstacle: Obstacle, part: Prisms) -> list[Holder]:
    """Return what holds a part of an obstacle: what carries it, and each wall that it touches.

    What carries it may be some way off, where a bracket or a foot was left out of the enclosure:
    then what is left may be no farther off.
    """
    walls = {solid.owner: solid.prisms for solid in enclosure_walls(layout.enclosure).solids}
    carrier = _carrier(layout, obstacle, walls)
    found = [Holder(carrier, clearance(carrier, part).mm)] if carrier else []
    for prisms in walls.values():
        near = tuple(p for p in prisms if _touch([p], part))
        if near:
            found.append(Holder(near, 0.0))
    return found


def pieces_of(
    layout: Layout, obstacle: Obstacle, states: Mapping[str, str] | None = None
) -> Prisms:
    """Return the pieces of an obstacle where the layout's states, or those given, have them."""
    chosen = layout.states if states is None else states
    _, by = owner_state(layout.enclosure, obstacle.id, chosen)
    return tuple(shifted(shape_prism(shape), by) for shape in obstacle.shapes)


def _touching_cut_off(
    layout: Layout, obstacle: Obstacle, end: Direction, off_mm: float
) -> Iterator[Obstacle]:
    """Yield the obstacles that touch what would be cut off in any state that leaves them in.

    Not what carries it: that is looked at by what is left.
    """
    own = pieces_of(layout, obstacle)
    others = [
        (one, pieces)
        for one in layout.enclosure.obstacles
        if one.id not in (obstacle.id, obstacle.owner)
        for state in one.states
        if not state.out
        for pieces in [pieces_of(layout, one, {**layout.states, one.id: state.id})]
        if _touch(pieces, own)
    ]
    if not others:
        return
    axis = way(end).axis
    extent_mm = max(p.bounds[axis + 3] for p in own) - min(p.bounds[axis] for p in own)
    off = trim_obstacle(layout, obstacle.id, (-way(end)).name, extent_mm - off_mm)
    cut_off = pieces_of(off, _obstacle(off.enclosure, obstacle.id))
    yield from (one for one, pieces in others if _touch(pieces, cut_off))


def _carrier(layout: Layout, obstacle: Obstacle, walls: dict[str, Prisms]) -> Prisms:
    """Return the obstacle, or the wall of the panel, that carries an obstacle; empty for none."""
    for one in layout.enclosure.obstacles:
        if one.id == obstacle.owner:
            return pieces_of(layout, one)
    for panel in layout.enclosure.panels:
        if panel.id == obstacle.owner:
            return walls.get(panel.wall, ())
    return ()


def _obstacle(enclosure: Enclosure, obstacle_id: str) -> Obstacle:
    return next(one for one in enclosure.obstacles if one.id == obstacle_id)


def _parts_of(pieces: Prisms) -> list[Prisms]:
    """Return pieces by what touches each other, directly or by way of others."""
    parts: list[Prisms] = []
    for piece in pieces:
        near = [part for part in parts if _touch([piece], part)]
        parts = [part for part in parts if part not in near]
        parts.append((piece, *(one for part in near for one in part)))
    return parts


def _touch(some: Sequence[Prism], others: Sequence[Prism]) -> bool:
    return any(_meet(one, other) for one in some for other in others)


def _meet(one: Prism, other: Prism) -> bool:
    if bounds_gap(one.bounds, other.bounds) > LENGTH_EPS_MM:
        return False
    return clearance([one], [other]).mm <= LENGTH_EPS_MM
