"""The annotation of the board: dimensions, leftover depths, marks and balloons."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from functools import partial
from typing import TYPE_CHECKING

from app.drawing.annotations import Crowd, anchor_of, best_view, finding_marks
from app.drawing.balloons import Call, Columns, Placed, balloon_primitives, place_balloons
from app.drawing.depth_marks import (
    OVERALL_CAPS,
    leftover_dimension,
    leftover_reach,
    overall_dimensions,
    stack_dimensions,
)
from app.drawing.making import LEVEL_BALLOON, LEVEL_DEPTH, LEVEL_DIMENSION, LEVEL_MARK, Making
from app.drawing.memory import Same
from app.drawing.primitives import Bounds, Group, Ink, Primitive, Region, Text
from app.drawing.silhouettes import overlaps
from app.drawing.words import LeftoverWord, leftover_word, note_text, numbered, tells_of

if TYPE_CHECKING:
    from app.drawing.frame import ViewFrame, ViewName
    from geometry.finding import Finding, Leftover, StackDepth
    from geometry.measures.solid import Solid

Noted = tuple[Group, tuple[Bounds, ...]]
"""A group of annotation, and the rectangles that its figures take up."""

TITLE_CAPS = 1.4
OVER_DIMENSION_CAPS = 2.4


def overall_groups(making: Making) -> tuple[Noted, ...]:
    """Return the overall dimensions and the title of each view."""
    made_from = (Same(making.checked.scene.layout.enclosure), making.frame, making.drafting)
    noted: tuple[Noted, ...] = making.memory.get(
        "notes:overall", made_from, lambda: tuple(_overall(making))
    )
    return noted


def _overall(making: Making) -> Iterator[Noted]:
    drafting, frame = making.drafting, making.frame
    enclosure = making.checked.scene.layout.enclosure
    for name, dims in overall_dimensions(enclosure, frame, drafting).items():
        primitives = tuple(p for dim in dims for p in dim.primitives)
        yield (
            Group(f"overall:{name}", primitives, LEVEL_DIMENSION),
            tuple(dim.box for dim in dims),
        )
    for view in frame.views:
        caps = OVERALL_CAPS + OVER_DIMENSION_CAPS if view.name == "side" else TITLE_CAPS
        at = (view.rect[0], view.rect[1] - caps * drafting.cap_mm)
        text = Text(at, view.title, drafting.small_cap_mm, Ink.MUTED, bold=True)
        box = (at[0], at[1] - drafting.cap_mm, at[0], at[1])
        yield Group(f"title:{view.name}", (text,), LEVEL_DIMENSION), (box,)


def depth_groups(making: Making, taken: tuple[Bounds, ...]) -> Iterator[Noted]:
    """Yield what each stack leaves over, in every view that shows it in true length.

    Figures keep clear of the rectangles `taken` and of each other.
    """
    report = making.checked.report
    margin_mm = making.checked.scene.layout.settings.margin_mm
    used = list(taken)
    for depth in report.depths:
        if not depth.cells:
            continue
        least = depth.least
        word = leftover_word(least, report, margin_mm)
        key = f"depth:{depth.stack}:{depth.side}"
        made_from = (least, word, making.frame, making.drafting)
        reach: tuple[Bounds, ...] = making.memory.get(
            f"reach:{key}", made_from, partial(_reach, making, least, word)
        )
        near = tuple([box for box in used if any(overlaps(box, one) for one in reach)])
        noted: Noted | None = making.memory.get(
            key, (*made_from, near), partial(_depth, making, key, least, word, near)
        )
        if noted is not None:
            used.extend(noted[1])
            yield noted


def _reach(making: Making, left: Leftover, word: LeftoverWord) -> tuple[Bounds, ...]:
    """Return where the figures of a leftover depth may stand; what is elsewhere is no matter."""
    found = (leftover_reach(left, word, view, making.drafting) for view in making.frame.views)
    return tuple(reach for reach in found if reach is not None)


def _depth(
    making: Making, key: str, left: Leftover, word: LeftoverWord, taken: tuple[Bounds, ...]
) -> Noted | None:
    used = list(taken)
    primitives: list[Primitive] = []
    for view in making.frame.views:
        dim = leftover_dimension(left, word, view, making.drafting, tuple(used))
        if dim is not None:
            primitives.extend(dim.primitives)
            used.append(dim.box)
    if not primitives:
        return None
    return Group(key, tuple(primitives), LEVEL_DEPTH), tuple(used[len(taken) :])


def chain_groups(making: Making, taken: tuple[Bounds, ...]) -> Iterator[Noted]:
    """Yield the layers of each stack that is selected, or an item of it, as a chain.

    It is drawn in every view that shows the layers in true length, clear of the rectangles
    `taken`. A report may be older than the scene while a part is dragged: what it tells of a
    stack that is gone is left out.
    """
    scene = making.checked.scene
    present = {stack.id for stack in scene.layout.stacks}
    for depth in making.checked.report.depths:
        if depth.stack not in present:
            continue
        items = scene.items_of(scene.layout.stack(depth.stack))
        ids = {depth.stack, *(one.id for one in items)}
        if ids & making.shows.selection:
            for view in making.frame.views:
                yield from _chain(making, depth, view, taken)


def _chain(
    making: Making, depth: StackDepth, view: ViewFrame, taken: tuple[Bounds, ...]
) -> Iterator[Noted]:
    scene = making.checked.scene
    stack = scene.layout.stack(depth.stack)
    items = [one for one in scene.items_of(stack) if one.side == depth.side]
    zone = scene.frames[stack.zone]
    dims = stack_dimensions(depth, zone, items, view, making.drafting, taken)
    if dims:
        primitives = tuple(p for dim in dims for p in dim.primitives)
        key = f"stack:{view.name}:{depth.stack}:{depth.side}"
        yield Group(key, primitives, LEVEL_DIMENSION), tuple(dim.box for dim in dims)


def mark_boxes(marks: Iterable[Group]) -> Iterator[Bounds]:
    """Yield the rectangles of hatched room, which names keep clear of."""
    for group in marks:
        for primitive in group.primitives:
            if isinstance(primitive, Region):
                xs = [p[0] for p in primitive.rings[0]]
                ys = [p[1] for p in primitive.rings[0]]
                yield (min(xs), min(ys), max(xs), max(ys))


def mark_key(finding: Finding, view: ViewFrame) -> str:
    """Return the key of what marks a finding; it stays when the finding's number is another."""
    return f"marks:{view.name}:{finding.kind}:{'+'.join(finding.ids)}"


