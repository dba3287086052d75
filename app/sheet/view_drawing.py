"""Side and bottom view put together on paper, lined up as ISO 5456-2 has them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app.drawing.primitives import XY, Group
from app.sheet.annotated_view import AnnotatedView, BareView, annotated
from app.sheet.callouts import Lean
from app.sheet.scaled import moved

VIEW_GAP_MM = 8.0
"""Room between what stands round one view and what stands round the next."""


@dataclass(frozen=True)
class ViewDrawing:
    """Both views, each with its shift, so that together they go from (0, 0) to `size` (mm)."""

    views: tuple[tuple[AnnotatedView, XY], ...]
    size: XY


def arranged(bare: Sequence[BareView], lean: Lean) -> ViewDrawing:
    """Put the views one under the other, their enclosures lined up."""
    every = [annotated(one, lean) for one in bare]
    left = min(one.box[0] for one in every)
    right = max(one.box[2] for one in every)
    placed: list[tuple[AnnotatedView, XY]] = []
    y = -VIEW_GAP_MM
    for one in every:
        y += VIEW_GAP_MM
        placed.append((one, (-left, y - one.box[1])))
        y += one.box[3] - one.box[1]
    return ViewDrawing(tuple(placed), (right - left, y))


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
