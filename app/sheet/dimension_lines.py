"""Dimension lines beside a view, in lanes, by ISO 129-1:2018.

A lane is a line of dimensions that do not meet; lanes lie one outside the other, the shortest
dimensions nearest to the view. Values stand over the line, to be read from below or the right.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from app.drawing.dimensions import Measured, arrow_head, extension_lines
from app.drawing.drafting import Drafting
from app.drawing.fontmetrics import text_width_mm
from app.drawing.primitives import XY, Bounds, Ink, Path, Primitive, Stroke, Text
from geometry.measures.tolerance import LENGTH_EPS_MM

ON_PAPER = Drafting.on_paper(1.0)
LETTERING_MM = ON_PAPER.cap_mm
FIRST_LANE_MM = 8.0
LANE_MM = 7.0
_STROKE_HALF_MM = 0.9
_FIGURE_GAP_MM = 1.0
_LIFT_MM = 0.7

Edge = Literal["top", "left"]
EDGES: tuple[Edge, Edge] = ("top", "left")


@dataclass(frozen=True)
class Span:
    """A length to be dimensioned beside a view, on paper.

    It runs from `start` to `end` along the edge; `from_mm` and `to_mm` tell how deep in the view
    its two extension lines begin. `text` is the real length; a text that has no room inside
    stands past `end`, or past `start` where `before` is set.
    """

    start: float
    end: float
    text: str
    from_mm: float
    to_mm: float
    ink: Ink = Ink.DIMENSION
    before: bool = False

    @property
    def low(self) -> float:
        """The lesser end."""
        return min(self.start, self.end)

    @property
    def high(self) -> float:
        """The greater end."""
        return max(self.start, self.end)

    @property
    def narrow(self) -> bool:
        """Whether the figure stands outside, and oblique strokes in the place of arrows."""
        return self.high - self.low < max(2 * ON_PAPER.arrow_mm + 0.6, self.text_mm + 1.0)

    @property
    def text_mm(self) -> float:
        """Width of the figure."""
        return text_width_mm(self.text, LETTERING_MM)

    @property
    def figure_above(self) -> bool:
        """Whether a figure outside stands past the greater end."""
        return (self.end >= self.start) != self.before

    @property
    def reach(self) -> tuple[float, float]:
        """What the dimension takes up along its lane, figure and arrows included."""
        if not self.narrow:
            return self.low, self.high
        past = 2 * _FIGURE_GAP_MM + self.text_mm
        return (self.low, self.high + past) if self.figure_above else (self.low - past, self.high)


def lanes_of(spans: Sequence[Span]) -> list[list[Span]]:
    """Share spans out to lanes, the first nearest to the view.

    Each takes the first lane that is free over its reach; those that touch end to end make a
    chain of dimensions.
    """
    lanes: list[list[Span]] = []
    for span in spans:
        free = (lane for lane in lanes if not any(_meet(span, other) for other in lane))
        lane = next(free, None)
        if lane is None:
            lanes.append([span])
        else:
            lane.append(span)
    return lanes


def _meet(a: Span, b: Span) -> bool:
    (a0, a1), (b0, b1) = a.reach, b.reach
    return a0 < b1 - LENGTH_EPS_MM and b0 < a1 - LENGTH_EPS_MM


def lanes_depth_mm(lanes: Sequence[Sequence[Span]]) -> float:
    """Return how much room the lanes take beside the view, figures included."""
    if not lanes:
        return 0.0
    return FIRST_LANE_MM + (len(lanes) - 1) * LANE_MM + _LIFT_MM + LETTERING_MM


def lane_primitives(
    lanes: Sequence[Sequence[Span]], edge: Edge, core: Bounds
) -> tuple[Primitive, ...]:
    """Return all dimensions of one edge of a view, the figures over all of their lines."""
    side = core[1] if edge == "top" else core[0]
    out: list[Primitive] = []
    for number, lane in enumerate(lanes):
        level = side - FIRST_LANE_MM - number * LANE_MM
        for span in lane:
            out.extend(_dimension(span, edge, level))
    return tuple(sorted(out, key=lambda one: isinstance(one, Text)))


def _dimension(span: Span, edge: Edge, level: float) -> Iterator[Primitive]:
    def at(along: float, across: float) -> XY:
        return (along, across) if edge == "top" else (across, along)

    ends = (at(span.start, level), at(span.end, level))
    features = (at(span.start, span.from_mm), at(span.end, span.to_mm))
    yield from extension_lines(Measured(*ends, features), Ink.DIMENSION, ON_PAPER)
    low, high = span.low, span.high
    first, last = span.reach
    yield Path((at(first, level), at(last, level)), ON_PAPER.narrow(span.ink))
    for tip, way in ((low, -1.0), (high, 1.0)):
        if span.narrow:
            half = _STROKE_HALF_MM
            stroke = (at(tip - half, level + half), at(tip + half, level - half))
            yield Path(stroke, Stroke(span.ink, width_mm=0.35))
        else:
            yield arrow_head(at(tip, level), at(way, 0.0), span.ink, ON_PAPER)
    middle = (low + high) / 2
    if span.narrow:
        offset = _FIGURE_GAP_MM + span.text_mm / 2
        middle = high + offset if span.figure_above else low - offset
    angle = 0.0 if edge == "top" else 90.0
    yield Text(
        at(middle, level - _LIFT_MM),
        span.text,
        LETTERING_MM,
        Ink.TEXT if span.ink is Ink.DIMENSION else span.ink,
        across="middle",
        angle_deg=angle,
        halo=True,
    )
