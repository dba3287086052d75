"""Hole patterns of parts and zones in world coordinates, and which of them are near a place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np

from catalog.parts import part_cells, top_cells
from catalog.shapes import Cell, mount_sizes
from geometry.layout import Side
from geometry.measures.broadphase import Floats
from geometry.measures.pose import Pose, Vec, Way
from geometry.part_solids import seat_thickness_mm
from geometry.placement import Placed, ZoneFrame
from geometry.references import SIDES
from geometry.scene import Scene


@dataclass(frozen=True)
class Holes:
    """A hole pattern in world coordinates.

    `out` points off the face in which it lies. `slots` gives, by world axis, the least and the
    most room of its slots.
    """

    at: Vec
    out: Way
    mounts: frozenset[tuple[float, float]]
    name: str
    slots: tuple[tuple[int, float, float], ...] = ()


def part_holes(one: Placed) -> Iterator[Holes]:
    """Yield the holes of a part, in its seat face and in its far face."""
    far = seat_thickness_mm(one.part)
    for cell in part_cells(one.part):
        yield _cell_holes(one.pose, cell, 0.0, -one.pose.z, one.part.name)
    for cell in top_cells(one.part):
        yield _cell_holes(one.pose, cell, far, one.pose.z, one.part.name)


@dataclass(frozen=True)
class Patterns:
    """Hole patterns that point in one direction, each with the id of the part that has it.

    `least` and `most` are the ends of their slots, shape (n, 3), in world coordinates.
    """

    holes: tuple[tuple[str | None, Holes], ...]
    least: Floats
    most: Floats

    @staticmethod
    def of(holes: Sequence[tuple[str | None, Holes]]) -> Patterns:
        """Return patterns gathered."""
        least = np.array([one.at for _, one in holes])
        most = least.copy()
        for row, (_, one) in enumerate(holes):
            for axis, low, high in one.slots:
                least[row, axis] += low
                most[row, axis] += high
        return Patterns(tuple(holes), least, most)

    def near(self, at: Vec, axes: Sequence[int], reach_mm: float) -> list[tuple[str | None, Holes]]:
        """Return those within whose reach a screw is at a place, along some axes."""
        close = np.ones(len(self.holes), dtype=bool)
        for axis in axes:
            close &= self.least[:, axis] <= at[axis] + reach_mm
            close &= self.most[:, axis] >= at[axis] - reach_mm
        return [self.holes[row] for row in np.flatnonzero(close)]


_known: WeakKeyDictionary[Scene, dict[Way, Patterns]] = WeakKeyDictionary()
"""A drag asks for the same scene's at every move of the pointer.

Threads that ask at once may both look, and either's find will do.
"""


def holes_of(scene: Scene) -> dict[Way, Patterns]:
    """Return the hole patterns of a scene, of its zones and of its placed parts, by direction."""
    known = _known.get(scene)
    if known is None:
        by_way: dict[Way, list[tuple[str | None, Holes]]] = {}
        for owner, holes in _every_hole(scene):
            by_way.setdefault(holes.out, []).append((owner, holes))
        known = _known[scene] = {way: Patterns.of(holes) for way, holes in by_way.items()}
    return known


def _every_hole(scene: Scene) -> Iterator[tuple[str | None, Holes]]:
    for frame in scene.frames.values():
        if frame.present:
            for side in SIDES:
                yield from ((None, holes) for holes in _zone_holes(scene, frame, side))
    for one in scene.placed.values():
        yield from ((one.id, holes) for holes in part_holes(one))


def _zone_holes(scene: Scene, frame: ZoneFrame, side: Side) -> Iterator[Holes]:
    plate = frame.zone.side(side)
    if plate is None:
        return
    out = frame.out_of_plate(side)
    level = plate.plate_mm if side == "inner" else -plate.plate_mm
    for cell in frame.zone.cells:
        slots = (
            _world_slot(frame.pose.x, cell.slot_u_mm),
            _world_slot(frame.pose.y, cell.slot_v_mm),
        )
        holes = _cell_holes(frame.pose, cell, level, out, scene.name_of(frame.zone.id))
        yield Holes(holes.at, out, holes.mounts, holes.name, slots)


def _world_slot(own: Way, slot: tuple[float, float]) -> tuple[int, float, float]:
    ends = sorted((own.sign * slot[0], own.sign * slot[1]))
    return (own.axis, ends[0], ends[1])


def _cell_holes(pose: Pose, cell: Cell, level: float, out: Way, name: str) -> Holes:
    at = pose.point((cell.u_mm, cell.v_mm, level))
    return Holes(at, out, mount_sizes(cell.accepts), name)
