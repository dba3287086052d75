"""The linked views on the sheet: drawn as on the board, at a scale of ISO 5455."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.drawing.primitives import XY, Bounds, Group
from app.sheet.annotated_view import bare_views, enclosure_mm
from app.sheet.callouts import LEANS
from app.sheet.rooms import Rooms, centred
from app.sheet.scale import SCALES, Scale, ScaleError
from app.sheet.view_drawing import arranged, placed_groups
from geometry.tolerance import meets

if TYPE_CHECKING:
    from app.drawing.frame import Projection
    from geometry.checks.runner import Checked

COARSEST = Scale(1, 100)


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


def place_views(checked: Checked, rooms: Rooms, wanted: Scale | None) -> PlacedViews:
    """Place the views at the wanted scale, or at the largest at which they fit.

    Raises ScaleError when they do not fit, and says which scale would.
    """
    tried = (wanted,) if wanted is not None else _reasonable()
    for scale in tried:
        placed = _placed_at(checked, rooms, scale)
        if placed is not None:
            return placed
    if wanted is None:
        raise ScaleError(f"the views do not fit on {rooms.paper.name} even at {COARSEST}")
    fits = place_views(checked, rooms, None).scale
    raise ScaleError(
        f"the views do not fit on {rooms.paper.name} at {wanted}; the largest scale of ISO 5455 "
        f"that fits is {fits}"
    )


def _reasonable() -> tuple[Scale, ...]:
    """Return the scales worth trying: an enclosure of under 20 mm is none."""
    return tuple(one for one in SCALES if one.paper <= 10 and one.real <= COARSEST.real)


def _placed_at(checked: Checked, rooms: Rooms, scale: Scale) -> PlacedViews | None:
    least = enclosure_mm(checked, scale)
    spaces = [
        (room, k == 0 and rooms.two_columns)
        for k, room in enumerate(rooms.view_rooms())
        if _fits(least, room)
    ]
    if not spaces:
        return None
    bare = bare_views(checked, scale)
    for room, beside in spaces:
        for lean in LEANS:
            drawing = arranged(bare, lean)
            if not _fits(drawing.size, room):
                continue
            at = centred(drawing.size, room)
            groups, balloons = placed_groups(drawing, at)
            taken = (at[0], at[1], at[0] + drawing.size[0], at[1] + drawing.size[1])
            projection = checked.scene.layout.settings.projection
            return PlacedViews(scale, projection, groups, taken, balloons, beside)
    return None


def _fits(size: XY, room: Bounds) -> bool:
    return meets(room[2] - room[0], size[0]) and meets(room[3] - room[1], size[1])
