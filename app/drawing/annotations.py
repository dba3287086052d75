"""Where a finding shows: the view that shows it best, and the marks drawn there.

Blocked: the room shared is cross-hatched in every view in which it is seen. Tight: arrows across
the gap, and the room inside the margin hatched one way. A port end without room has its envelope
drawn in long-dashed double-dotted lines.
"""

from __future__ import annotations

from itertools import compress, count
from operator import is_not
from typing import TYPE_CHECKING

import numpy as np

from app.drawing.dimensions import arrow_head
from app.drawing.primitives import XY, LineType, Path, Primitive, Region
from app.drawing.silhouettes import drawn, inside, outline_in, regions_of
from app.drawing.verdict_words import VERDICT_HATCH, VERDICT_INK, VERDICT_LINE
from geometry.finding import Verdict
from geometry.measures.clearance import clearance
from geometry.measures.growth import grown
from geometry.measures.prism import PLANE, Prism, Rect
from geometry.measures.regions import overlap_rects, overlap_regions
from geometry.measures.solid import Role

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray
    from shapely import Geometry

    from app.drawing.drafting import Drafting
    from app.drawing.frame import BoardFrame, ViewFrame
    from app.drawing.owners import Shown
    from app.drawing.primitives import Bounds
    from geometry.finding import Finding
    from geometry.measures.pose import Vec
    from geometry.measures.prism import Bounds as Bounds3
    from geometry.measures.solid import Solid

TRUE_LENGTH_WEIGHT = 100
"""A view that shows the millimetres in true length beats one with a freer sight of the place."""

PORT_KIND = "port_end"


class Crowd:
    """All owners of a scene, to tell how many of them stand before places.

    Of a crowd `before` in which the same owners stood in the same order, what did not move is
    taken over.
    """

    def __init__(self, owners: tuple[Shown, ...], before: Crowd | None = None) -> None:
        self.owners = owners
        known = before.owners if before is not None else ()
        moved = list(compress(count(), map(is_not, owners, known)))
        self._places: Mapping[str, int]
        self._bounds: NDArray[np.float64]
        if (
            before is not None
            and len(known) == len(owners)
            and all(owners[place].owner == known[place].owner for place in moved)
        ):
            self._places, self._bounds = before._places, before._bounds.copy()
            for place in moved:
                self._bounds[:, place] = owners[place].bounds
        else:
            self._places = {shown.owner: place for place, shown in enumerate(owners)}
            bounds = np.array([shown.bounds for shown in owners]).reshape(-1, 6)
            # A row for each end, since numpy is fast along rows and there are many owners.
            self._bounds = np.ascontiguousarray(bounds.T)

    def those(self, ids: Iterable[str]) -> list[Shown]:
        """Return the owners of some ids, in their order."""
        places = [self._places[one] for one in ids if one in self._places]
        return [self.owners[place] for place in sorted(places)]

    def near(self, view: ViewFrame, box: Bounds) -> list[Shown]:
        """Return the owners whose rectangle in a view meets another one."""
        one, other = view.to_world(box[:2]), view.to_world(box[2:])
        meets = np.ones(len(self.owners), dtype=bool)
        for axis in (view.right.axis, view.down.axis):
            low, high = sorted((one[axis] or 0.0, other[axis] or 0.0))
            meets &= self._bounds[axis] < high
            meets &= low < self._bounds[axis + 3]
        return [self.owners[place] for place in meets.nonzero()[0].tolist()]

    def before(self, findings: Sequence[Finding], frame: BoardFrame) -> list[list[int]]:
        """Return by view how many owners, but for its own, stand before each finding's place."""
        at = np.array([finding.place for finding in findings]).T[:, :, None]
        past, short = self._bounds[:3, None] < at, at < self._bounds[3:, None]
        level = past & short
        own = [
            (row, self._places[one])
            for row, finding in enumerate(findings)
            for one in finding.ids
            if one in self._places
        ]
        if own:
            rows, places = zip(*own, strict=True)
            level[:, rows, places] = False
        counts = []
        for view in frame.views:
            axis = view.toward.axis
            one_axis, other = PLANE[axis]
            stands = level[one_axis] & level[other]
            stands &= (short if view.toward.sign > 0 else past)[axis]
            counts.append(np.add.reduce(stands, axis=1, dtype=np.int64).tolist())
        return counts


def best_view(finding: Finding, frame: BoardFrame, crowd: Crowd) -> ViewFrame:
    """Return the view that shows a finding best."""
    return best_views((finding,), frame, crowd)[0]


def best_views(
    findings: Sequence[Finding], frame: BoardFrame, crowd: Crowd
) -> tuple[ViewFrame, ...]:
    """Return for each finding the view that shows it best.

    First one that shows the shift which would mend it in true length, then the one in which
    fewest other parts of the `crowd` stand before the place; the side view wins ties.
    """
    if not findings:
        return ()
    before = crowd.before(findings, frame)

    def best(number: int) -> ViewFrame:
        shift = findings[number].shift
        ranks = [
            counts[number]
            - TRUE_LENGTH_WEIGHT * (shift is None or abs(shift[view.toward.axis]) == 0.0)
            for view, counts in zip(frame.views, before, strict=True)
        ]
        return frame.views[ranks.index(min(ranks))]

    return tuple(best(number) for number in range(len(findings)))


