"""Side and bottom view with dimensions, balloons and item references, put together on paper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.drawing.frame import BoardFrame, BoardSettings
from app.drawing.primitives import XY, Bounds, Group, Ink, LineType, Text
from app.sheet.callouts import Callout, Seats, callout_primitives, seat
from app.sheet.content import VERDICT_INK, ListedPart, listed_parts, numbered_findings
from app.sheet.dimension_lines import Span, lane_primitives, lanes_depth_mm, lanes_of
from app.sheet.item_labels import item_labels
from app.sheet.paper_view import PaperView, core_box, view_groups
from app.sheet.scaled import moved
from app.sheet.stack_dimensions import span_groups
from geometry.finding import Finding, Verdict

if TYPE_CHECKING:
    from app.drawing.frame import Projection
    from app.sheet.scale import Scale
    from geometry.checks.runner import Checked
    from geometry.solid import Solid

TITLE_MM = 2.5
_TITLE_ROOM_MM = 6.0
_VIEW_GAP_MM = 8.0
_EDGE_MM = 2.0


@dataclass(frozen=True)
class ViewDrawing:
    """Both views from (0, 0) to `size` (mm on paper), with the middles of findings' balloons."""

    groups: tuple[Group, ...]
    size: XY
    balloons: Mapping[int, XY]
    projection: Projection


@dataclass(frozen=True)
class _Annotated:
    """One view with all that stands round it; `box` is what it takes up, its origin at (0, 0)."""

    groups: tuple[Group, ...]
    box: Bounds
    balloons: Mapping[int, XY]


def enclosure_mm(checked: Checked, scale: Scale) -> XY:
    """Return the room that the two bare views need at a scale (mm on paper)."""
    views = _paper_views(checked, scale)
    return (max(one.size[0] for one in views), sum(one.size[1] for one in views))


def _paper_views(checked: Checked, scale: Scale) -> tuple[PaperView, ...]:
    """Return the views from the top of the sheet down."""
    layout = checked.scene.layout
    frame = BoardFrame.of(layout, BoardSettings(projection=layout.settings.projection))
    return tuple(
        PaperView(view, scale.factor) for view in sorted(frame.views, key=lambda v: v.rect[1])
    )


def draw_views(checked: Checked, scale: Scale) -> ViewDrawing:
    """Draw both views, lined up as ISO 5456-2 has them, with all that belongs to them."""
    views = _paper_views(checked, scale)
    shares = _share_out(checked, views)
    parts = listed_parts(checked.scene.layout)
    annotated = []
    shown: set[str] = set()
    for view in sorted(views, key=lambda one: one.frame.name != "side"):
        drawn, labelled = _annotate(checked, view, shares[view.frame.name], parts, frozenset(shown))
        shown |= labelled
        annotated.append((view, drawn))
    annotated.sort(key=lambda pair: views.index(pair[0]))
    left = min(one.box[0] for _, one in annotated)
    groups: list[Group] = []
    balloons: dict[int, XY] = {}
    y = 0.0
    for _, one in annotated:
        by = (-left, y - one.box[1])
        groups += [_moved_group(group, by) for group in one.groups]
        balloons |= {n: (at[0] + by[0], at[1] + by[1]) for n, at in one.balloons.items()}
        y += one.box[3] - one.box[1] + _VIEW_GAP_MM
    width = max(one.box[2] for _, one in annotated) - left
    projection = checked.scene.layout.settings.projection
    return ViewDrawing(tuple(groups), (width, y - _VIEW_GAP_MM), balloons, projection)


def placed_groups(views: ViewDrawing, at: XY) -> tuple[tuple[Group, ...], Mapping[int, XY]]:
    """Return the views' groups and their balloons moved to a place on the sheet."""
    groups = tuple(_moved_group(group, at) for group in views.groups)
    return groups, {n: (x + at[0], y + at[1]) for n, (x, y) in views.balloons.items()}


def _moved_group(group: Group, by: XY) -> Group:
    return Group(group.key, tuple(moved(one, by) for one in group.primitives), group.level)


def _share_out(
    checked: Checked, views: Sequence[PaperView]
) -> dict[str, list[tuple[int, Finding]]]:
    """Give every finding's balloon to one view: to the one that shows its shift or direction.

    What is parted along y shows only from below; all else is pointed at in the side view.
    """
    shares: dict[str, list[tuple[int, Finding]]] = {view.frame.name: [] for view in views}
    for number, finding in numbered_findings(checked):
        across = finding.shift is not None and finding.shift[1] != 0.0
        shares["bottom" if across else "side"].append((number, finding))
    return shares


