"""Side and bottom view put together on paper, lined up as ISO 5456-2 has them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from app.drawing.primitives import XY, Bounds, Group
from app.sheet.annotated_view import AnnotatedView, BareView, annotated, view_box
from app.sheet.callouts import seatings
from app.sheet.scaled import moved
from geometry.measures.tolerance import meets

VIEW_GAP_MM = 8.0
"""Room between what stands round one view and what stands round the next."""


@dataclass(frozen=True)
class ViewDrawing:
    """Both views, each with its shift, so that together they go from (0, 0) to `size` (mm)."""

    views: tuple[tuple[AnnotatedView, XY], ...]
    size: XY


def fits(size: XY, room: Bounds) -> bool:
    """Whether something of a size (mm) goes into a room."""
    return meets(room[2] - room[0], size[0]) and meets(room[3] - room[1], size[1])


def arranged(bare: Sequence[BareView], room: Bounds) -> ViewDrawing | None:
    """Put the views one under the other, their enclosures lined up, so that they fit a room.

    Of all ways to put balloons round them the best balanced that fits is taken; None when none
    does.
    """
    ways = [list(enumerate(seatings(one.callouts, one.content.core))) for one in bare]
    for choice in sorted(product(*ways), key=lambda pick: sum(rank for rank, _ in pick)):
        seats = [one for _, one in choice]
        boxes = [view_box(view, one) for view, one in zip(bare, seats, strict=True)]
        size, shifts = _stacked(boxes)
        if fits(size, room):
            views = [annotated(view, one) for view, one in zip(bare, seats, strict=True)]
            return ViewDrawing(tuple(zip(views, shifts, strict=True)), size)
    return None


def _stacked(boxes: Sequence[Bounds]) -> tuple[XY, list[XY]]:
    """Return the size of boxes put one under the other, and the shift of each."""
    left = min(box[0] for box in boxes)
    shifts: list[XY] = []
    y = -VIEW_GAP_MM
    for box in boxes:
        y += VIEW_GAP_MM
        shifts.append((-left, y - box[1]))
        y += box[3] - box[1]
    return (max(box[2] for box in boxes) - left, y), shifts


def placed_groups(drawing: ViewDrawing, at: XY) -> tuple[tuple[Group, ...], Mapping[int, XY]]:
    """Return the groups of both views and the middles of their balloons, in place on the sheet."""
    groups: list[Group] = []
    balloons: dict[int, XY] = {}
    for view, shift in drawing.views:
        by = (shift[0] + at[0], shift[1] + at[1])
        for group in view.groups:
            groups.append(Group(group.key, tuple(moved(one, by) for one in group.primitives)))
        for number, middle in view.balloons.items():
            balloons[number] = (middle[0] + by[0], middle[1] + by[1])
    return tuple(groups), balloons
