"""Slides and moves that do a part of what is missing, beside which another change does the rest.

Of two that strike each other each can give way by half. A stack whose slots end before it is clear
goes as far as they go.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import ceil, floor, inf

from geometry.checks.bolting import slide_room
from geometry.layout import FreePart, Stack
from geometry.measures.pose import Way, way
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.search.mending.measured import (
    ENDS,
    FARTHEST_MM,
    move_by,
    places_along,
    slide_by,
)
from geometry.search.mending.steps import TENTH_MM, Step
from geometry.search.mending.wanted import Wanted


def shared_slides(scene: Scene, stack: Stack, wanted: Wanted) -> Iterator[Step]:
    """Yield the slides of a stack by half of what a finding misses, and to the end of its slots.

    Along each of its axes the way is taken by which less is missing, of those with any slide left.
    """
    items = scene.items_of(stack)
    mine = {stack.id, *(one.id for one in items)}
    frame = scene.frames[stack.zone]
    for along, at in enumerate((stack.slide_u_mm, stack.slide_v_mm)):
        room = slide_room(items, along)
        if not room.possible or room.most_mm - room.least_mm == inf:
            continue
        axis = frame.pose.x if along == 0 else frame.pose.y
        for finding in wanted.findings:
            if not mine & set(finding.ids):
                continue
            ways = [
                (_missing_mm(scene, stack.id, on, wanted.alone(finding)), sign, most)
                for on, sign, most in (
                    (axis, 1, room.most_mm - at),
                    (-axis, -1, at - room.least_mm),
                )
                if most >= TENTH_MM - LENGTH_EPS_MM
            ]
            if ways:
                missing, sign, most = min(ways)
                yield from _shares(missing, most, slide_by(scene, stack, along, sign))


def shared_moves(scene: Scene, one: Placed, wanted: Wanted) -> Iterator[Step]:
    """Yield the moves of a free part by half of what a finding misses, along the six directions."""
    if not isinstance(one.use, FreePart) or one.use.locked:
        return
    for finding in wanted.findings:
        if one.id in finding.ids:
            for on in map(way, ENDS):
                missing = _missing_mm(scene, one.id, on, wanted.alone(finding))
                yield from _shares(missing, FARTHEST_MM, move_by(scene, one, on))


def _missing_mm(scene: Scene, mover: str, on: Way, wanted: Wanted) -> float:
    """Return how far something has to go along a way until one finding is gone, as drawn.

    What else is in the way does not count. What is clear as drawn misses its margin; infinite
    where no place is near.
    """
    (finding,) = wanted.findings
    places = places_along(scene, mover, on, FARTHEST_MM, wanted, beside=finding.ids)
    drawn = places[0][0] if places else inf
    return max(drawn, -(finding.to_margin_mm or 0.0))


def _shares(missing_mm: float, most_mm: float, by: Callable[[int], Step]) -> Iterator[Step]:
    if missing_mm == inf:
        return
    most, half = floor(most_mm / TENTH_MM + 1e-6), ceil(missing_mm / 2 / TENTH_MM - 1e-6)
    if 1 <= half <= most:
        yield by(half)
    if 1 <= most < missing_mm / TENTH_MM:
        yield by(most)
