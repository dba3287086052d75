"""One view of the sheet with what stands round it: dimensions, balloons, item references."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from app.drawing.annotations import Crowd, best_view
from app.drawing.board import paper_drawing
from app.drawing.frame import BoardFrame, BoardSettings
from app.drawing.owners import owners_of
from app.drawing.primitives import XY, Bounds, Group, Ink, Text
from app.drawing.verdict_words import VERDICT_INK, numbered
from app.sheet.callouts import (
    Callout,
    Seats,
    leader_of,
    lettering_of,
)
from app.sheet.dimension_lines import (
    EDGES,
    Edge,
    Span,
    lane_primitives,
    lanes_depth_mm,
    lanes_of,
)
from app.sheet.item_labels import ViewLabels
from app.sheet.item_references import listed_parts, solid_references, unchosen_fittings
from app.sheet.paper_view import PaperView, core_box, view_groups
from app.sheet.stack_dimensions import spans_of
from geometry.finding import Finding, Verdict

if TYPE_CHECKING:
    from app.drawing.frame import ViewName
    from app.sheet.scale import Scale
    from geometry.checks.runner import Checked

TITLE_MM = 2.5
_TITLE_ROOM_MM = 6.0
_EDGE_MM = 2.0
_READING_ORDER: tuple[ViewName, ViewName] = ("side", "bottom")


Lanes = Mapping[Edge, list[list[Span]]]


@dataclass(frozen=True)
class Amount:
    """How much stands round the views: balloons of the first findings, and item references.

    Where more `references` than this have no room inside, one of each kind of part is shown.
    """

    balloons: int
    references: int


@dataclass(frozen=True)
class ViewContent:
    """What one view shows, without any lettering, and its dimensions.

    The enclosure's top left corner is at (0, 0); `core` goes round all that is drawn.
    """

    view: PaperView
    groups: tuple[Group, ...]
    core: Bounds
    lanes: Lanes


@dataclass(frozen=True)
class BareView:
    """One view with its item references inside, and what is still to be put in and round it."""

    content: ViewContent
    labels: ViewLabels
    callouts: tuple[Callout, ...]


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


def view_contents(checked: Checked, scale: Scale) -> tuple[ViewContent, ...]:
    """Draw the views at a scale, from the top of the sheet down."""
    board = paper_drawing(checked, _board_frame(checked), 1 / scale.factor)
    contents = []
    for view in _paper_views(checked, scale):
        groups = view_groups(board, view)
        core = core_box(view, groups)
        lanes = _lanes(core, {edge: spans_of(checked, view, edge) for edge in EDGES})
        contents.append(ViewContent(view, groups, core, lanes))
    return tuple(contents)


def bare_views(
    checked: Checked, contents: Sequence[ViewContent], amount: Amount
) -> tuple[BareView, ...]:
    """Label the views, and tell what is to stand round them.

    What finds no room for its item reference inside either view is pointed at from beside the
    one in which it is seen.
    """
    views = [one.view for one in contents]
    references = solid_references(checked.scene)
    labels = {view.frame.name: ViewLabels.of(checked, view, references) for view in views}
    callouts = {
        view.frame.name: [
            _balloon(number, finding, view)
            for number, finding in found
            if number <= amount.balloons
        ]
        for view, found in _share_out(checked, views)
    }
    labelled: set[str] = set()
    for name in _READING_ORDER:
        labels[name].keep_off([one.target for one in callouts[name]])
        labelled |= {references[key] for key in labels[name].put_references(references)}
    for key in _pointed_at(checked, references, labelled, amount.references):
        name, target = _spot(key, labels)
        callouts[name].append(Callout(f"item:{references[key]}", references[key], target))
        labels[name].keep_off([target])
    bare = []
    for content in contents:
        name = content.view.frame.name
        bare.append(BareView(content, labels[name], tuple(callouts[name])))
    return tuple(bare)


def _spot(key: str, labels: Mapping[ViewName, ViewLabels]) -> tuple[ViewName, XY]:
    """Return the view in which something is seen, and where; the side view wins."""
    for name in _READING_ORDER:
        target = labels[name].visible_spot(key)
        if target is not None:
            return name, target
    return "side", labels["side"].hidden_spot(key)


def _share_out(
    checked: Checked, views: Sequence[PaperView]
) -> list[tuple[PaperView, list[tuple[int, Finding]]]]:
    """Give every finding's balloon to the view that shows it best."""
    frame = _board_frame(checked)
    crowd = Crowd(owners_of(checked.scene))
    shares: dict[str, list[tuple[int, Finding]]] = {view.frame.name: [] for view in views}
    for number, finding in numbered(checked.report):
        shares[best_view(finding, frame, crowd).name].append((number, finding))
    return [(view, shares[view.frame.name]) for view in views]


