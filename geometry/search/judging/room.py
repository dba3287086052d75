"""What stands already when a search begins, as units: the enclosure, free parts, kept stacks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from geometry.depths import Depths
from geometry.layout import Layout, Side
from geometry.measures.broadphase import Bools, Floats
from geometry.measures.pose import Vec, Way
from geometry.measures.solid import Role, Solid
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.placement import Placed, ZoneFrame
from geometry.scene import Scene
from geometry.search.judging.bent import bent_reaches
from geometry.search.judging.prism_rows import NO_SHIFT
from geometry.search.judging.tolerant_kind import Kind
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.units import Units, UnitSet
from geometry.stack_sides import on_wall
from geometry.stackup.figures import Tolerances
from geometry.walls import OUTSIDE


@dataclass(frozen=True, eq=False)
class Room:
    """The solids of a scene, prism by prism; `solid[k]` is the number of the solid of unit `k`."""

    scene: Scene
    solids: tuple[Solid, ...]
    units: Units
    solid: npt.NDArray[np.intp]

    @classmethod
    def of(cls, scene: Scene, without: frozenset[str] = frozenset()) -> Room:
        """Gather all that stands but for some owners, and what lies beyond the walls."""
        stays = (s for s in scene.solids if s.owner not in without)
        return cls.holding(scene, (*stays, scene.walls.beyond))

    @classmethod
    def holding(cls, scene: Scene, solids: Sequence[Solid]) -> Room:
        """Gather some solids."""
        gathered = UnitSet()
        number: list[int] = []
        for k, one in enumerate(solids):
            for n, prism in enumerate(one.prisms):
                gathered.number(prism, one.role, f"{k}:{n}")
                number.append(k)
        return cls(scene, tuple(solids), gathered.units(), np.array(number, dtype=np.intp))

    def spread(self, of_solid: Bools) -> Bools:
        """Return a truth value of each solid for each of its units."""
        found: Bools = of_solid[self.solid]
        return found

    @cached_property
    def beyond(self) -> Bools:
        """Which solids lie beyond the walls."""
        return np.array([s.owner == OUTSIDE for s in self.solids], dtype=bool)

    @cached_property
    def outside(self) -> Bools:
        """Which solids stand outside the enclosure: feet, handles."""
        owners = {thing.id for thing in self.scene.layout.enclosure.outside}
        return np.array([s.owner in owners for s in self.solids], dtype=bool)

    def joint(self, owner: str) -> Bools:
        """Which solids belong to what holds something, so that it may touch them."""
        return np.array([s.owner == owner or owner in s.holds for s in self.solids], dtype=bool)

    def behind(self, frame: ZoneFrame, side: Side) -> Bools:
        """Which solids of the enclosure are wholly behind the seat of a stack on a side."""
        way = frame.out_of_plate(side)
        plate = frame.zone.outer if side == "outer" else frame.zone.inner
        seat = plate.plate_mm if plate is not None else 0.0
        face = frame.pose.shift[way.axis] + way.sign * seat
        return np.array([s.fixed and _is_behind(s, way, face) for s in self.solids], dtype=bool)

    @cached_property
    def tolerant(self) -> Tolerant:
        """The same solids with all that may be off in them, but for what lies beyond the walls."""
        tolerances = Tolerances(self.scene, NO_DEPTHS)
        kinds = [Kind.of(tolerances, s) for s in self.solids if s.owner != OUTSIDE]
        return Tolerant.of([[(kind, (0.0, 0.0, 0.0)) for kind in kinds]])


NO_DEPTHS = Depths((), {}, frozenset(), 0, {})
"""Stack-ups of gaps ask for no depths."""


def _is_behind(solid: Solid, way: Way, face_mm: float) -> bool:
    if way.sign > 0:
        return meets(face_mm, solid.bounds[way.axis + 3])
    return meets(solid.bounds[way.axis], face_mm)


def inside_cavity(solid: Solid, scene: Scene, by: Vec = NO_SHIFT) -> bool:
    """Whether a solid, moved on by so much, lies inside the bounds of the cavity.

    A wall then parts it from feet.
    """
    a = tuple(at + more for at, more in zip(solid.bounds, (*by, *by), strict=True))
    cavity = scene.walls.cavity
    inside = zip(a[:3], cavity[:3], a[3:], cavity[3:], strict=True)
    return all(meets(low, least) and meets(most, high) for low, least, high, most in inside)


def open_to_outside(layout: Layout, one: Placed) -> bool:
    """Whether an item stands on the outer side of a wall, where being outside is no fault."""
    return one.side == "outer" and on_wall(layout, one)


def reach_mm(mine: Units, theirs: Units, way: Way) -> npt.NDArray[np.float64]:
    """Return how far each of `mine` moves along a direction until it meets each of `theirs`.

    Infinite where they never meet; 0 where they touch or share room already. The least of each row
    is exact: by intervals for boxes, by the shifts of the travel measure for the rest.
    """
    a, b, axis, eps = mine.bounds, theirs.bounds, way.axis, LENGTH_EPS_MM
    met = np.ones((len(mine), len(theirs)), dtype=bool)
    for k in range(3):
        if k != axis:
            met &= b[None, :, k] - a[:, None, k + 3] < -eps
            met &= b[None, :, k + 3] - a[:, None, k] > eps
    if way.sign > 0:
        first = b[None, :, axis] - a[:, None, axis + 3]
        last = b[None, :, axis + 3] - a[:, None, axis]
    else:
        first = a[:, None, axis] - b[None, :, axis + 3]
        last = a[:, None, axis + 3] - b[None, :, axis]
    met &= last > eps
    met &= (theirs.role != _AIR)[None, :]
    out = np.where(met, np.maximum(first, 0.0), np.inf)
    bent = met & ~(mine.is_box[:, None] & theirs.is_box[None, :])
    # The nearest by bounds first: what they put farther off than what is met need not be known.
    sure = np.where(bent, np.inf, out).min(axis=1, initial=np.inf)
    maybe = np.where(bent, out, np.inf)
    every = np.arange(len(mine))
    while maybe.size:
        nearest = maybe.argmin(axis=1)
        rows = np.flatnonzero(maybe[every, nearest] < sure)
        if not len(rows):
            break
        columns = nearest[rows]
        out[rows, columns] = bent_reaches(mine, theirs, rows, columns, way)
        sure[rows] = np.minimum(sure[rows], out[rows, columns])
        maybe[rows, columns] = np.inf
    return out


def least_reach_mm(mine: Units, theirs: Units, way: Way) -> Floats:
    """Return how far each of `mine` moves along a direction until it meets any of `theirs`."""
    out = np.full(len(mine), np.inf)
    step = max(1, PAIRS_AT_ONCE // max(1, len(theirs)))
    for start in range(0, len(mine), step):
        some = np.arange(start, min(start + step, len(mine)), dtype=np.intp)
        out[some] = reach_mm(mine.some(some), theirs, way).min(axis=1, initial=np.inf)
    return out


PAIRS_AT_ONCE = 2**19
"""So many pairs of prisms are looked at at once, some tens of bytes each."""

_AIR = tuple(Role).index(Role.AIR)
