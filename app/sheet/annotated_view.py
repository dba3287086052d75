"""One view of the sheet with what stands round it: dimensions, balloons, item references."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.drawing.annotations import best_view
from app.drawing.board import paper_drawing
from app.drawing.frame import BoardFrame, BoardSettings
from app.drawing.owners import owners_of
from app.drawing.primitives import XY, Bounds, Group, Ink, Text
from app.drawing.views import far_to_near
from app.drawing.words import VERDICT_INK, numbered
from app.sheet.callouts import (
    Callout,
    Lean,
    Seats,
    balloon_primitives,
    leader_primitives,
    seat,
)
from app.sheet.dimension_lines import (
    EDGES,
    Edge,
    Span,
    lane_primitives,
    lanes_depth_mm,
    lanes_of,
)
from app.sheet.item_labels import free_spot, item_labels
from app.sheet.item_references import listed_parts, solid_references
from app.sheet.paper_view import PaperView, core_box, view_groups
from app.sheet.stack_dimensions import span_groups
from geometry.finding import Finding, Verdict

if TYPE_CHECKING:
    from app.sheet.scale import Scale
    from geometry.checks.runner import Checked
    from geometry.solid import Solid

TITLE_MM = 2.5
_TITLE_ROOM_MM = 6.0
_EDGE_MM = 2.0
MOST_POINTED_AT = 16
"""More item references than this outside a view would crowd it."""


Lanes = Mapping[Edge, list[list[Span]]]


@dataclass(frozen=True)
class BareView:
    """One view with its labels inside, and what is still to be put round it.

    Its enclosure's top left corner is at (0, 0); `core` goes round all that is drawn inside.
    """

    view: PaperView
    groups: tuple[Group, ...]
    core: Bounds
    callouts: tuple[Callout, ...]
    lanes: Lanes


@dataclass(frozen=True)
class AnnotatedView:
    """One view with all that stands round it; `box` is what it takes up."""

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


def bare_views(checked: Checked, scale: Scale) -> tuple[BareView, ...]:
    """Return the views at a scale, from the top of the sheet down.

    What got no item reference inside either view is pointed at from beside the bottom view.
    """
    views = _paper_views(checked, scale)
    shares = _share_out(checked, views)
    references = solid_references(checked.scene)
    board = paper_drawing(checked, _board_frame(checked), 1 / scale.factor)
    bare: dict[str, BareView] = {}
    shown: set[str] = set()
    for view in sorted(views, key=lambda one: one.frame.name != "side"):
        name = view.frame.name
        groups = view_groups(board, view)
        callouts = [_balloon(number, finding, view) for number, finding in shares[name]]
        texts, done = item_labels(checked, view, references, [one.target for one in callouts])
        shown |= {references[key] for key in done}
        if name == "bottom":
            callouts += _pointed_at(checked, view, references, frozenset(shown), texts)
        bare[name] = BareView(
            view,
            (*groups, Group(f"labels:{name}", texts)),
            core_box(view, groups),
            tuple(callouts),
            {edge: lanes_of(span_groups(checked, view, edge)) for edge in EDGES},
        )
    return tuple(bare[view.frame.name] for view in views)


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


def annotated(bare: BareView, lean: Lean) -> AnnotatedView:
    """Put dimensions, balloons and title round a view."""
    seats = seat(bare.callouts, bare.core, lean)
    box = _box(bare.core, seats, bare.lanes)
    balloons = {
        int(one.text): seats.places[one.key] for one in bare.callouts if one.ring is not None
    }
    return AnnotatedView((*bare.groups, *_notes(bare, seats, box)), box, balloons)


def _notes(bare: BareView, seats: Seats, box: Bounds) -> Iterator[Group]:
    name = bare.view.frame.name
    ground = _lane_ground(bare.core, bare.lanes)
    for edge, spans in bare.lanes.items():
        yield Group(f"dimensions:{name}:{edge}", lane_primitives(spans, edge, ground))
    leaders = (leader_primitives(one, seats.places[one.key]) for one in bare.callouts)
    yield Group(f"leaders:{name}", tuple(part for parts in leaders for part in parts))
    for one in bare.callouts:
        yield Group(one.key, balloon_primitives(one, seats.places[one.key]))
    at = (0.0, box[1] + TITLE_MM)
    title = Text(at, bare.view.frame.title, TITLE_MM, Ink.MUTED, bold=True)
    yield Group(f"title:{name}", (title,))


def _lane_ground(core: Bounds, lanes: Lanes) -> Bounds:
    """Return the rectangle from which lanes are counted.

    Where figures of both edges run past the corner, the upper lanes start above the others.
    """
    left, top = core[0], core[1]
    over_left = min([left, *(span.reach[0] for lane in lanes["top"] for span in lane)])
    over_top = min([top, *(span.reach[0] for lane in lanes["left"] for span in lane)])
    if over_left < left and over_top < top:
        top = over_top
    return (left, top, core[2], core[3])


def _box(core: Bounds, seats: Seats, lanes: Lanes) -> Bounds:
    """Return the rectangle that a view takes up with its lanes, balloons and title."""
    ground = _lane_ground(core, lanes)
    left = ground[0] - lanes_depth_mm(lanes["left"])
    top = ground[1] - lanes_depth_mm(lanes["top"])
    along_x = [end for lane in lanes["top"] for span in lane for end in span.reach]
    along_y = [end for lane in lanes["left"] for span in lane for end in span.reach]
    every = seats.box
    return (
        min([left, every[0], *along_x]),
        min([top, *(y - _EDGE_MM for y in along_y)]) - _TITLE_ROOM_MM,
        max([every[2] + _EDGE_MM, *along_x]),
        max([every[3] + _EDGE_MM, *along_y]),
    )


def _balloon(number: int, finding: Finding, view: PaperView) -> Callout:
    ink = VERDICT_INK[finding.verdict]
    heavy = finding.verdict is Verdict.BLOCKED
    return Callout(f"finding:{number}", str(number), view.at(finding.place), ink, heavy)


def _pointed_at(
    checked: Checked,
    view: PaperView,
    references: Mapping[str, str],
    labelled: frozenset[str],
    texts: Sequence[Text],
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
        target = free_spot(view.box(solids[key].bounds), texts)
        callouts[reference] = Callout(f"item:{reference}", reference, target)
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
