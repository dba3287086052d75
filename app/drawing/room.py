"""The enclosure in each view: walls cut and hatched, openings, and mount zones with their cells."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import shapely

from app.drawing.fontmetrics import text_width_mm
from app.drawing.labels import Line, crosses, text_box
from app.drawing.primitives import XY, Bounds, Fill, Ink, LineType, Path, Primitive, Text
from app.drawing.silhouettes import drawn, meets_any, outline_in, polygon_of, regions_of
from geometry.measures.pose import AXES
from geometry.part_solids import shape_prism

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.drawing.drafting import Drafting
    from app.drawing.frame import ViewFrame
    from catalog.enclosure import Enclosure, Opening
    from catalog.shapes import Cell, Shape
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


def faces_viewer(frame: ZoneFrame, view: ViewFrame) -> bool:
    """Whether one looks on the inner side of a zone, with what stands before it in between."""
    return frame.inward == view.toward


def zone_primitives(
    frame: ZoneFrame, view: ViewFrame, drafting: Drafting, *, empty: bool
) -> tuple[Primitive, ...]:
    """Return a mount zone: its border, the centre marks of its cells, its slots while empty."""
    zone = frame.zone
    face_on = frame.inward.axis == view.toward.axis
    behind = face_on and not faces_viewer(frame, view)
    line = drafting.narrow(Ink.ZONE, LineType.DOUBLE_CHAIN if behind else LineType.CONTINUOUS)
    corners = [(0.0, 0.0), (zone.length_mm, 0.0), (zone.length_mm, zone.width_mm),
               (0.0, zone.width_mm)]  # fmt: skip
    border = tuple(_at(frame, view, u, v) for u, v in corners)
    out: list[Primitive] = [Path(border, line, closed=True)]
    if not face_on:
        out[0] = Path((border[0], border[2]), drafting.wide(Ink.ZONE))
    for cell in zone.cells:
        centre = _at(frame, view, cell.u_mm, cell.v_mm)
        out.extend(_centre_mark(centre, drafting))
        if face_on and empty and not behind:
            pitch = max(mount.pitch_mm for mount in cell.accepts)
            out.extend(_holes(frame, view, drafting, cell, pitch))
    return tuple(out)


EDGE_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8)
"""Where along the line of a zone seen edge on its name may stand."""


def _at(frame: ZoneFrame, view: ViewFrame, u: float, v: float) -> XY:
    return view.to_board(frame.pose.point((u, v, 0.0)))


def _centre_mark(centre: XY, drafting: Drafting) -> tuple[Path, Path]:
    (x, y), half = centre, MARK_PX * drafting.unit_mm
    line = drafting.narrow(Ink.ZONE)
    return (
        Path(((x - half, y), (x + half, y)), line),
        Path(((x, y - half), (x, y + half)), line),
    )


class Hurdles(NamedTuple):
    """What a name keeps off: rectangles that are taken, and lines."""

    taken: Sequence[Bounds] = ()
    lines: Sequence[Line] = ()

    def leave_free(self, box: Bounds) -> bool:
        """Whether a rectangle neither lies on what is taken nor on a line."""
        return not meets_any(box, self.taken) and not any(crosses(one, box) for one in self.lines)


def zone_label(
    frame: ZoneFrame,
    name: str,
    view: ViewFrame,
    drafting: Drafting,
    hurdles: Hurdles,
) -> Text | None:
    """Return a zone's `name` inside its border, seen face on; None where there is no room.

    It keeps off what is taken, and no line runs through it.
    """
    zone = frame.zone
    if frame.inward.axis != view.toward.axis:
        return None
    cap = drafting.small_cap_mm
    corners = (_at(frame, view, 0.0, 0.0), _at(frame, view, zone.length_mm, zone.width_mm))
    (x0, x1), (y0, y1) = (sorted(p[k] for p in corners) for k in (0, 1))
    width = text_width_mm(name, cap)
    if width > x1 - x0 - cap or y1 - y0 < 2.5 * cap:
        return None
    left, middle, right = x0 + cap * 0.6 + width / 2, (x0 + x1) / 2, x1 - cap * 0.6 - width / 2
    heights = (y0 + cap * 1.1, y1 - cap * 1.1, y0 + (y1 - y0) * 0.3, y0 + (y1 - y0) * 0.7)
    for y in heights:
        for x in (left, right, middle):
            box = text_box((x, y), name, cap)
            if hurdles.leave_free(box):
                return Text((x, y), name, cap, Ink.ZONE, "middle", "middle", halo=True)
    return None


def zone_edge_label(
    frame: ZoneFrame,
    name: str,
    view: ViewFrame,
    drafting: Drafting,
    hurdles: Hurdles,
) -> Text | None:
    """Return a zone's `name` beside its line, seen edge on, outside the room, else in it.

    None where there is no room for it, or where the zone is not seen edge on.
    """
    inner = view.direction(frame.inward)
    if inner is None:
        return None
    zone, cap = frame.zone, drafting.small_cap_mm
    far = text_width_mm(name, cap) / 2 if inner[0] else 0.0
    for sign in (-1.0, 1.0):
        away = sign * (far + 1.4 * cap)
        for share in EDGE_SHARES:
            x, y = _at(frame, view, zone.length_mm * share, zone.width_mm * share)
            at = (x + inner[0] * away, y + inner[1] * away)
            box = text_box(at, name, cap)
            if hurdles.leave_free(box):
                return Text(at, name, cap, Ink.ZONE, "middle", "middle", halo=True)
    return None


def _holes(
    frame: ZoneFrame, view: ViewFrame, drafting: Drafting, cell: Cell, pitch_mm: float
) -> list[Primitive]:
    from geometry.measures.prism import Round

    out: list[Primitive] = []
    r = SLOT_ACROSS_MM / 2
    if r < 1.2 * drafting.unit_mm:
        return out
    for su in (-0.5, 0.5):
        for sv in (-0.5, 0.5):
            u, v = cell.u_mm + su * pitch_mm, cell.v_mm + sv * pitch_mm
            (u0, u1), (v0, v1) = cell.slot_u_mm, cell.slot_v_mm
            along_u = u1 - u0 >= v1 - v0
            ends = ((u + u0, v), (u + u1, v)) if along_u else ((u, v + v0), (u, v + v1))
            a, b = (_at(frame, view, *end) for end in ends)
            out.append(drawn(Round(*a, *b, r), drafting.narrow(Ink.ZONE)))
    return out
