"""Overlap: the room that two solids share, as a volume, as a parting shift, seen in a view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geometry.pose import Vec, Way
from geometry.prism import Prism
from geometry.regions import overlap_regions
from geometry.shifts import Line, lines
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
    return least_way_out(lines(a, b))


def least_way_out(every: tuple[Line, Line, Line]) -> Shift | None:
    """Return the least shift that leaves all forbidden intervals, None when 0 is free."""
    ends: list[float] = []
    for line in every:
        span = line.around_start()
        if span is None:
            return None
        ends += (-span[0], span[1])
    # Ends only move outwards, so only the nearest ones need be worked out to the last.
    final = [False] * 6
    while True:
        within = min(ends) + LENGTH_EPS_MM
        nearest = [k for k in range(6) if ends[k] <= within]
        k = next((k for k in nearest if not final[k]), None)
        if k is None:
            return Shift(Way(nearest[0] // 2, 1 if nearest[0] % 2 else -1), ends[nearest[0]])
        line, low = every[k // 2], k - k % 2
        if line.waiting and line.push((-ends[low], ends[low + 1]), 1 if k % 2 else -1):
            span = line.around_start()
            if span is not None:
                ends[low], ends[low + 1] = -span[0], span[1]
        else:
            final[k] = True


def shares_room(a: Sequence[Prism], b: Sequence[Prism]) -> bool:
    """Whether two solids share room beyond the length tolerance."""
    return parting_shift(a, b) is not None
