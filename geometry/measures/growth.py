"""What a prism becomes when it is grown by a margin: a prism again."""

from __future__ import annotations

from geometry.measures.prism import Outline, Poly, Prism, Rect, Round

MITRE_LIMIT = 8.0
"""Corners sharper than about 14 degrees are cut off this many margins away, still outside."""


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
