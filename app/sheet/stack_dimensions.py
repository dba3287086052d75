"""Which lengths are dimensioned beside each view: overall sizes, and every stack's depth."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf
from typing import TYPE_CHECKING

from app.drawing.words import VERDICT_INK, reported_verdict
from app.sheet.dimension_lines import Edge, Span
from app.sheet.paper_view import PaperView
from app.sheet.words import figure_mm, plain_mm
from geometry.finding import Verdict
from geometry.part_solids import shape_prism

if TYPE_CHECKING:
    from catalog.shapes import Shape
    from geometry.checks.runner import Checked
    from geometry.finding import StackDepth
    from geometry.placement import ZoneFrame
    from geometry.pose import Vec
    from geometry.prism import Bounds as Bounds3

SpanGroup = tuple[Span, ...]


def span_groups(checked: Checked, view: PaperView, edge: Edge) -> list[SpanGroup]:
    """Return the dimensions of one edge of a view, those to go nearest to it first.

    Depths come first, then the inner cavity, then the outer shape. A length that another view
    shows is left to that view (ISO 129-1: each dimension once): x and z stand at the side view,
    y at the bottom view.
    """
    axis = (view.frame.right if edge == "top" else view.frame.down).axis
    if edge == "top" and view.frame.name == "bottom":
        return []
    groups = [
        group
        for depth in checked.report.depths
        for group in _stack_groups(checked, depth, view, axis, edge)
    ]
    groups.sort(key=lambda group: max(span.high for span in group) - min(s.low for s in group))
    enclosure = checked.scene.layout.enclosure
    sizes = [_bounds(enclosure.cavity), _bounds(enclosure.outer)]
    return groups + [(_overall(bounds, view, axis, edge),) for bounds in _distinct(sizes, axis)]


def _distinct(sizes: list[Bounds3], axis: int) -> Iterator[Bounds3]:
    seen: set[tuple[float, float]] = set()
    for bounds in sizes:
        length = (bounds[axis], bounds[axis + 3])
        if length not in seen:
            seen.add(length)
            yield bounds


def _bounds(shapes: tuple[Shape, ...]) -> Bounds3:
    return _round([shape_prism(shape).bounds for shape in shapes])


def _round(every: list[Bounds3]) -> Bounds3:
    least = [min(b[k] for b in every) for k in range(3)]
    most = [max(b[k] for b in every) for k in range(3, 6)]
    return (*least, *most)  # type: ignore[return-value]


def _overall(bounds: Bounds3, view: PaperView, axis: int, edge: Edge) -> Span:
    box = view.box(bounds)
    low, high = (box[0], box[2]) if edge == "top" else (box[1], box[3])
    side = box[1] if edge == "top" else box[0]
    return Span(low, high, plain_mm(bounds[axis + 3] - bounds[axis]), side, side)


def _stack_groups(
    checked: Checked, depth: StackDepth, view: PaperView, axis: int, edge: Edge
) -> Iterator[SpanGroup]:
    """Yield a stack's total from its datum, with what is left over it to the next solid."""
    scene = checked.scene
    frame = scene.frames[scene.layout.stack(depth.stack).zone]
    if frame.inward.axis != axis:
        return
    bounds = _stack_bounds(checked, depth)
    box = view.box(bounds)
    near = box[1] if edge == "top" else box[0]
    foot, top = _ends(frame, depth)
    total = Span(
        _along(view, foot, edge),
        _along(view, top, edge),
        f"{depth.stack}: {plain_mm(depth.total_mm)}",
        near,
        near,
        before=True,
    )
    least = depth.least
    if isinf(least.mm):
        yield (total,)
        return
    deep = view.at(least.place)[1 if edge == "top" else 0]
    verdict = reported_verdict(least, checked.report, scene.layout.settings.margin_mm)
    left = Span(
        _along(view, least.start, edge),
        _along(view, least.place, edge),
        left_text(least.mm, verdict),
        near,
        deep,
        ink=VERDICT_INK[verdict],
    )
    yield (total, left)


def left_text(mm: float, verdict: Verdict) -> str:
    """Return what a stack leaves as it stands on a dimension line: "8 clear", "4.2 short".

    >>> left_text(8.0, Verdict.CLEAR), left_text(-4.2, Verdict.BLOCKED)
    ('8 clear', '4.2 short')
    """
    if verdict is Verdict.BLOCKED and mm < 0:
        return f"{figure_mm(-mm).removesuffix('.0')} short"
    return f"{figure_mm(mm).removesuffix('.0')} {verdict.value}"


def _ends(frame: ZoneFrame, depth: StackDepth) -> tuple[Vec, Vec]:
    """Return the datum and the farthest face of one side of a stack, as world points."""
    sign = 1.0 if depth.side == "inner" else -1.0
    foot = frame.pose.point((0.0, 0.0, 0.0))
    return foot, frame.pose.point((0.0, 0.0, sign * depth.total_mm))


def _along(view: PaperView, world: Vec, edge: Edge) -> float:
    return view.at(world)[0 if edge == "top" else 1]


def _stack_bounds(checked: Checked, depth: StackDepth) -> Bounds3:
    """Return the bounds of what fills room on one side of a stack."""
    scene = checked.scene
    return _round(
        [
            solid.bounds
            for one in scene.items_of(scene.layout.stack(depth.stack))
            if one.side == depth.side
            for solid in scene.solids_of[one.id]
            if solid.hard
        ]
    )
