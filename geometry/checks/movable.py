"""Who of two can be moved, which way and how far: what is locked or bolted is not told to move."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from geometry.checks.bolting import slide_room
from geometry.checks.words import at_least, away_text, away_way, called, may_go, mm_text
from geometry.measures.pose import Way
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.pairs import PairGap
from geometry.placement import Placed
from geometry.scene import Scene


def room_to_go_mm(scene: Scene, owner: str, way: Way | None) -> float:
    """Return how far an owner of solids can be moved along a way, or any way where none is given.

    A free part as far as one likes, and what is stacked as far as the slots of its zone leave room;
    what is locked or belongs to the enclosure not at all.
    """
    one = scene.placed.get(owner)
    if one is None or _is_held(one):
        return 0.0
    if one.stack is None or one.frame is None:
        return inf
    items, most_mm = scene.items_of(one.stack), 0.0
    for along, axis in enumerate((one.frame.pose.x, one.frame.pose.y)):
        if way is not None and way.axis != axis.axis:
            continue
        room = slide_room(items, along)
        at = (one.stack.slide_u_mm, one.stack.slide_v_mm)[along]
        for there, left_mm in ((axis, room.most_mm - at), (-axis, at - room.least_mm)):
            if way in (None, there):
                most_mm = max(most_mm, left_mm)
    return most_mm


def can_go(scene: Scene, owner: str, way: Way | None, by_mm: float = 0.0) -> bool:
    """Whether an owner of solids can be moved by so much along a way; by any length where 0."""
    room_mm = room_to_go_mm(scene, owner, way)
    return room_mm > LENGTH_EPS_MM and meets(room_mm, by_mm)


class Push(NamedTuple):
    """What parts two things: the way of the one, the least that it takes, and both in words.

    `by` says how far and which way the one would go, `back` the other, and `least` stands before
    both where it may take more.
    """

    way: Way | None
    by_mm: float
    by: str
    back: str | None = None
    least: str = ""


def move_advice(scene: Scene, one: str, other: str, push: Push) -> str:
    """Advise to move `one` of two, or the `other` the opposite way where only that can be moved.

    Where neither can go that far it is told what would be needed and what forbids it. No full stop
    at the end.
    """
    way, by_mm, by, back, least = push
    if can_go(scene, one, way, by_mm):
        return f"Move {called(scene, one)} {least}{by}{may_go(scene, other)}"
    if back is not None and can_go(scene, other, None if way is None else -way, by_mm):
        return f"Move {called(scene, other)} {least}{back}"
    told = f"{called(scene, one)} {_held_text(scene, one, way)} and cannot move {least}{by}"
    instead = may_go(scene, other).removeprefix(", or ")
    return f"{told}. {instead[:1].upper()}{instead[1:]}" if instead else told


def away_advice(scene: Scene, gap: PairGap, one: str, other: str, missing_mm: float) -> str:
    """Advise to widen the gap between `one` and the `other` by moving one of them.

    By at least `missing_mm` where tolerances may ask for more. No full stop at the end.
    """
    by, back = away_text(gap, missing_mm), away_text(gap.swapped(), missing_mm)
    return move_advice(
        scene, one, other, Push(away_way(gap), missing_mm, by, back, at_least(scene))
    )


def _held_text(scene: Scene, owner: str, way: Way | None) -> str:
    one = scene.placed.get(owner)
    if one is None:
        return "belongs to the enclosure"
    if _is_held(one):
        return "is locked"
    assert one.frame is not None
    bolted = f"is bolted to {scene.name_of(one.frame.zone.id)}"
    room_mm = room_to_go_mm(scene, owner, way)
    slots = f", whose slots leave {mm_text(room_mm)}," if room_mm > LENGTH_EPS_MM else ""
    return f"{bolted}{slots}"


def _is_held(one: Placed) -> bool:
    """Whether a part stays where it is for a lock, be it that of another item of its stack."""
    return one.use.locked if one.stack is None else one.stack.is_fixed
