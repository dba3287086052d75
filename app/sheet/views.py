"""The linked views on the sheet: drawn as on the board, at a scale of ISO 5455."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from app.drawing.primitives import XY, Bounds, Group
from app.sheet.annotated_view import (
    Amount,
    ViewContent,
    bare_views,
    enclosure_mm,
    view_contents,
)
from app.sheet.scale import OFFERED, Scale, ScaleError
from app.sheet.sheet_areas import Areas, centred
from app.sheet.view_drawing import arranged, fits, placed_groups

if TYPE_CHECKING:
    from app.drawing.frame import Projection
    from geometry.checks.runner import Checked


@dataclass(frozen=True)
class PlacedViews:
    """The views in their place on the first sheet.

    `taken` is the rectangle that they take up with all their dimensions and balloons; `balloons`
    tells where each finding's balloon stands; `beside` that tables go beside them, not below.
    """

    scale: Scale
    projection: Projection
    groups: tuple[Group, ...]
    taken: Bounds
    balloons: Mapping[int, XY]
    beside: bool


FULL = Amount(balloons=60, references=16)
AMOUNTS = (FULL, Amount(60, 0))
SPARE_AMOUNTS = tuple(Amount(balloons, 0) for balloons in (50, 40, 30, 20, 10, 0))
"""What is tried where there are so many findings that balloons would crowd the views out."""


def place_views(checked: Checked, areas: Areas, wanted: Scale | None) -> PlacedViews:
    """Place the views at the wanted scale, or at the largest at which they fit.

    Balloons of many findings may cost one step of scale, then the last of them are left out.
    Raises ScaleError when the views do not fit, and says which scale would.
    """
    if wanted is not None:
        placed = _Attempt(checked, areas, wanted).placed(AMOUNTS)
        if placed is not None:
            return placed
        fitting = place_views(checked, areas, None).scale
        raise ScaleError(
            f"the views do not fit on {areas.paper.name} at {wanted}; the largest scale of "
            f"ISO 5455 that fits is {fitting}"
        )
    attempts = [_Attempt(checked, areas, scale) for scale in _reasonable()]
    for number, attempt in enumerate(attempts):
        spare = attempt.placed(SPARE_AMOUNTS[-1:])
        if spare is None:
            continue
        for one in attempts[number : number + 2]:
            placed = one.placed(AMOUNTS)
            if placed is not None:
                return placed
        return attempt.placed(SPARE_AMOUNTS) or spare
    raise ScaleError(f"the views do not fit on {areas.paper.name} even at {attempts[-1].scale}")


def _reasonable() -> tuple[Scale, ...]:
    """Return the scales worth trying: from 10:1, since no enclosure is smaller than a match box."""
    return tuple(one for one in OFFERED if one.paper <= 10)


@dataclass(frozen=True)
class _Attempt:
    """The views at one scale, drawn once, tried in every room with more or less round them."""

    checked: Checked
    areas: Areas
    scale: Scale

    @cached_property
    def contents(self) -> tuple[ViewContent, ...]:
        return view_contents(self.checked, self.scale)

    def placed(self, amounts: Sequence[Amount]) -> PlacedViews | None:
        """Return the views in the first room that takes the first amount that fits, or None."""
        least = enclosure_mm(self.checked, self.scale)
        spaces = [
            (room, number == 0 and self.areas.two_columns)
            for number, room in enumerate(self.areas.for_views())
            if fits(least, room)
        ]
        for amount in amounts if spaces else ():
            bare = bare_views(self.checked, self.contents, amount)
            for room, beside in spaces:
                drawing = arranged(bare, room)
                if drawing is None:
                    continue
                at = centred(drawing.size, room)
                groups, balloons = placed_groups(drawing, at)
                taken = (at[0], at[1], at[0] + drawing.size[0], at[1] + drawing.size[1])
                projection = self.checked.scene.layout.settings.projection
                return PlacedViews(self.scale, projection, groups, taken, balloons, beside)
        return None
