"""The drawing board: all linked views of a layout as one drawing, in groups by what they show.

Keys, from the back to the front: `wall:<view>`, `zone:<view>:<zone>`, `solid:<view>:<owner>`,
`hidden:<view>:<owner>`, `keep-out:<view>:<owner>`, `label:<view>:<owner>`,
`zone-name:<view>:<zone>`, `selected:<view>:<owner>`, `overall:<view>`, `title:<view>`,
`stack:<view>:<stack>:<side>`, `depth:<stack>:<side>`, `marks:<view>:<finding>`, `finding:<n>`,
`cut:<view>:<obstacle>:<end>`, `cut-mark:<view>:<obstacle>:<end>`.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator
from typing import TYPE_CHECKING

from app.drawing.annotations import Crowd
from app.drawing.balloons import balloon_box, circle_box, note_box
from app.drawing.board_making import BoardMemory, Making, Shows
from app.drawing.board_notes import (
    balloon_groups,
    mark_boxes,
    mark_groups,
    overall_groups,
    placed_balloons,
    with_room,
)
from app.drawing.board_parts import view_groups
from app.drawing.chains import chain_groups
from app.drawing.cut_marks import cut_groups
from app.drawing.depth_groups import depth_groups
from app.drawing.dimensions import Room
from app.drawing.drafting import Drafting
from app.drawing.frame import BoardFrame, BoardSettings, ViewFrame, union_bounds
from app.drawing.memory import Memory
from app.drawing.owners import owners_of
from app.drawing.primitives import XY, Bounds, Drawing, Group, Path
from app.drawing.silhouettes import meets_any

if TYPE_CHECKING:
    from geometry.checks.runner import Checked

__all__ = [
    "BoardFrame",
    "BoardMemory",
    "BoardSettings",
    "ViewFrame",
    "board_drawing",
    "board_steps",
    "paper_drawing",
]


PLAIN = Shows()
"""Nothing selected or lit, lengths in millimetres."""


def board_drawing(
    checked: Checked,
    frame: BoardFrame,
    mm_per_px: float,
    shows: Shows = PLAIN,
    *,
    memory: BoardMemory | None = None,
    sheet: Bounds | None = None,
) -> Drawing:
    """Return the board as it shows on a screen where one pixel is `mm_per_px`.

    Pass the same `memory` each time, and groups that did not change are the same objects as before.
    Annotations keep within the `sheet`; those that find no place on it, or off the others, are left
    out: notes beside balloons first, then figures of a chain, then leftover depths, overall
    dimensions last.
    """
    kept = memory if memory is not None else Memory()
    return _whole(board_steps(checked, frame, mm_per_px, shows, kept, sheet))


def board_steps(
    checked: Checked,
    frame: BoardFrame,
    mm_per_px: float,
    shows: Shows,
    memory: BoardMemory,
    sheet: Bounds | None = None,
) -> Generator[None, None, Drawing]:
    """Lay the board out in steps between which something else can be done; return its drawing.

    May be left off at any step: what `memory` holds stays right.
    """
    drafting = memory.get(
        "drafting",
        (mm_per_px, shows.inches),
        lambda: Drafting.on_screen(mm_per_px, inches=shows.inches),
    )
    return (yield from _steps(Making(checked, frame, drafting, shows, memory, sheet)))


def paper_drawing(checked: Checked, frame: BoardFrame, one_to: float) -> Drawing:
    """Return the board for paper at the scale 1 : `one_to`, in world millimetres.

    Shrink it by `one_to` to put it on a sheet.
    """
    return _whole(_steps(Making(checked, frame, Drafting.on_paper(one_to), PLAIN, Memory())))


def _lines(group: Group) -> Iterator[tuple[XY, XY]]:
    """Yield the straight lines of a group, which names keep clear of."""
    for one in group.primitives:
        if isinstance(one, Path) and len(one.points) == 2:
            yield (one.points[0], one.points[1])


def _whole(steps: Generator[None, None, Drawing]) -> Drawing:
    while True:
        try:
            next(steps)
        except StopIteration as end:
            drawing: Drawing = end.value
            return drawing


def _steps(making: Making) -> Generator[None, None, Drawing]:
    """Lay all groups out, annotations first, since the names of parts keep off them."""
    memory = making.memory
    owners = owners_of(making.checked.scene, memory)
    yield
    overall = overall_groups(making)
    fixed = tuple(box for _, boxes in overall for box in boxes)
    crowd = memory.get("crowd", owners, lambda: Crowd(owners, memory.last("crowd")))
    balloons = placed_balloons(making, crowd, fixed)
    yield
    leaders = tuple((one.centre, one.call.anchor) for one in balloons)
    circles = tuple([circle_box(one, making.drafting) for one in balloons])
    # Where a balloon found no place off them they give way: a finding's number is always seen.
    overall = tuple(
        noted for noted in overall if not any(meets_any(circle, noted[1]) for circle in circles)
    )
    fixed = tuple(box for _, boxes in overall for box in boxes)
    notes = tuple(box for one in balloons for box in [note_box(one, making.drafting)] if box)
    room = Room((*fixed, *circles), notes, making.sheet)
    depths = list(depth_groups(making, room))
    figures = tuple(box for _, boxes in depths for box in boxes)
    room = room.without(*figures)
    yield
    marks = yield from mark_groups(making)
    chains = list(chain_groups(making, room, crowd, leaders))
    chained = tuple(box for _, boxes in chains for box in boxes)
    room = room.without(*chained)
    cuts = cut_groups(making, room)
    cut_boxes = tuple(box for _, boxes in cuts for box in boxes)
    lines = (
        *leaders,
        *(line for group, _ in (*overall, *chains) for line in _lines(group)),
    )
    balloons, said = with_room(making, balloons, circles, room.without(*cut_boxes))
    kept_clear = (*figures, *chained, *cut_boxes, *mark_boxes(marks), *fixed, *circles, *said)
    groups: list[Group] = []
    for view in making.frame.views:
        yield
        groups += yield from view_groups(making, view, crowd, kept_clear, lines)
    groups += (group for group, _ in (*overall, *chains, *cuts))
    groups += marks
    groups += (group for group, _ in depths)
    groups += balloon_groups(making, balloons)
    memory.forget_unused()
    beyond = (*fixed, *chained, *figures, *cut_boxes)
    reach = [making.frame.bounds, *beyond, *[balloon_box(one, making.drafting) for one in balloons]]
    return Drawing(union_bounds(reach), tuple(groups))
