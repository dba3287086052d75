"""Hidden edges: what is left of an outline where something nearer stands before it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from app.drawing.primitives import Ink, LineType, Path, Primitive
from app.drawing.silhouettes import outline_in, overlaps, polygon_of

if TYPE_CHECKING:
    from app.drawing.drafting import Drafting
    from app.drawing.frame import ViewFrame
    from app.drawing.owners import Shown
    from app.drawing.primitives import Bounds

INSET_PX = 1.5
"""Hidden edges this near to the border of what hides them coincide with a visible edge."""

SHORTEST_PX = 4.0


def nearer_owners(
    ordered: tuple[Shown, ...], boxes: tuple[Bounds, ...]
) -> tuple[tuple[Shown, ...], ...]:
    """Return for each owner, painted in this order, those that come later and cross its box."""
    return tuple(
        tuple(
            other
            for other, over in zip(ordered[place + 1 :], boxes[place + 1 :], strict=True)
            if overlaps(box, over)
        )
        for place, box in enumerate(boxes)
    )


def hidden_primitives(
    shown: Shown, nearer: tuple[Shown, ...], view: ViewFrame, drafting: Drafting
) -> tuple[Primitive, ...]:
    """Return the hidden edges of an owner as dashed narrow lines (ISO 128-2, 02.1)."""
    own = [outline_in(view, prism) for solid in shown.hard for prism in solid.prisms]
    over = [
        polygon_of(outline)
        for other in nearer
        if other.covers(view)
        for solid in other.hard
        for prism in solid.prisms
        for outline in (outline_in(view, prism),)
        if any(overlaps(outline.bounds(), one.bounds()) for one in own)
    ]
    if not over:
        return ()
    inset = INSET_PX * drafting.unit_mm
    cover = shapely.union_all(over).buffer(-inset, join_style="mitre")
    outline = shapely.union_all([polygon_of(one) for one in own]).boundary
    lines = shapely.get_parts(shapely.line_merge(shapely.intersection(outline, cover)))
    stroke = drafting.narrow(Ink.HIDDEN, LineType.DASHED)
    return tuple(
        Path(tuple(line.coords), stroke)
        for line in lines.tolist()
        if line.geom_type == "LineString" and line.length > SHORTEST_PX * drafting.unit_mm
    )
