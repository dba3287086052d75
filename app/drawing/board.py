"""The drawing board: all linked views of a layout as one drawing, in groups by what they show.

Keys: `wall:<view>`, `zone:<view>:<zone id>`, `solid:<view>:<owner id>`,
`keep-out:<view>:<owner id>`, `title:<view>`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from app.drawing.drafting import Drafting
from app.drawing.frame import BoardFrame, BoardSettings, ViewFrame
from app.drawing.owners import owners_of
from app.drawing.primitives import Drawing, Group, Ink, Text
from app.drawing.room import wall_primitives, zone_primitives
from app.drawing.views import body_primitives, far_to_near, keep_out_primitives

if TYPE_CHECKING:
    from geometry.checks.runner import Checked

__all__ = ["BoardFrame", "BoardSettings", "ViewFrame", "board_drawing"]


def board_drawing(
    checked: Checked,
    frame: BoardFrame,
    mm_per_px: float,
    selection: frozenset[str] = frozenset(),
) -> Drawing:
    """Return the board as it shows on a screen where one pixel is `mm_per_px`.

    `selection` holds ids of placed parts and obstacles.
    """
    drafting = Drafting.on_screen(mm_per_px)
    groups = [
        group for view in frame.views for group in _view_groups(checked, view, drafting, selection)
    ]
    return Drawing(frame.bounds, tuple(groups))


def _view_groups(
    checked: Checked, view: ViewFrame, drafting: Drafting, selection: frozenset[str]
) -> Iterator[Group]:
    scene = checked.scene
    walls = wall_primitives(scene.layout.enclosure, view, drafting)
    yield Group(f"wall:{view.name}", walls, 0)
    owners = far_to_near(owners_of(scene), view)
    taken = {stack.zone for stack in scene.layout.stacks if stack.inner or stack.outer}
    for zone_id, zone in scene.frames.items():
        if zone.present and zone_id in taken:
            shapes = zone_primitives(zone, view, drafting, empty=False)
            yield Group(f"zone:{view.name}:{zone_id}", shapes, 10)
    for place, shown in enumerate(owners):
        key = f"solid:{view.name}:{shown.owner}"
        yield Group(key, body_primitives(shown, view, drafting), 1_000 + place)
    for shown in owners:
        rooms = keep_out_primitives(shown.solids, view, drafting)
        if rooms:
            yield Group(f"keep-out:{view.name}:{shown.owner}", rooms, 5_000)
    for zone_id, zone in scene.frames.items():
        if zone.present and zone_id not in taken:
            shapes = zone_primitives(zone, view, drafting, empty=True)
            yield Group(f"zone:{view.name}:{zone_id}", shapes, 6_000)
    yield _title(view, drafting)


def _title(view: ViewFrame, drafting: Drafting) -> Group:
    at = (view.rect[0], view.rect[1] - 1.2 * drafting.cap_mm)
    text = Text(at, view.title, drafting.cap_mm, Ink.MUTED, bold=True)
    return Group(f"title:{view.name}", (text,), 9_000)
