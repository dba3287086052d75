"""Boxes, circles and stadiums of one axis in closed form.

Each is a block grown by a radius across that axis, so the difference of two of them is one too.
"""

from __future__ import annotations

from math import sqrt

from geometry.measures.prism import PLANE, Core, Prism
from geometry.measures.strips import Span
from geometry.measures.tolerance import LENGTH_EPS_MM


def common_axis(p: Prism, q: Prism) -> int | None:
    """Return the axis along which both are pushed; a box goes along with any."""
    if p.is_box or p.axis == q.axis:
        return q.axis
    return p.axis if q.is_box else None


def core_span(p: Core, q: Core, along: int, across: int) -> Span | None:
    """Return the shifts of `p` along one axis at which it shares room with `q`.

    `along` and `across` are the two axes of the plane of the outlines. None when they pass each
    other, or touch by no more than the length tolerance across.
    """
    r = p[6] + q[6]
    beside = max(q[across] - p[across + 3], p[across] - q[across + 3])
    if r - beside <= LENGTH_EPS_MM:
        return None
    lo, hi = q[along] - p[along + 3], q[along + 3] - p[along]
    if not r:
        return lo, hi
    half = sqrt(r * r - beside * beside) if beside > 0.0 else r
    return lo - half, hi + half


def core_gap(p: Core, q: Core, axis: int) -> float:
    """Return the least distance of two (mm) that are pushed along `axis`."""
    i, j = PLANE[axis]
    a = max(q[i] - p[i + 3], p[i] - q[i + 3], 0.0)
    b = max(q[j] - p[j + 3], p[j] - q[j + 3], 0.0)
    flat = max(sqrt(a * a + b * b) - p[6] - q[6], 0.0)
    along = max(q[axis] - p[axis + 3], p[axis] - q[axis + 3])
    return sqrt(flat * flat + along * along) if along > 0.0 else flat
