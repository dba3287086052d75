"""How the drawing space of a sheet is shared between views, tables and title block."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count

from app.drawing.primitives import XY, Bounds
from app.sheet.flow import Column
from app.sheet.mark_strip import STRIP_MM
from app.sheet.paper import MARK_REACH_MM, Paper
from app.sheet.title_block import HEIGHT_MM as BLOCK_HEIGHT_MM

GUTTER_MM = 14.0
_CLEAR_MM = 1.0
_MARGIN_MM = 6.0
_UNDER_VIEWS_MM = 8.0
_CLOSE_MM = 2.5
LEAST_COLUMN_MM = 60.0
"""A column lower than this is not opened under the views."""


@dataclass(frozen=True)
class Areas:
    """The areas of one paper size. Text keeps clear of the centring marks."""

    paper: Paper

    @property
    def left(self) -> float:
        """Left edge of everything, beside the left centring mark."""
        return self.paper.frame[0] + MARK_REACH_MM + _CLEAR_MM

    @property
    def right(self) -> float:
        """Right edge of everything, beside the right centring mark."""
        return self.paper.frame[2] - MARK_REACH_MM - _CLEAR_MM

    @property
    def two_columns(self) -> bool:
        """Whether two columns stand side by side; the upper centring mark is between them."""
        return self.paper.width_mm > self.paper.height_mm

    @property
    def column_mm(self) -> float:
        """Width of a column of tables."""
        whole = self.right - self.left
        return (whole - GUTTER_MM) / 2 if self.two_columns else whole

    @property
    def top(self) -> float:
        """Top of the columns."""
        clear = _MARGIN_MM if self.two_columns else MARK_REACH_MM + _CLEAR_MM
        return self.paper.frame[1] + clear

    @property
    def foot(self) -> float:
        """Foot of a column beside the title block."""
        return self.paper.frame[3] - _MARGIN_MM

    def over_block(self, *, strip: bool) -> float:
        """Return the foot of a column over the title block, and over the strip where it is."""
        block = BLOCK_HEIGHT_MM + (STRIP_MM if strip else 0.0)
        return self.paper.frame[3] - block - _MARGIN_MM

    def for_views(self) -> tuple[Bounds, ...]:
        """Return where the views may stand on the first sheet, the preferred area first."""
        whole = (
            self.left,
            self.paper.frame[1] + MARK_REACH_MM + _CLEAR_MM,
            self.right,
            self.over_block(strip=True),
        )
        if not self.two_columns:
            return (whole,)
        return ((self.left, self.top, self.left + self.column_mm, self.foot), whole)

    def under_views(self, views: Bounds) -> Bounds:
        """Return what the views leave free below them, in the left or only column."""
        foot = self.foot if self.two_columns else self.over_block(strip=True)
        return (self.left, views[3] + _UNDER_VIEWS_MM, self.left + self.column_mm, foot)

    def close_under_views(self, views: Bounds) -> Bounds:
        """Return the same with no more air round it than it takes to tell things apart."""
        left, top, right, foot = self.under_views(views)
        return (left, top - _UNDER_VIEWS_MM + _CLOSE_MM, right, foot + _MARGIN_MM - _CLOSE_MM)

    def columns(self, views: Bounds, *, beside: bool, kept_mm: float) -> Iterator[Column]:
        """Yield the columns of all sheets, without end: what the views leave, then whole sheets.

        `views` is what they take up, `beside` tells that they stand in the left column, `kept_mm`
        is what something else takes at the foot of the area under them.
        """
        left, under, edge, foot = self.under_views(views)
        first = [(left, under, edge, foot - kept_mm)]
        if self.two_columns:
            top = self.top if beside else under
            first.insert(0 if beside else 1, self._right_column(top, strip=True))
        for box in first:
            if box[3] - box[1] >= LEAST_COLUMN_MM:
                yield Column(0, box)
        for sheet in count(1):
            if self.two_columns:
                yield Column(sheet, (left, self.top, edge, self.foot))
                yield Column(sheet, self._right_column(self.top, strip=False))
            else:
                yield Column(sheet, (left, self.top, edge, self.over_block(strip=False)))

    def _right_column(self, top: float, *, strip: bool) -> Bounds:
        return (self.right - self.column_mm, top, self.right, self.over_block(strip=strip))


def centred(size: XY, area: Bounds) -> XY:
    """Return the top left corner of something centred at the top of an area."""
    return (area[0] + (area[2] - area[0] - size[0]) / 2, area[1])