def finding_marks(
    finding: Finding,
    solids_of: Mapping[str, tuple[Solid, ...]],
    view: ViewFrame,
    drafting: Drafting,
) -> tuple[Primitive, ...]:
    """Return what marks a finding in a view: hatched room, the gap, the envelope of a port end.

    `solids_of` gives the solids of every owner of the scene.
    """
    known = [solids_of[one] for one in finding.ids if one in solids_of]
    out: list[Primitive] = []
    if finding.kind == PORT_KIND and known:
        out.extend(_envelope(finding, known[0], view, drafting))
    if len(known) >= 2:
        a, b = _prisms(known[0]), _prisms(known[1])
        if finding.verdict is Verdict.TIGHT:
            out.extend(_gap(finding, a, b, view, drafting))
            a = [grown(prism, finding.required_mm or 0.0) for prism in a]
        out.extend(_shared_room(finding.verdict, a, b, view, drafting))
    return tuple(out)


def _envelope(
    finding: Finding, solids: tuple[Solid, ...], view: ViewFrame, drafting: Drafting
) -> list[Primitive]:
    """Return the outlines of the port end or fitting that stands at a finding's place."""
    line = drafting.wide(VERDICT_INK[finding.verdict], LineType.DOUBLE_CHAIN)
    ported = [solid for solid in solids if solid.role in (Role.PORT_END, Role.FITTING)]
    reach = (finding.required_mm or 0.0) + max(0.0, -(finding.measured_mm or 0.0))
    near = [solid for solid in ported if _reaches(solid.bounds, finding.place, reach)]
    return [
        drawn(outline_in(view, prism), line) for solid in (near or ported) for prism in solid.prisms
    ]


def _reaches(b: Bounds3, at: Vec, by: float) -> bool:
    return all(b[k] - by <= at[k] <= b[k + 3] + by for k in range(3))


def _shared_room(
    verdict: Verdict, a: Sequence[Prism], b: Sequence[Prism], view: ViewFrame, drafting: Drafting
) -> list[Region]:
    """Return the room that two solids share, in the hatch and line type of a verdict."""
    ink = VERDICT_INK[verdict]
    line = drafting.narrow(ink, VERDICT_LINE[verdict])
    fill = drafting.hatch(ink, VERDICT_HATCH[verdict], 0.6)
    rects = apart(overlap_rects(a, b, view.toward.axis))
    if rects is not None:
        return [Region((_corners(rect, view),), line, fill) for rect in rects]
    return [
        region
        for polygon in overlap_regions(a, b, view.toward.axis)
        for region in regions_of(_on_board(polygon, view), line, fill)
    ]


def apart(rects: Sequence[Rect] | None) -> list[Rect] | None:
    """Return rectangles without those that lie in others; None where the rest do not keep apart."""
    if rects is None:
        return None
    out: list[Rect] = []
    for rect in sorted(set(rects), key=lambda r: -(r.a1 - r.a0) * (r.b1 - r.b0)):
        if any(inside(rect.bounds(), other.bounds()) for other in out):
            continue
        if any(
            rect.a0 <= other.a1
            and other.a0 <= rect.a1
            and rect.b0 <= other.b1
            and other.b0 <= rect.b1
            for other in out
        ):
            return None
        out.append(rect)
    return out


def _corners(rect: Rect, view: ViewFrame) -> tuple[XY, ...]:
    return tuple(
        _place(view, a, b)
        for a, b in (
            (rect.a1, rect.b0),
            (rect.a1, rect.b1),
            (rect.a0, rect.b1),
            (rect.a0, rect.b0),
        )
    )


def _place(view: ViewFrame, a: float, b: float) -> XY:
    """Return where a point of the plane in which one looks shows on the board."""
    i, j = PLANE[view.toward.axis]
    world = [0.0, 0.0, 0.0]
    world[i], world[j] = a, b
    return view.to_board((world[0], world[1], world[2]))


def _prisms(solids: tuple[Solid, ...]) -> list[Prism]:
    return [prism for solid in solids if solid.role is not Role.AIR for prism in solid.prisms]


def _on_board(polygon: Geometry, view: ViewFrame) -> Geometry:
    import shapely

    def place(points: list[list[float]]) -> list[XY]:
        return [_place(view, a, b) for a, b in points]

    return shapely.transform(polygon, place)


def _gap(
    finding: Finding,
    a: list[Prism],
    b: list[Prism],
    view: ViewFrame,
    drafting: Drafting,
) -> list[Primitive]:
    """Return a line with two arrow heads across the gap where it is seen in true length."""
    found = clearance(a, b, limit_mm=(finding.required_mm or 0.0) + 1.0)
    if found.point_a is None or found.point_b is None or found.mm <= 0.0:
        return []
    start, end = view.to_board(found.point_a), view.to_board(found.point_b)
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5
    if length < 0.9 * found.mm:
        return []
    along = (dx / length, dy / length)
    ink = VERDICT_INK[finding.verdict]
    tail = 2.2 * drafting.arrow_mm
    out_a = (start[0] - along[0] * tail, start[1] - along[1] * tail)
    out_b = (end[0] + along[0] * tail, end[1] + along[1] * tail)
    if length > 3 * drafting.arrow_mm:
        back = (-along[0], -along[1])
        heads = (arrow_head(start, back, ink, drafting), arrow_head(end, along, ink, drafting))
        return [Path((start, end), drafting.narrow(ink)), *heads]
    back = (-along[0], -along[1])
    return [
        Path((out_a, out_b), drafting.narrow(ink)),
        arrow_head(start, along, ink, drafting),
        arrow_head(end, back, ink, drafting),
    ]


def anchor_of(finding: Finding, view: ViewFrame) -> XY:
    """Return where a finding's leader ends in a view."""
    place: Vec = finding.place
    return view.to_board(place)