def _annotate(
    checked: Checked,
    view: PaperView,
    findings: Sequence[tuple[int, Finding]],
    parts: Sequence[ListedPart],
    shown: frozenset[str],
) -> tuple[_Annotated, frozenset[str]]:
    """Draw one view with what stands round it; `shown` names parts rows labelled already."""
    groups = list(view_groups(checked, view))
    core = core_box(view, tuple(groups))
    callouts = [_balloon(number, finding, view) for number, finding in findings]
    references = _references(checked, parts)
    texts, done = item_labels(checked, view, references, [one.target for one in callouts])
    labelled = shown | {references[key] for key in done}
    if view.frame.name == "bottom":
        callouts += _pointed_at(checked, view, references, labelled)
    seats = seat(callouts, core)
    lanes = {edge: lanes_of(span_groups(checked, view, edge)) for edge in ("top", "left")}
    box = _box(core, seats, lanes)
    groups.append(Group(f"labels:{view.frame.name}", texts))
    for edge, spans in lanes.items():
        drawn = lane_primitives(spans, edge, core)
        groups.append(Group(f"dimensions:{view.frame.name}:{edge}", drawn))
    for one in callouts:
        groups.append(Group(one.key, callout_primitives(one, seats.places[one.key])))
    title = Text((0.0, box[1] + TITLE_MM), view.frame.title, TITLE_MM, Ink.MUTED, bold=True)
    groups.append(Group(f"title:{view.frame.name}", (title,)))
    balloons = {number: seats.places[f"finding:{number}"] for number, _ in findings}
    return _Annotated(tuple(groups), box, balloons), frozenset(labelled)


def _box(core: Bounds, seats: Seats, lanes: Mapping[str, list[list[Span]]]) -> Bounds:
    """Return the rectangle that a view takes up with its lanes, balloons and title."""
    left = core[0] - lanes_depth_mm(lanes["left"])
    top = core[1] - lanes_depth_mm(lanes["top"]) - _TITLE_ROOM_MM
    along_x = [end for lane in lanes["top"] for span in lane for end in span.reach]
    along_y = [end for lane in lanes["left"] for span in lane for end in span.reach]
    ends_x = [place[0] for place in seats.places.values()]
    return (
        min([left, *along_x]),
        min([top, *(y - _EDGE_MM - _TITLE_ROOM_MM for y in along_y)]),
        max([core[2] + max(seats.right_mm, _EDGE_MM), *along_x, *(x + 4.0 for x in ends_x)]),
        max([core[3] + max(seats.below_mm, _EDGE_MM), *along_y]),
    )


def _balloon(number: int, finding: Finding, view: PaperView) -> Callout:
    tight = finding.verdict is Verdict.TIGHT
    return Callout(
        f"finding:{number}",
        str(number),
        view.at(finding.place),
        VERDICT_INK[finding.verdict],
        LineType.DASHED if tight else LineType.CONTINUOUS,
    )


def _references(checked: Checked, parts: Sequence[ListedPart]) -> dict[str, str]:
    """Return the item reference of each placed id, and of each fitting by its solid's id."""
    by_id = {one_id: part.reference for part in parts for one_id in part.ids}
    references: dict[str, str] = {}
    for owner, solids in checked.scene.solids_of.items():
        references[owner] = by_id[owner]
        for solid in solids:
            suffix = solid.id.removeprefix(f"{owner}/fitting:")
            key = f"{owner} port {suffix}"
            if suffix != solid.id and key in by_id:
                references[solid.id] = by_id[key]
    return references


def _pointed_at(
    checked: Checked, view: PaperView, references: Mapping[str, str], labelled: frozenset[str]
) -> list[Callout]:
    """Return references outside the view for the parts that got none inside either view."""
    callouts: dict[str, Callout] = {}
    solids: dict[str, Solid] = {}
    for owner, owned in checked.scene.solids_of.items():
        for solid in owned:
            if solid.hard:
                solids.setdefault(owner, solid)
                solids[solid.id] = solid
    for key, reference in references.items():
        if reference in labelled or reference in callouts or key not in solids:
            continue
        box = view.box(solids[key].bounds)
        middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
        callouts[reference] = Callout(f"item:{reference}", reference, middle)
    return list(callouts.values())
