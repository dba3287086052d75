"""The enclosure in each view: walls cut and hatched, openings, and mount zones with their cells."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from app.drawing.primitives import XY, Fill, Ink, LineType, Path, Primitive, Text
from app.drawing.silhouettes import drawn, outline_in, polygon_of, regions_of
from geometry.part_solids import shape_prism
from geometry.pose import AXES

if TYPE_CHECKING:
    from app.drawing.drafting import Drafting
    from app.drawing.frame import ViewFrame
    from catalog.enclosure import Enclosure, Opening
    from catalog.shapes import Shape
    from geometry.placement import ZoneFrame

WALL_WAYS = {"rear": "-x", "front": "+x", "access": "-y", "far": "+y", "floor": "-z", "roof": "+z"}
"""The direction that each wall faces, seen from inside the cavity."""

MARK_PX = 5.0
"""Half the length of a cell's centre mark."""

SLOT_ACROSS_MM = 4.5
"""Width of a slot: the medium hole for M4 of ISO 273."""


def wall_primitives(
    enclosure: Enclosure, view: ViewFrame, drafting: Drafting
) -> tuple[Primitive, ...]:
    """Return the walls as cut: outer shape less cavity, hatched, with openings left out."""
    outer = _union(enclosure.outer, view)
    cavity = _union(enclosure.cavity, view)
    wall = outer.difference(cavity)
    faces: list[Primitive] = []
    for opening in enclosure.openings:
        facing = WALL_WAYS[opening.wall]
        if AXES.index(facing[1]) == view.toward.axis:
            faces.append(_face_opening(opening, view, drafting))
        else:
            wall = wall.difference(polygon_of(outline_in(view, shape_prism(opening.shape))))
    line = drafting.wide(Ink.OUTLINE)
    return (
        *regions_of(cavity, None, Fill(Ink.PAPER)),
        *faces,
        *regions_of(wall, None, Fill(Ink.WALL)),
        *regions_of(wall, line, drafting.hatch(Ink.WALL, "diagonal", 0.6)),
    )


def _union(shapes: tuple[Shape, ...], view: ViewFrame) -> shapely.Geometry:
    return shapely.union_all([polygon_of(outline_in(view, shape_prism(s))) for s in shapes])


def _face_opening(opening: Opening, view: ViewFrame, drafting: Drafting) -> Primitive:
    """Return an opening seen face on: in the wall behind, or in the wall that was cut away.

    What lies before the cutting plane is drawn in long-dashed double-dotted lines (ISO 128-2,
    05.1).
    """
    behind = WALL_WAYS[opening.wall][0] != ("+" if view.toward.sign > 0 else "-")
    line_type = LineType.CONTINUOUS if behind else LineType.DOUBLE_CHAIN
    outline = outline_in(view, shape_prism(opening.shape))
    return drawn(outline, drafting.narrow(Ink.MUTED, line_type))


def zone_primitives(
    frame: ZoneFrame, view: ViewFrame, drafting: Drafting, *, empty: bool
) -> tuple[Primitive, ...]:
    """Return a mount zone: its border, the centre marks of its cells, its slots while empty."""
    zone = frame.zone
    face_on = frame.inward.axis == view.toward.axis
    line = drafting.narrow(Ink.ZONE)
    corners = [(0.0, 0.0), (zone.length_mm, 0.0), (zone.length_mm, zone.width_mm),
               (0.0, zone.width_mm)]  # fmt: skip
    border = tuple(_at(frame, view, u, v) for u, v in corners)
    out: list[Primitive] = [Path(border, line, closed=True)]
    if not face_on:
        out[0] = Path((border[0], border[2]), drafting.wide(Ink.ZONE))
    for cell in zone.cells:
        centre = _at(frame, view, cell.u_mm, cell.v_mm)
        out.extend(_centre_mark(centre, drafting))
        if face_on and empty:
            pitch = max(mount.pitch_mm for mount in cell.accepts)
            out.extend(_holes(frame, view, drafting, cell, pitch))
    if face_on and empty:
        out.append(_zone_label(zone.name, border, drafting))
    return tuple(out)


def _at(frame: ZoneFrame, view: ViewFrame, u: float, v: float) -> XY:
    return view.to_board(frame.pose.point((u, v, 0.0)))


def _centre_mark(centre: XY, drafting: Drafting) -> tuple[Path, Path]:
    (x, y), half = centre, MARK_PX * drafting.unit_mm
    line = drafting.narrow(Ink.ZONE)
    return (
        Path(((x - half, y), (x + half, y)), line),
        Path(((x, y - half), (x, y + half)), line),
    )


def _zone_label(name: str, border: tuple[XY, ...], drafting: Drafting) -> Text:
    left = min(p[0] for p in border) + drafting.cap_mm * 0.6
    top = min(p[1] for p in border) + drafting.cap_mm * 0.6
    return Text((left, top), name, drafting.small_cap_mm, Ink.ZONE, up="top")


def _holes(
    frame: ZoneFrame, view: ViewFrame, drafting: Drafting, cell: object, pitch_mm: float
) -> list[Primitive]:
    from geometry.prism import Round

    out: list[Primitive] = []
    r = SLOT_ACROSS_MM / 2
    if r < 1.2 * drafting.unit_mm:
        return out
    for su in (-0.5, 0.5):
        for sv in (-0.5, 0.5):
            u, v = cell.u_mm + su * pitch_mm, cell.v_mm + sv * pitch_mm  # type: ignore[attr-defined]
            (u0, u1), (v0, v1) = cell.slot_u_mm, cell.slot_v_mm  # type: ignore[attr-defined]
            along_u = u1 - u0 >= v1 - v0
            ends = ((u + u0, v), (u + u1, v)) if along_u else ((u, v + v0), (u, v + v1))
            a, b = (_at(frame, view, *end) for end in ends)
            out.append(drawn(Round(*a, *b, r), drafting.narrow(Ink.ZONE)))
    return out
