"""What placed parts take up in the views: the solid ones among their solids, as rectangles."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from app.drawing.frame import union_bounds
from geometry.measures.prism import whole_bounds

if TYPE_CHECKING:
    from app.drawing.frame import BoardFrame, ViewFrame
    from app.drawing.primitives import Bounds
    from geometry.measures.prism import Bounds as Block
    from geometry.scene import Scene


def part_rectangle(scene: Scene, view: ViewFrame, part_id: str) -> Bounds | None:
    """Return the rectangle of a part in a view; None where nothing of it is placed."""
    block = _block(scene, (part_id,))
    return view.box(block) if block is not None else None


def extent(scene: Scene, frame: BoardFrame) -> Bounds:
    """Return the views with all parts, of which one may stand out of the enclosure (mm)."""
    block = _block(scene, scene.placed)
    if block is None:
        return frame.bounds
    return union_bounds([frame.bounds, *(view.box(block) for view in frame.views)])


def _block(scene: Scene, part_ids: Iterable[str]) -> Block | None:
    solids = (solid for one in part_ids for solid in scene.solids_of.get(one, ()))
    prisms = [prism for solid in solids if solid.hard for prism in solid.prisms]
    return whole_bounds(prisms) if prisms else None
