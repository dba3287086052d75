"""Whether what is left of an obstacle after a cut is held as it was before it.

An obstacle is held by the thing that carries it and by the walls that it touches, and its pieces by
each other: screws and welds are not described, so each of these is taken to be needed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from catalog.enclosure import Enclosure, Obstacle
from catalog.model import Direction
from geometry.edits import EditError, trim_obstacle
from geometry.edits.cut import END_WORDS
from geometry.layout import Layout
from geometry.measures.clearance import bounds_gap, clearance
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

    Raises EditError where what is left would lose what holds it, or come apart, and as
    `trim_obstacle` does.
    """
    after = trim_obstacle(layout, obstacle_id, end, off_mm)
    was, left = (_obstacle(one.enclosure, obstacle_id) for one in (layout, after))
    holders = holders_of(layout, was)
    whole, rest = pieces_of(layout, was), pieces_of(after, left)
    if not all(holder.holds(rest) for holder in holders):
        raise EditError(f"{was.name} is held at its {END_WORDS[end]}")
    if _parts_of(rest, holders) > _parts_of(whole, holders):
        raise EditError(f"{was.name} would come apart")
    return after


def holders_of(layout: Layout, obstacle: Obstacle) -> list[Holder]:
    """Return what holds an obstacle: what carries it, and each wall that it touches.

    What carries it may be some way off, where a bracket or a foot was left out of the enclosure:
    then what is left may be no farther off.
    """
    own = pieces_of(layout, obstacle)
    walls = {solid.owner: solid.prisms for solid in enclosure_walls(layout.enclosure).solids}
    carrier = _carrier(layout, obstacle, walls)
    found = [Holder(carrier, clearance(carrier, own).mm)] if carrier else []
    for prisms in walls.values():
        near = tuple(p for p in prisms if any(_meet(p, q) for q in own))
        if near:
            found.append(Holder(near, 0.0))
    return found


def pieces_of(layout: Layout, obstacle: Obstacle) -> Prisms:
    """Return the pieces of an obstacle where its states have them."""
    _, by = owner_state(layout.enclosure, obstacle.id, layout.states)
    return tuple(shifted(shape_prism(shape), by) for shape in obstacle.shapes)


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


def _parts_of(pieces: Prisms, holders: Sequence[Holder]) -> int:
    """Return how many things that touch nothing of each other some pieces are, held ones as one."""
    held = [piece for piece in pieces if any(holder.holds([piece]) for holder in holders)]
    count, loose = (1 if held else 0), [piece for piece in pieces if piece not in held]
    reached = held
    while loose or reached:
        if not reached:
            count, reached = count + 1, [loose.pop()]
        reached = list(_touching(reached.pop(), loose)) + reached
        loose = [piece for piece in loose if piece not in reached]
    return count


def _touching(piece: Prism, others: Sequence[Prism]) -> Iterator[Prism]:
    return (other for other in others if _meet(piece, other))


def _meet(one: Prism, other: Prism) -> bool:
    if bounds_gap(one.bounds, other.bounds) > LENGTH_EPS_MM:
        return False
    return clearance([one], [other]).mm <= LENGTH_EPS_MM
