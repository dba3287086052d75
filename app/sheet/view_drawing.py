"""Side and bottom view with dimensions, balloons and item references, put together on paper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.drawing.annotations import best_view
from app.drawing.board import paper_drawing
from app.drawing.frame import BoardFrame, BoardSettings
from app.drawing.owners import owners_of
from app.drawing.primitives import XY, Bounds, Drawing, Group, Ink, Text
from app.drawing.views import far_to_near
from app.drawing.words import VERDICT_INK, numbered
from app.sheet.callouts import Callout, Seats, balloon_primitives, leader_primitives, seat
from app.sheet.dimension_lines import EDGES, Span, lane_primitives, lanes_depth_mm, lanes_of
from app.sheet.item_labels import item_labels
from app.sheet.item_references import listed_parts, solid_references
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
MOST_POINTED_AT = 16
"""More item references than this outside a view would crowd it."""


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


def _board_frame(checked: Checked) -> BoardFrame:
    layout = checked.scene.layout
    return BoardFrame.of(layout, BoardSettings(projection=layout.settings.projection))


def _paper_views(checked: Checked, scale: Scale) -> tuple[PaperView, ...]:
    """Return the views from the top of the sheet down."""
    views = sorted(_board_frame(checked).views, key=lambda view: view.rect[1])
    return tuple(PaperView(view, scale.factor) for view in views)


def draw_views(checked: Checked, scale: Scale) -> ViewDrawing:
    """Draw both views, lined up as ISO 5456-2 has them, with all that belongs to them."""
    views = _paper_views(checked, scale)
    shares = _share_out(checked, views)
    references = solid_references(checked.scene)
    board = paper_drawing(checked, _board_frame(checked), 1 / scale.factor)
    annotated = []
    shown: frozenset[str] = frozenset()
    for view in sorted(views, key=lambda one: one.frame.name != "side"):
        drawn, shown = _annotate(checked, board, view, shares[view.frame.name], references, shown)
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
    """Give every finding's balloon to the view that shows it best."""
    frame = _board_frame(checked)
    owners = owners_of(checked.scene)
    order = {view.frame.name: far_to_near(owners, view.frame) for view in views}
    shares: dict[str, list[tuple[int, Finding]]] = {view.frame.name: [] for view in views}
    for number, finding in numbered(checked.report):
        shares[best_view(finding, frame, order).name].append((number, finding))
    return shares


def _annotate(
    checked: Checked,
    board: Drawing,
    view: PaperView,
    findings: Sequence[tuple[int, Finding]],
    references: Mapping[str, str],
    shown: frozenset[str],
) -> tuple[_Annotated, frozenset[str]]:
    """Draw one view with what stands round it; `shown` are references that stand already."""
    name = view.frame.name
    groups = list(view_groups(board, view))
    core = core_box(view, tuple(groups))
    callouts = [_balloon(number, finding, view) for number, finding in findings]
    texts, done = item_labels(checked, view, references, [one.target for one in callouts])
    labelled = shown | {references[key] for key in done}
    if name == "bottom":
        callouts += _pointed_at(checked, view, references, labelled)
    seats = seat(callouts, core)
    lanes = {edge: lanes_of(span_groups(checked, view, edge)) for edge in EDGES}
    box = _box(core, seats, lanes)
    groups.append(Group(f"labels:{name}", texts))
    for edge, spans in lanes.items():
        groups.append(Group(f"dimensions:{name}:{edge}", lane_primitives(spans, edge, core)))
    leaders = [part for one in callouts for part in leader_primitives(one, seats.places[one.key])]
    groups.append(Group(f"leaders:{name}", tuple(leaders)))
    for one in callouts:
        groups.append(Group(one.key, balloon_primitives(one, seats.places[one.key])))
    title = Text((0.0, box[1] + TITLE_MM), view.frame.title, TITLE_MM, Ink.MUTED, bold=True)
    groups.append(Group(f"title:{name}", (title,)))
    balloons = {number: seats.places[f"finding:{number}"] for number, _ in findings}
    return _Annotated(tuple(groups), box, balloons), labelled


def _box(core: Bounds, seats: Seats, lanes: Mapping[str, list[list[Span]]]) -> Bounds:
    """Return the rectangle that a view takes up with its lanes, balloons and title."""
    left = core[0] - lanes_depth_mm(lanes["left"])
    top = core[1] - lanes_depth_mm(lanes["top"]) - _TITLE_ROOM_MM
    along_x = [end for lane in lanes["top"] for span in lane for end in span.reach]
    along_y = [end for lane in lanes["left"] for span in lane for end in span.reach]
    round_all = seats.box
    return (
        min([left, round_all[0], *along_x]),
        min([top, *(y - _EDGE_MM - _TITLE_ROOM_MM for y in along_y)]),
        max([round_all[2] + _EDGE_MM, *along_x]),
        max([round_all[3] + _EDGE_MM, *along_y]),
    )


def _balloon(number: int, finding: Finding, view: PaperView) -> Callout:
    ink = VERDICT_INK[finding.verdict]
    heavy = finding.verdict is Verdict.BLOCKED
    return Callout(f"finding:{number}", str(number), view.at(finding.place), ink, heavy)


def _pointed_at(
    checked: Checked, view: PaperView, references: Mapping[str, str], labelled: frozenset[str]
) -> list[Callout]:
    """Return references outside the view for what got none inside either view.

    Where there are too many, a part whose like is labelled already goes without.
    """
    callouts: dict[str, Callout] = {}
    solids: dict[str, Solid] = {}
    for owner, owned in checked.scene.solids_of.items():
        for solid in owned:
            if solid.hard:
                solids.setdefault(owner, solid)
                solids[solid.id] = solid
    for key, reference in references.items():
        if reference in labelled or reference in callouts:
            continue
        box = view.box(solids[key].bounds)
        middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
        callouts[reference] = Callout(f"item:{reference}", reference, middle)
    if len(callouts) <= MOST_POINTED_AT:
        return list(callouts.values())
    likes = {
        ref: k for k, row in enumerate(listed_parts(checked.scene.layout)) for ref in row.references
    }
    told = {likes[reference] for reference in labelled}
    kept = []
    for reference, callout in callouts.items():
        if likes[reference] not in told:
            told.add(likes[reference])
            kept.append(callout)
    return kept
