"""Groups made ready to paint without the scene's items: strips and texts, and where they show."""

from __future__ import annotations

from bisect import bisect_right
from math import ceil, floor

from PySide6.QtCore import QRectF

from app.drawing.board_making import LEVEL_BALLOON, LEVEL_HIDDEN, LEVEL_SELECTED
from app.drawing.frame import union_bounds
from app.drawing.primitives import Bounds, Group, Text
from app.ui.board.picture_layers import Span
from app.ui.board.strips import Looks, Strip, bounds_of, runs_of, strips_of
from app.ui.board.text_images import Stamp, TextImages, text_bounds

EDGE_DOTS = 2
"""How far beyond its rectangle a smoothed edge may show."""

PAPER, BODIES, LINES, FIGURES, NOTES = range(5)
"""The layers: paper; bodies and zones; hidden edges, keep-outs and names; marks and dimensions;
balloons and what follows the pointer."""

_FIRST_LEVELS = (LEVEL_HIDDEN, LEVEL_SELECTED, LEVEL_BALLOON)
"""The lowest level of each layer over the bodies."""

ToDots = tuple[float, float, float]
"""The way from the board to dots: how many a millimetre, and those right and down of its origin."""

Mark = tuple[Bounds, Strip | Stamp]
"""What is painted at a stroke, and the bounds within which it shows (mm)."""


class ReadyGroup:
    """A group made ready to paint: its layer, the dots that it touches, and its marks."""

    __slots__ = ("_marks", "_unstamped", "bounds", "group", "layer", "level", "span")

    def __init__(self, group: Group, looks: Looks, to_dots: ToDots) -> None:
        self.group, self.level = group, group.level
        self.layer = BODIES + bisect_right(_FIRST_LEVELS, self.level)
        self._marks: list[Mark] = []
        self._unstamped: list[tuple[Bounds, Strip | Text]] = []
        for run in runs_of(group):
            text = run[0]
            if isinstance(text, Text):
                self._unstamped.append((text_bounds(text), text))
            else:
                self._unstamped += [(bounds_of(strip), strip) for strip in strips_of(run, looks)]
        every = [bounds for bounds, _ in self._unstamped]
        self.bounds = x0, y0, x1, y1 = union_bounds(every) if every else (0.0, 0.0, 0.0, 0.0)
        scale, right, down = to_dots
        self.span: Span = (
            floor(x0 * scale + right) - EDGE_DOTS,
            floor(y0 * scale + down) - EDGE_DOTS,
            ceil(x1 * scale + right) + EDGE_DOTS,
            ceil(y1 * scale + down) + EDGE_DOTS,
        )

    def marks(self, texts: TextImages) -> list[Mark]:
        """Return its marks from the back to the front; its texts are painted once."""
        if self._unstamped:
            self._marks = [
                (bounds, texts.stamp(mark) if isinstance(mark, Text) else mark)
                for bounds, mark in self._unstamped
            ]
            self._unstamped = []
        return self._marks

    @property
    def rect(self) -> QRectF:
        """The rectangle round it on the board."""
        x0, y0, x1, y1 = self.bounds
        return QRectF(x0, y0, x1 - x0, y1 - y0)