def view_box(bare: BareView, seats: Seats) -> Bounds:
    """Return the rectangle that a view takes up with all that stands round it."""
    return _box(bare.content.core, seats, bare.content.lanes)


def annotated(bare: BareView, seats: Seats) -> AnnotatedView:
    """Put dimensions, balloons and title round a view."""
    box = view_box(bare, seats)
    balloons = {
        int(one.text): seats.places[one.key] for one in bare.callouts if one.ring is not None
    }
    return AnnotatedView((*bare.content.groups, *_notes(bare, seats, box)), box, balloons)


def _notes(bare: BareView, seats: Seats, box: Bounds) -> Iterator[Group]:
    frame, content = bare.content.view.frame, bare.content
    name = frame.name
    ground = _lane_ground(content.core, content.lanes)
    for edge, spans in content.lanes.items():
        yield Group(f"dimensions:{name}:{edge}", lane_primitives(spans, edge, ground))
    leaders = (leader_of(one, seats.places[one.key]) for one in bare.callouts)
    yield Group(f"leaders:{name}", tuple(part for parts in leaders for part in parts))
    # Over the leaders, which the halo of a label interrupts where one passes under it.
    lines = [(one.target, seats.places[one.key]) for one in bare.callouts]
    yield Group(f"labels:{name}", bare.labels.with_names(lines))
    for one in bare.callouts:
        yield Group(one.key, lettering_of(one, seats.places[one.key]))
    at = (0.0, box[1] + TITLE_MM)
    title = Text(at, frame.title, TITLE_MM, Ink.MUTED, bold=True)
    yield Group(f"title:{name}", (title,))


def _lanes(core: Bounds, spans: Mapping[Edge, list[Span]]) -> Lanes:
    """Share dimensions out to lanes.

    Where figures of both edges would run past the corner, those of the upper edge may stand on
    the other side of their lines instead, and so may those that run past the foot of the view;
    whichever takes less height is chosen.
    """
    top = [_turned_over(span) if span.reach[0] < core[0] else span for span in spans["top"]]
    left = [_turned_over(span) if span.reach[1] > core[3] else span for span in spans["left"]]
    ways: list[Lanes] = [
        {"top": lanes_of(above), "left": lanes_of(beside)}
        for beside in (spans["left"], left)
        for above in (spans["top"], top)
    ]

    def height(lanes: Lanes) -> float:
        foot = max([core[3], *(span.reach[1] for lane in lanes["left"] for span in lane)])
        return foot + lanes_depth_mm(lanes["top"]) - _lane_ground(core, lanes)[1]

    return min(ways, key=height)


def _turned_over(span: Span) -> Span:
    return replace(span, before=not span.before)


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
    checked: Checked, references: Mapping[str, str], labelled: Collection[str], most: int
) -> list[str]:
    """Return keys of the references that are still to be shown, one key a reference.

    Where there are too many, a part whose like is shown already goes without.
    """
    wanted = {ref: key for key, ref in reversed(tuple(references.items())) if ref not in labelled}
    keys = [key for key, ref in references.items() if wanted.get(ref) == key]
    if len(keys) <= most:
        return keys
    layout = checked.scene.layout
    rows = (*listed_parts(layout), *unchosen_fittings(layout))
    likes = {ref: number for number, row in enumerate(rows) for ref in row.references}
    told = {likes[ref] for ref in labelled}
    kept = []
    for key in keys:
        like = likes[references[key]]
        if like not in told:
            told.add(like)
            kept.append(key)
    return kept
