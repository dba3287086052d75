"""What one search has found so far, with the order that it answers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from app.ui.search.apply import Ground
from app.ui.search.worker import SearchOrder, Told
from geometry.search.near.summary import NearFound
from geometry.search.summary import RowSummary, Summary

if TYPE_CHECKING:
    from app.sheet.fits_content import Fits


@dataclass(frozen=True, eq=False)
class Found:
    """The rows and the answer of an order; `ground` tells what they may be put into."""

    order: SearchOrder
    ground: Ground
    rows: tuple[RowSummary, ...] = ()
    answer: Summary | None = None
    near: NearFound | None = None

    @classmethod
    def nothing_yet(cls, order: SearchOrder) -> Found:
        """Return what an order has found when it begins."""
        return cls(order, Ground.of(order.layout, order.wishes))

    def with_told(self, told: Told) -> Found:
        """Return this with what a search tells that is new."""
        return replace(
            self,
            ground=self.ground.knowing(row.layout for row in told.rows),
            rows=(*self.rows, *told.rows),
            answer=told.answer or self.answer,
            near=told.near or self.near,
        )

    @property
    def answered(self) -> bool:
        """Whether all but the near misses is worked out."""
        return self.answer is not None and self.answer.done

    @property
    def near_missing(self) -> bool:
        """Whether near misses were asked for and not all looked for."""
        return self.order.near and not (self.near is not None and self.near.done)

    @property
    def worth_keeping(self) -> bool:
        """Whether there is something to show: rows, or that there are none."""
        return bool(self.rows) or self.answered

    def fits(self) -> Fits | None:
        """Return it as it goes on a sheet; None before there is an answer."""
        from app.sheet.fits_content import Fits

        if self.answer is None:
            return None
        order = self.order
        return Fits(order.layout, order.wishes, order.seconds, self.answer, self.rows, self.near)