def mark_groups(making: Making) -> Iterator[Group | None]:
    """Yield what marks each finding: hatched room, gaps, envelopes; None after each finding."""
    scene = making.checked.scene
    fixed: Mapping[str, tuple[Solid, ...]] = making.memory.get(
        "solids:fixed", Same(scene.fixed), partial(_by_owner, scene.fixed)
    )
    made: set[str] = set()
    for _, finding in numbered(making.checked.report):
        solids_of = {
            one: scene.solids_of[one] if one in scene.solids_of else fixed[one]
            for one in finding.ids
            if one in scene.solids_of or one in fixed
        }
        for view in making.frame.views:
            key = mark_key(finding, view)
            while key in made:
                key += "+"
            made.add(key)
            yield from _mark(making, view, key, finding, solids_of)
        yield None


def _by_owner(solids: tuple[Solid, ...]) -> dict[str, tuple[Solid, ...]]:
    found: dict[str, list[Solid]] = {}
    for solid in solids:
        found.setdefault(solid.owner, []).append(solid)
    return {owner: tuple(own) for owner, own in found.items()}


def _mark(
    making: Making,
    view: ViewFrame,
    key: str,
    finding: Finding,
    solids_of: Mapping[str, tuple[Solid, ...]],
) -> tuple[Group, ...]:
    parties = tuple(solids_of.get(one) for one in finding.ids)
    return making.kept(
        key,
        (finding.kind, finding.verdict, finding.required_mm, parties, view),
        LEVEL_MARK,
        lambda: finding_marks(finding, solids_of, view, making.drafting),
    )


def placed_balloons(making: Making, crowd: Crowd) -> list[Placed]:
    """Return the balloon of every finding that is not clear, beside the view that shows it best."""
    report = making.checked.report
    calls: dict[ViewName, list[Call]] = {view.name: [] for view in making.frame.views}
    dimensioned = [depth.least for depth in report.depths if depth.cells]
    for number, finding in numbered(report):
        view = best_view(finding, making.frame, crowd)
        # A dimension of leftover depth may tell the figure of the same part already.
        told = any(tells_of(finding, left) for left in dimensioned)
        note = "" if told else note_text(finding)
        call = Call(number, anchor_of(finding, view), note, finding.verdict)
        calls[view.name].append(call)
    return [
        placed
        for view in making.frame.views
        for placed in place_balloons(
            tuple(calls[view.name]), _columns(making, view), making.drafting
        )
    ]


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
        lambda: balloon_primitives(one, making.drafting, lit=lit),
    )


def _columns(making: Making, view: ViewFrame) -> Columns:
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
    return Columns(left, right, y0 + r, y1 - r, middle, *rooms)
