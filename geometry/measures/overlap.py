"""Overlap: the room that two solids share, as a volume, as a parting shift, seen in a view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geometry.measures.pose import Vec, Way
from geometry.measures.prism import Prism
from geometry.measures.regions import overlap_regions
from geometry.measures.shifts import Surroundings, bounded
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.measures.volume import overlap_volume_mm3

__all__ = [
    "SENSES",
    "Shift",
    "overlap_regions",
    "overlap_volume_mm3",
    "parting_shift",
    "shares_room",
    "ways_out_mm",
]


@dataclass(frozen=True, slots=True)
class Shift:
    """A move along one axis by `mm`."""

    way: Way
    mm: float

    @property
    def vector(self) -> Vec:
        """The move as a vector (mm)."""
        x, y, z = self.way.vector
        return (x * self.mm, y * self.mm, z * self.mm)


def parting_shift(a: Sequence[Prism], b: Sequence[Prism]) -> Shift | None:
    """Return the least single-axis shift of solid `a` that parts it from solid `b`.

    None when they share no room beyond the length tolerance. Forbidden shifts are united over
    all prism pairs of a direction, so clearing one pair never enters another, and a pocket
    counts as parted. Ties (within the tolerance) go to x, y, z, then to minus before plus.
    """
    return least_way_out(Surroundings.between(bounded(a), bounded(b)))


def least_way_out(around: Surroundings) -> Shift | None:
    """Return the least shift that leaves all forbidden intervals, None when 0 is free."""
    nearest = around.nearest_end()
    if nearest is None:
        return None
    mm = around.ends[nearest]
    for k in range(nearest):
        while around.ends[k] <= mm + LENGTH_EPS_MM:
            if not around.push(k):
                return Shift(SENSES[k], around.ends[k])
    return Shift(SENSES[nearest], mm)


SENSES = tuple(Way(axis, sign) for axis in (0, 1, 2) for sign in (-1, 1))
"""The six ways along the axes, in the order in which the first of equals is taken."""


def ways_out_mm(a: Sequence[Prism], b: Sequence[Prism]) -> tuple[float, ...] | None:
    """Return how far solid `a` has to go along each of `SENSES` to leave solid `b` (mm).

    None when they share no room.
    """
    around = Surroundings.between(bounded(a), bounded(b))
    if around.nearest_end() is None:
        return None
    for end in range(len(SENSES)):
        while around.push(end):
            pass
    return tuple(around.ends)


def shares_room(a: Sequence[Prism], b: Sequence[Prism]) -> bool:
    """Whether two solids share room beyond the length tolerance."""
    return parting_shift(a, b) is not None
