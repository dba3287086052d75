"""The annotation of the board: overall dimensions, titles, marks and balloons."""

from __future__ import annotations

import math
from collections.abc import Generator, Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

from app.drawing.annotations import Crowd, anchor_of, best_views, finding_marks
from app.drawing.balloons import (
    Call,
    Columns,
    Placed,
    circle_box,
    note_box,
    noted_balloon,
    place_balloons,
    without_note,
)
from app.drawing.board_making import LEVEL_BALLOON, LEVEL_DIMENSION, LEVEL_MARK, Making, Noted
from app.drawing.depth_marks import (
    OVERALL_CAPS,
    overall_dimensions,
)
from app.drawing.dimensions import Room
from app.drawing.fontmetrics import text_width_mm
from app.drawing.memory import Same
from app.drawing.primitives import Bounds, Group, Ink, Region, Text
from app.drawing.silhouettes import meets_any
from app.drawing.verdict_words import (
    fails_only_at_worst,
    note_text,
    numbered,
    tells_of,
)

if TYPE_CHECKING:
    from app.drawing.dimensions import Dimension
    from app.drawing.drafting import Drafting
    from app.drawing.frame import ViewFrame, ViewName
    from geometry.finding import Finding, Leftover
    from geometry.measures.solid import Solid

TITLE_CAPS = 1.4
OVER_DIMENSION_CAPS = 2.4
UNDER_VIEW_CAPS = 1.6
"""Distance of the base line of a title from its view, where there is no room over it."""


def overall_groups(making: Making) -> tuple[Noted, ...]:
    """Return the overall dimensions and the title of each view, as far as there is room."""
    enclosure = making.checked.scene.layout.enclosure
    made_from = (Same(enclosure), making.frame, making.drafting, making.sheet)
    noted: tuple[Noted, ...] = making.memory.get(
        "notes:overall", made_from, lambda: tuple(_overall(making))
    )
    return noted


def _overall(making: Making) -> Iterator[Noted]:
    drafting, frame = making.drafting, making.frame
    enclosure = making.checked.scene.layout.enclosure
    room = Room(sheet=making.sheet)
    for name, dims in overall_dimensions(enclosure, frame, drafting, making.sheet).items():
        if dims:
            noted = noted_group(f"overall:{name}", dims)
            room = room.without(*noted[1])
            yield noted
    for view in frame.views:
        others = [other.rect for other in frame.views if other is not view]
        for text, box in _titles(view, drafting):
            if room.without(*others).free(box):
                room = room.without(box)
                yield Group(f"title:{view.name}", (text,), LEVEL_DIMENSION), (box,)
                break


def noted_group(key: str, dims: Iterable[Dimension]) -> Noted:
    """Return dimensions as one group, and the rectangles of their figures."""
    every = tuple(dims)
    primitives = tuple(p for dim in every for p in dim.primitives)
    boxes = tuple(dim.box for dim in every if dim.box is not None)
    return Group(key, primitives, LEVEL_DIMENSION), boxes


def _titles(view: ViewFrame, drafting: Drafting) -> Iterator[tuple[Text, Bounds]]:
    """Yield the title of a view where it may stand, the best first, then shorter ones."""
    cap, (x0, y0, _, y1) = drafting.small_cap_mm, view.rect
    over = OVERALL_CAPS + OVER_DIMENSION_CAPS if view.name == "side" else TITLE_CAPS
    places = (y0 - over * drafting.cap_mm, y0 - TITLE_CAPS * drafting.cap_mm,
              y1 + UNDER_VIEW_CAPS * drafting.cap_mm)  # fmt: skip
    for title in (view.title, view.title.partition(" ")[0]):
        wide = text_width_mm(title, cap, bold=True)
        for y in places:
            text = Text((x0, y), title, cap, Ink.MUTED, bold=True)
            yield text, (x0, y - drafting.cap_mm, x0 + wide, y)


def mark_boxes(marks: Iterable[Group]) -> Iterator[Bounds]:
    """Yield the rectangles of hatched room, which names keep clear of."""
    for group in marks:
        for primitive in group.primitives:
            if isinstance(primitive, Region):
                xs = [p[0] for p in primitive.rings[0]]
                ys = [p[1] for p in primitive.rings[0]]
                yield (min(xs), min(ys), max(xs), max(ys))


def _mark_key(about: str, view: ViewFrame) -> str:
    return f"marks:{view.name}:{about}"


def _about(finding: Finding) -> str:
    return f"{finding.kind}:{'+'.join(finding.ids)}"


def mark_groups(making: Making) -> Generator[None, None, list[Group]]:
    """Return what marks each finding, hatched room, gaps, envelopes, with a pause after each."""
    scene, memory = making.checked.scene, making.memory
    fixed: Mapping[str, tuple[Solid, ...]] = memory.get(
        "solids:fixed", Same(scene.fixed), partial(_by_owner, scene.fixed)
    )
    made: set[str] = set()
    marks: list[Group] = []
    for _, finding in numbered(making.checked.report):
        about = _about(finding)
        while about in made:
            about += "+"
        made.add(about)
        parties = tuple([scene.solids_of.get(one) or fixed.get(one) for one in finding.ids])
        own: tuple[Group, ...] = memory.get(
            f"marks:{about}",
            (finding.kind, finding.verdict, finding.required_mm, parties, making.frame.views,
             making.drafting),
            partial(_marks, making, about, finding, parties),
        )  # fmt: skip
        marks.extend(own)
        yield
    return marks


