"""What of a stacked item lies bare: not covered, seen along its stack, by what lies over it."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from geometry.measures.pose import Way
from geometry.measures.prism import PLANE, Bounds, Prism, Rect, Round
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM


def uncovered_prisms(
    prisms: Sequence[Prism], covers: Sequence[Solid], way: Way
) -> tuple[Prism, ...]:
    """Return what of an item's prisms is not covered by solids that reach farther along `way`.

    Boxes are cut; other prisms count whole unless their bounds are covered. Of round covers the
    rectangle within them counts, and a polygon covers nothing. What so counts as bare too much
    changes no least depth: whatever is ahead of it is met by its cover before.
    """
    over = [
        (p.bounds, covered)
        for solid in covers
        for p in solid.prisms
        for covered in [_covered(p, way)]
        if covered is not None
    ]
    bare: list[Prism] = []
    for prism in prisms:
        far = _far_end(prism.bounds, way)
        own = _across(prism.bounds, way)
        left = [own]
        for bounds, covered in over:
            if not left:
                break
            if _far_end(bounds, way) > far - LENGTH_EPS_MM:
                left = [piece for rect in left for piece in _minus(rect, covered)]
        if left == [own] or (left and not prism.is_box):
            bare.append(prism)
        else:
            ends = (prism.bounds[way.axis], prism.bounds[way.axis + 3])
            bare += [Prism(way.axis, piece, *ends) for piece in left]
    return tuple(bare)


def _covered(prism: Prism, way: Way) -> Rect | None:
    """Return a rectangle that a prism covers, seen along a direction; None where it has none."""
    outline = prism.outline
    if prism.axis != way.axis or isinstance(outline, Rect):
        return _across(prism.bounds, way)
    if not isinstance(outline, Round):
        return None
    a, b = sorted((outline.a0, outline.a1)), sorted((outline.b0, outline.b1))
    half = outline.r / sqrt(2)
    return Rect(a[0] - half, b[0] - half, a[1] + half, b[1] + half)


def _across(bounds: Bounds, way: Way) -> Rect:
    i, j = PLANE[way.axis]
    return Rect(bounds[i], bounds[j], bounds[i + 3], bounds[j + 3])


def _far_end(bounds: Bounds, way: Way) -> float:
    return bounds[way.axis + 3] if way.sign > 0 else -bounds[way.axis]


def _minus(rect: Rect, cut: Rect) -> list[Rect]:
    """Return a rectangle less another as rectangles; slivers within the tolerance are dropped."""
    a0, a1 = max(rect.a0, cut.a0), min(rect.a1, cut.a1)
    b0, b1 = max(rect.b0, cut.b0), min(rect.b1, cut.b1)
    if a1 - a0 <= LENGTH_EPS_MM or b1 - b0 <= LENGTH_EPS_MM:
        return [rect]
    pieces = (
        Rect(rect.a0, rect.b0, a0, rect.b1),
        Rect(a1, rect.b0, rect.a1, rect.b1),
        Rect(a0, rect.b0, a1, b0),
        Rect(a0, b1, a1, rect.b1),
    )
    return [p for p in pieces if p.a1 - p.a0 > LENGTH_EPS_MM and p.b1 - p.b0 > LENGTH_EPS_MM]
