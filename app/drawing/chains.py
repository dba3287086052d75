"""Chains of dimensions on the board: the layers of stacks that are selected, or an item of them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from app.drawing.board_making import Making, Noted
from app.drawing.board_notes import noted_group
from app.drawing.depth_marks import stack_dimensions
from app.drawing.memory import Same
from app.drawing.primitives import Bounds
from app.drawing.silhouettes import overlaps, those_meeting
from geometry.measures.prism import whole_bounds
from geometry.part_solids import shape_prism

if TYPE_CHECKING:
    from app.drawing.annotations import Crowd
    from app.drawing.board_making import Line
    from app.drawing.dimensions import Room
    from app.drawing.frame import ViewFrame
    from catalog.enclosure import Enclosure
    from geometry.finding import StackDepth


def chain_groups(
    making: Making, room: Room, crowd: Crowd, leaders: tuple[Line, ...]
) -> Iterator[Noted]:
    """Yield the layers of each stack that is selected, or an item of it, as a chain.

    It is drawn in every view that shows the layers in true length, its figures as far as the
    `room` has places for them off the `crowd`, the walls and the `leaders`. A report may be older
    than the scene while a part is dragged: what it tells of a stack that is gone is left out.
    """
    scene = making.checked.scene
    chosen = set(making.shows.selection)
    for one in making.shows.selection:
        placed = scene.placed.get(one)
        if placed is not None and placed.stack is not None:
            chosen.add(placed.stack.id)
    present = {stack.id for stack in scene.layout.stacks} & chosen
    depths = [depth for depth in making.checked.report.depths if depth.stack in present]
    for view in making.frame.views:
        hurdles = _Hurdles(making, view, crowd, leaders)
        for depth in depths:
            if scene.frames[scene.layout.stack(depth.stack).zone].inward.axis == view.toward.axis:
                continue
            for noted in _chain(making, depth, view, room, hurdles):
                room = room.without(*noted[1])
                yield noted


def _chain(
    making: Making, depth: StackDepth, view: ViewFrame, room: Room, hurdles: _Hurdles
) -> Iterator[Noted]:
    scene = making.checked.scene
    stack = scene.layout.stack(depth.stack)
    items = [one for one in scene.items_of(stack) if one.side == depth.side]
    zone = scene.frames[stack.zone]
    dims = stack_dimensions(depth, zone, items, view, making.drafting, room, hurdles.near)
    if dims:
        yield noted_group(f"stack:{view.name}:{depth.stack}:{depth.side}", dims)


class _Hurdles:
    """What the figures of chains keep off in a view beside other annotation."""

    def __init__(
        self, making: Making, view: ViewFrame, crowd: Crowd, leaders: tuple[Line, ...]
    ) -> None:
        self._making, self._view = making, view
        self._crowd, self._leaders = crowd, leaders

    def near(self, box: Bounds) -> tuple[Bounds, ...]:
        """Return the rectangles of parts, walls, leaders and other views that meet a rectangle."""
        view = self._view
        about = [other.rect for other in self._making.frame.views if other is not view]
        for shown in self._crowd.near(view, box):
            about += shown.seen(view).boxes
        enclosure = self._making.checked.scene.layout.enclosure
        walls: tuple[Bounds, ...] = self._making.memory.get(
            f"wall-boxes:{view.name}", (Same(enclosure), view), lambda: _wall_boxes(enclosure, view)
        )
        about += walls
        for line in self._leaders:
            about += _pieces(line, self._making.drafting.cap_mm, box)
        return those_meeting(box, about)


def _wall_boxes(enclosure: Enclosure, view: ViewFrame) -> tuple[Bounds, ...]:
    """Return the rectangles between the outer shape of an enclosure and its cavity."""
    outer, inner = (
        view.box(whole_bounds([shape_prism(shape) for shape in shapes]))
        for shapes in (enclosure.outer, enclosure.cavity)
    )
    x0, y0, x1, y1 = outer
    return (
        (x0, y0, inner[0], y1), (inner[2], y0, x1, y1),
        (x0, y0, x1, inner[1]), (x0, inner[3], x1, y1),
    )  # fmt: skip


def _pieces(line: Line, most: float, box: Bounds) -> Iterator[Bounds]:
    """Yield a line as rectangles about as long as `most`, those that come near a rectangle."""
    (ax, ay), (bx, by) = line
    if not overlaps((min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)), box):
        return
    count = max(1, math.ceil(math.dist(*line) / most))
    dx, dy = (bx - ax) / count, (by - ay) / count
    first, last = 0, count
    for start, step, low, high in ((ax, dx, box[0], box[2]), (ay, dy, box[1], box[3])):
        if step != 0.0:
            enter, leave = sorted(((low - start) / step, (high - start) / step))
            first, last = max(first, math.floor(enter)), min(last, math.ceil(leave))
    for k in range(first, last):
        x0, x1 = sorted((ax + dx * k, ax + dx * (k + 1)))
        y0, y1 = sorted((ay + dy * k, ay + dy * (k + 1)))
        yield (x0, y0, x1, y1)