def _by_owner(solids: tuple[Solid, ...]) -> dict[str, tuple[Solid, ...]]:
    found: dict[str, list[Solid]] = {}
    for solid in solids:
        found.setdefault(solid.owner, []).append(solid)
    return {owner: tuple(own) for owner, own in found.items()}


def _marks(
    making: Making, about: str, finding: Finding, parties: Sequence[tuple[Solid, ...] | None]
) -> tuple[Group, ...]:
    """Return what marks a finding in each view in which there is anything to mark."""
    solids_of = {
        one: solids for one, solids in zip(finding.ids, parties, strict=True) if solids is not None
    }
    shown = [
        (view, finding_marks(finding, solids_of, view, making.drafting))
        for view in making.frame.views
    ]
    return tuple(Group(_mark_key(about, view), marks, LEVEL_MARK) for view, marks in shown if marks)


def placed_balloons(making: Making, crowd: Crowd, taken: tuple[Bounds, ...]) -> list[Placed]:
    """Return the balloon of every finding that is not clear, beside the view that shows it best.

    They keep off the rectangles `taken`.
    """
    report = making.checked.report
    calls: dict[ViewName, list[Call]] = {view.name: [] for view in making.frame.views}
    dimensioned: dict[str, list[Leftover]] = {}
    for depth in report.depths:
        if depth.cells:
            dimensioned.setdefault(depth.least.item, []).append(depth.least)
    listed = numbered(report)
    seen_in = best_views([finding for _, finding in listed], making.frame, crowd)
    for (number, finding), view in zip(listed, seen_in, strict=True):
        # A dimension of leftover depth may tell the figure of the same part already.
        told = not fails_only_at_worst(finding) and any(
            tells_of(finding, left) for one in finding.ids for left in dimensioned.get(one, ())
        )
        note = "" if told else note_text(finding, making.drafting.figure)
        call = Call(number, anchor_of(finding, view), note, finding.verdict)
        calls[view.name].append(call)
    out: list[Placed] = []
    for view in making.frame.views:
        used = (*taken, *(circle_box(one, making.drafting) for one in out))
        own, columns = tuple(calls[view.name]), _columns(making, view, used)
        placed: tuple[Placed, ...] = making.memory.get(
            f"balloons:{view.name}",
            (own, columns, making.drafting),
            partial(place_balloons, own, columns, making.drafting),
        )
        out.extend(placed)
    return out


def with_room(
    making: Making, balloons: list[Placed], circles: tuple[Bounds, ...], room: Room
) -> tuple[list[Placed], tuple[Bounds, ...]]:
    """Return the balloons, without the notes for which there is no room, and those left.

    Notes keep off the `circles` of all balloons; they are told by their rectangles.
    """
    out: list[Placed] = []
    said: list[Bounds] = []
    for one in balloons:
        box = note_box(one, making.drafting)
        if box is None:
            out.append(one)
        elif room.free(box) and not meets_any(box, circles) and not meets_any(box, said):
            said.append(box)
            out.append(one)
        else:
            out.append(without_note(one))
    return out, tuple(said)


def balloon_groups(making: Making, balloons: list[Placed]) -> Iterator[Group]:
    """Yield the balloons with leaders and notes as the groups `finding:<n>`."""
    for one in balloons:
        yield from _balloon(making, one)


def _balloon(making: Making, one: Placed) -> tuple[Group, ...]:
    lit = one.call.number == making.shows.lit_finding
    return making.kept(
        f"finding:{one.call.number}",
        (one, lit),
        LEVEL_BALLOON,
        lambda: noted_balloon(one, making.drafting, lit=lit),
    )


def _columns(making: Making, view: ViewFrame, taken: tuple[Bounds, ...]) -> Columns:
    cap, r = making.drafting.cap_mm, making.drafting.balloon_mm
    x0, y0, x1, y1 = view.rect
    dimensioned = view.name != "end"
    left = x0 - (OVERALL_CAPS + 1.9) * cap * dimensioned - 1.8 * r
    middle = (x0 + x1) / 2
    if view.name == "end":
        # The other side is the side view's.
        middle = x0 if making.frame.projection == "third-angle" else x1
    right = x1 + 2.4 * r
    rooms = [math.inf, math.inf]
    for other in making.frame.views:
        if other.rect[1] < y1 and other.rect[3] > y0:
            if other.rect[0] > x1:
                rooms[1] = other.rect[0] - right - cap
            elif other.rect[2] < x0:
                rooms[0] = left - other.rect[2] - cap
    top, bottom, lowest = y0 + r, y1 - r, math.inf
    if making.sheet is not None:
        first, upper, last, lowest = making.sheet
        # A side on which the sheet ends too near leaves its balloons to the other.
        if left - r < first and right + r <= last:
            middle = -math.inf
        elif right + r > last and left - r >= first:
            middle = math.inf
        left, right = max(left, first + r), min(right, last - r)
        rooms = [min(rooms[0], left - first), min(rooms[1], last - right)]
        lowest -= r
        top, bottom = max(top, upper + r), min(bottom, lowest)
    left_room, right_room = rooms
    return Columns(
        left, right, top, bottom, middle, left_room, right_room, taken=taken, lowest=lowest
    )
