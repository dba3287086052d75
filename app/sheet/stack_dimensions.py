"""Which lengths are dimensioned beside each view: sizes, stacks' depths, what was cut off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isinf
from typing import TYPE_CHECKING

from app.drawing.cut_marks import cut_text
from app.drawing.frame import union_bounds
from app.drawing.primitives import Ink
from app.drawing.verdict_words import UNSIGNED, leftover_word
from app.sheet.dimension_lines import Edge, Span
from app.sheet.paper_view import PaperView
from app.sheet.words import figure_mm, plain_mm
from geometry.cut_off import cut_off
from geometry.measures.prism import whole_bounds
from geometry.part_solids import shape_prism
from geometry.stack_sides import plate_mm

if TYPE_CHECKING:
    from catalog.shapes import Shape
    from geometry.checks.runner import Checked
    from geometry.finding import StackDepth
    from geometry.measures.pose import Vec
    from geometry.measures.prism import Bounds as Bounds3
    from geometry.placement import ZoneFrame

DECIMALS = 6
MOST_NAMES = 4
"""One dimension stands for at most this many stacks; more make its figure too long."""


@dataclass(frozen=True)
class _Measure:
    """A length of one stack as it shows on paper; stacks that share one are dimensioned once."""

    stack: str
    start: float
    end: float
    text: str
    from_mm: float
    to_mm: float
    ink: Ink
    before: bool

    @property
    def what(self) -> tuple[float, float, str]:
        """What makes two measures one dimension: the same ends and the same figure."""
        return (round(self.start, DECIMALS), round(self.end, DECIMALS), self.text)


def spans_of(checked: Checked, view: PaperView, edge: Edge) -> list[Span]:
    """Return the dimensions of one edge of a view, those to go nearest to it first.

    What was cut off comes first, then depths, the inner cavity, the outer shape. A length that
    another view shows is left to that view (ISO 129-1: each dimension once): x and z stand at the
    side view, y at the bottom view.
    """
    axis = (view.frame.right if edge == "top" else view.frame.down).axis
    if edge == "top" and view.frame.name == "bottom":
        return []
    measures = [
        measure
        for depth in checked.report.depths
        for measure in _stack_measures(checked, depth, view, axis, edge)
    ]
    spans = sorted(_merged(measures), key=lambda span: (span.high - span.low, span.low))
    spans[:0] = _cut_spans(checked, view, edge)
    enclosure = checked.scene.layout.enclosure
    sizes = [_bounds(enclosure.cavity), _bounds(enclosure.outer)]
    return spans + [_overall(bounds, view, axis, edge) for bounds in _distinct(sizes, axis)]


def _cut_spans(checked: Checked, view: PaperView, edge: Edge) -> Iterator[Span]:
    """Yield how much was cut off each obstacle along an edge of a view."""
    layout = checked.scene.layout
    axis = (view.frame.right if edge == "top" else view.frame.down).axis
    for piece in cut_off(layout.enclosure, layout.states):
        if piece.end is not None and piece.end.axis == axis and piece.prisms:
            x0, y0, x1, y1 = union_bounds([view.box(one.bounds) for one in piece.prisms])
            low, high, side = (x0, x1, y0) if edge == "top" else (y0, y1, x0)
            yield Span(low, high, cut_text(piece), side, side)


def _merged(measures: list[_Measure]) -> Iterator[Span]:
    """Yield one span for what several stacks have in common, named by them all."""
    alike: dict[tuple[float, float, str], list[_Measure]] = {}
    for measure in measures:
        alike.setdefault(measure.what, []).append(measure)
    for group in alike.values():
        for k in range(0, len(group), MOST_NAMES):
            some = group[k : k + MOST_NAMES]
            names = ", ".join(dict.fromkeys(one.stack for one in some))
            yield Span(
                some[0].start,
                some[0].end,
                f"{names}: {some[0].text}",
                min(one.from_mm for one in some),
                min(one.to_mm for one in some),
                some[0].ink,
                some[0].before,
            )


def _distinct(sizes: list[Bounds3], axis: int) -> Iterator[Bounds3]:
    seen: set[tuple[float, float]] = set()
    for bounds in sizes:
        length = (bounds[axis], bounds[axis + 3])
        if length not in seen:
            seen.add(length)
            yield bounds


def _bounds(shapes: tuple[Shape, ...]) -> Bounds3:
    return whole_bounds([shape_prism(shape) for shape in shapes])


def _overall(bounds: Bounds3, view: PaperView, axis: int, edge: Edge) -> Span:
    box = view.box(bounds)
    low, high = (box[0], box[2]) if edge == "top" else (box[1], box[3])
    side = box[1] if edge == "top" else box[0]
    return Span(low, high, plain_mm(bounds[axis + 3] - bounds[axis]), side, side)


def _stack_measures(
    checked: Checked, depth: StackDepth, view: PaperView, axis: int, edge: Edge
) -> Iterator[_Measure]:
    """Yield a stack's total from its plate, and what is left over it to the next solid."""
    scene = checked.scene
    frame = scene.frames[scene.layout.stack(depth.stack).zone]
    if frame.inward.axis != axis:
        return
    box = view.box(_stack_bounds(checked, depth))
    near = box[1] if edge == "top" else box[0]
    foot, top = (_along(view, point, edge) for point in _ends(frame, depth))
    total = plain_mm(depth.total_mm)
    yield _Measure(depth.stack, foot, top, total, near, near, Ink.DIMENSION, before=True)
    least = depth.least
    if isinf(least.mm) or least.sideways_mm is not None:
        return
    word = leftover_word(least, checked.report, scene.layout.settings.margin_mm)
    yield _Measure(
        depth.stack,
        _along(view, least.start, edge),
        _along(view, least.place, edge),
        left_text(least.mm, word.word),
        near,
        view.at(least.place)[1 if edge == "top" else 0],
        word.ink,
        before=False,
    )


def left_text(mm: float, word: str) -> str:
    """Return what a stack leaves as it stands on a dimension line: "8 clear", "4.2 overlap".

    >>> left_text(8.0, "clear"), left_text(-4.2, "overlap")
    ('8 clear', '4.2 overlap')
    """
    shown = abs(mm) if word in UNSIGNED else mm
    return f"{figure_mm(shown).removesuffix('.0')} {word}"


def _ends(frame: ZoneFrame, depth: StackDepth) -> tuple[Vec, Vec]:
    """Return where one side of a stack is seated and its farthest face, as world points."""
    sign, seat = 1.0 if depth.side == "inner" else -1.0, plate_mm(frame, depth.side)
    foot = frame.pose.point((0.0, 0.0, sign * seat))
    return foot, frame.pose.point((0.0, 0.0, sign * (seat + depth.total_mm)))


def _along(view: PaperView, world: Vec, edge: Edge) -> float:
    return view.at(world)[0 if edge == "top" else 1]


def _stack_bounds(checked: Checked, depth: StackDepth) -> Bounds3:
    """Return the bounds of what fills room on one side of a stack."""
    scene = checked.scene
    return whole_bounds(
        [
            prism
            for one in scene.items_of(scene.layout.stack(depth.stack))
            if one.side == depth.side
            for solid in scene.solids_of[one.id]
            if solid.hard
            for prism in solid.prisms
        ]
    )
