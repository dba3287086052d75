"""What a part that leaves its layer changes in the order of its stack, in words."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.edits import fan_plan
from geometry.edits.base import find_spot
from geometry.layout import Layout
from geometry.references import SIDES

MOVES_ALONE = "moves alone; the rest of its stack stays"


def change_lines(before: Layout, after: Layout, part_id: str) -> Iterator[str]:
    """Yield which layer a stacked part leaves for which, and what becomes of push and pull.

    Layers are counted from the plate. Nothing is yielded for a part that was in no stack, or whose
    stack keeps its order.
    """
    was, now = find_spot(before, part_id), find_spot(after, part_id)
    if was is None:
        return
    stays = now is not None and (now.stack.zone, now.side) == (was.stack.zone, was.side)
    if now is not None and stays:
        if now.layer_index != was.layer_index:
            yield f"moves from layer {was.layer_index + 1} to layer {now.layer_index + 1}"
    elif sum(len(layer.items) for side in SIDES for layer in was.stack.side(side)) > 1:
        yield MOVES_ALONE
    for stack in before.stacks:
        same = next((one for one in after.stacks if one.id == stack.id), None)
        if same is None or same is stack:
            continue
        for side in SIDES:
            old, new = fan_plan(before, stack, side), fan_plan(after, same, side)
            if old is not None and new is not None and old != new:
                yield f"fans: {old} becomes {new}"
