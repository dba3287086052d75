"""Gaps between single prisms as plain figures: continuous where they begin to share room."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import inf, sqrt

from geometry.clearance import bounds_gap, prism_gap
from geometry.overlap import parting_shift
from geometry.pose import Way
from geometry.prism import Prism
from geometry.shifts import pair_shifts
from geometry.tolerance import LENGTH_EPS_MM

PairMeasure = Callable[[Prism, Prism], float]

NEAR_MM = 4.0
"""Of a wall with many pieces only those are looked at that come so near to the nearest one."""


def pair_gap_mm(p: Prism, q: Prism) -> float:
    """Return the signed gap of two prisms (mm): clearance, or minus the parting shift."""
    if p.is_box and q.is_box:
        a, b = p.bounds, q.bounds
        apart = [max(b[k] - a[k + 3], a[k] - b[k + 3]) for k in (0, 1, 2)]
        open_ = [one for one in apart if one > 0.0]
        return sqrt(sum(one * one for one in open_)) if open_ else max(apart)
    gap = prism_gap(p, q) if bounds_gap(p.bounds, q.bounds) < inf else inf
    if gap > 0.0:
        return gap
    shift = parting_shift([p], [q])
    return 0.0 if shift is None else -shift.mm


def pair_travel_mm(way: Way) -> PairMeasure:
    """Return the measure of how far one prism moves along `way` until it meets another (mm).

    Negative by how deep it stands in it; infinite where they never meet.
    """

    def measure(p: Prism, q: Prism) -> float:
        spans = pair_shifts(p, q, way.axis)
        ahead = [span if way.sign > 0 else (-span[1], -span[0]) for span in spans]
        return min((lo for lo, hi in ahead if hi > LENGTH_EPS_MM), default=inf)

    return measure


def least_mm(p: Prism, others: Iterable[Prism], measure: PairMeasure) -> float:
    """Return the least measure of a prism to the pieces of one solid."""
    ranked = sorted(((bounds_gap(p.bounds, q.bounds), k, q) for k, q in enumerate(others)))
    least = inf
    for bound, _, q in ranked:
        if bound >= least:
            break
        least = min(least, measure(p, q))
    return least
