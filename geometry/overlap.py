"""Overlap: the room that two solids share, as a volume, as a parting shift, seen in a view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geometry.pose import Vec, Way
from geometry.prism import Prism
from geometry.regions import overlap_regions
from geometry.shifts import around_start, solid_shifts
from geometry.tolerance import LENGTH_EPS_MM
from geometry.volume import overlap_volume_mm3

__all__ = ["Shift", "overlap_regions", "overlap_volume_mm3", "parting_shift", "shares_room"]


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
    if not _bounds_meet(a, b):
        return None
    best: Shift | None = None
    for axis in (0, 1, 2):
        span = around_start(solid_shifts(a, b, axis))
        if span is None:
            return None
        for sign, mm in ((-1, -span[0]), (1, span[1])):
            if best is None or mm < best.mm - LENGTH_EPS_MM:
                best = Shift(Way(axis, sign), mm)
    return best


def shares_room(a: Sequence[Prism], b: Sequence[Prism]) -> bool:
    """Whether two solids share room beyond the length tolerance."""
    return parting_shift(a, b) is not None


def _bounds_meet(a: Sequence[Prism], b: Sequence[Prism]) -> bool:
    for k in (0, 1, 2):
        low = max(min(p.bounds[k] for p in a), min(q.bounds[k] for q in b))
        high = min(max(p.bounds[k + 3] for p in a), max(q.bounds[k + 3] for q in b))
        if high - low <= LENGTH_EPS_MM:
            return False
    return True
