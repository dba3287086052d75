"""What a prism becomes when it is pushed over a distance or grown by a margin: a prism again."""

from __future__ import annotations

from math import acos, ceil, cos, pi, sin

from geometry.measures.pose import Way
from geometry.measures.prism import PLANE, Outline, Poly, Prism, Rect, Round

SWEPT_ROUND_EXCESS_MM = 1e-3
"""How far the polygon of a round end may stand outside the true arc; it never falls inside."""

MITRE_LIMIT = 8.0
"""Corners sharper than about 14 degrees are cut off this many margins away, still outside."""


def swept(prism: Prism, way: Way, distance_mm: float) -> Prism:
    """Return the room that `prism` sweeps when pushed along `way` over a distance (mm).

    Exact, except a stadium pushed across its long side: its rounds become polygon corners that
    stand outside the arc by at most `SWEPT_ROUND_EXCESS_MM`, so the room is never understated.
    Raises ValueError for a negative distance.
    """
    if distance_mm < 0:
        raise ValueError(f"a sweep goes forward, not over {distance_mm} mm")
    if distance_mm == 0:
        return prism
    push = way.sign * distance_mm
    if way.axis == prism.axis:
        return Prism(prism.axis, prism.outline, prism.lo + min(push, 0), prism.hi + max(push, 0))
    along = PLANE[prism.axis].index(way.axis)
    return Prism(prism.axis, _swept_outline(prism.outline, along, push), prism.lo, prism.hi)


def _swept_outline(o: Outline, along: int, push: float) -> Outline:
    back, ahead = min(push, 0.0), max(push, 0.0)
    if isinstance(o, Rect):
        if along == 0:
            return Rect(o.a0 + back, o.b0, o.a1 + ahead, o.b1)
        return Rect(o.a0, o.b0 + back, o.a1, o.b1 + ahead)
    if isinstance(o, Round):
        if along == 0 and o.b0 == o.b1:
            return Round(min(o.a0, o.a1) + back, o.b0, max(o.a0, o.a1) + ahead, o.b1, o.r)
        if along == 1 and o.a0 == o.a1:
            return Round(o.a0, min(o.b0, o.b1) + back, o.a1, max(o.b0, o.b1) + ahead, o.r)
        return _rounded_rectangle(o, along, back, ahead)
    return _swept_polygon(o, along, push)


def _rounded_rectangle(o: Round, along: int, back: float, ahead: float) -> Poly:
    a0, a1 = min(o.a0, o.a1), max(o.a0, o.a1)
    b0, b1 = min(o.b0, o.b1), max(o.b0, o.b1)
    if along == 0:
        a0, a1 = a0 + back, a1 + ahead
    else:
        b0, b1 = b0 + back, b1 + ahead
    # Tangents at equal angles: between two of them the corner stands r / cos(half step) from
    # the centre, so the step follows from the excess allowed.
    half = acos(o.r / (o.r + SWEPT_ROUND_EXCESS_MM))
    steps = max(2, ceil(pi / 4 / half))
    half = pi / 4 / steps
    reach = o.r / cos(half)
    corners = ((a1, b1), (a0, b1), (a0, b0), (a1, b0))
    points = []
    for quarter, (a, b) in enumerate(corners):
        # The flat sides stay exact: each quarter starts and ends on its own tangent point.
        start = quarter * pi / 2
        points.append((a + o.r * cos(start), b + o.r * sin(start)))
        for k in range(steps):
            angle = start + (2 * k + 1) * half
            points.append((a + reach * cos(angle), b + reach * sin(angle)))
        points.append((a + o.r * cos(start + pi / 2), b + o.r * sin(start + pi / 2)))
    return Poly(tuple(points))


def _swept_polygon(o: Poly, along: int, push: float) -> Poly:
    import numpy as np
    import shapely

    da, db = (push, 0.0) if along == 0 else (0.0, push)
    moved = shapely.transform(o.polygon, lambda xy: xy + np.array((da, db)))
    parts = [o.polygon, moved]
    for ring in (o.shell, *o.holes):
        for p, q in zip(ring, (*ring[1:], ring[0]), strict=True):
            if p[1 - along] != q[1 - along]:
                far = ((q[0] + da, q[1] + db), (p[0] + da, p[1] + db))
                parts.append(shapely.Polygon((p, q, *far)))
    return poly_of(shapely.union_all(parts))


def poly_of(polygon: object) -> Poly:
    """Return a shapely polygon as an outline.

    Raises ValueError when it is not one single polygon.
    """
    import shapely

    if not isinstance(polygon, shapely.Polygon) or polygon.is_empty:
        raise ValueError("the outline is not one single polygon")
    return Poly(
        tuple((a, b) for a, b in polygon.exterior.coords[:-1]),
        tuple(tuple((a, b) for a, b in ring.coords[:-1]) for ring in polygon.interiors),
    )


def grown(prism: Prism, margin_mm: float) -> Prism:
    """Return `prism` with a margin all round, corners mitred: never less than the margin.

    Raises ValueError for a negative margin.
    """
    if margin_mm < 0:
        raise ValueError(f"a margin of {margin_mm} mm does not grow anything")
    m = margin_mm
    o = prism.outline
    outline: Outline
    if isinstance(o, Rect):
        outline = Rect(o.a0 - m, o.b0 - m, o.a1 + m, o.b1 + m)
    elif isinstance(o, Round):
        outline = Round(o.a0, o.b0, o.a1, o.b1, o.r + m)
    elif m == 0:
        outline = o
    else:
        outline = poly_of(o.polygon.buffer(m, join_style="mitre", mitre_limit=MITRE_LIMIT))
    return Prism(prism.axis, outline, prism.lo - m, prism.hi + m)
