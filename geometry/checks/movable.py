"""Who of two can be moved, and which way: what is locked or bolted is not told to move."""

from __future__ import annotations

from geometry.checks.bolting import slide_room
from geometry.checks.words import away_text, away_way, called, may_go
from geometry.measures.pose import Way
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.pairs import PairGap
from geometry.placement import Placed
from geometry.scene import Scene


def can_go(scene: Scene, owner: str, way: Way | None) -> bool:
    """Whether an owner of solids can be moved along a way, or at all where none is given.

    A free part can, and what is stacked as far as the slots of its zone leave room; not what is
    locked.
    """
    one = scene.placed.get(owner)
    if one is None or _is_locked(scene, one):
        return False
    if one.stack is None or one.frame is None:
        return True
    items = scene.items_of(one.stack)
    for along, axis in enumerate((one.frame.pose.x, one.frame.pose.y)):
        room = slide_room(items, along)
        at = (one.stack.slide_u_mm, one.stack.slide_v_mm)[along]
        for sign, left_mm in ((1, room.most_mm - at), (-1, at - room.least_mm)):
            there = axis if sign > 0 else -axis
            if way in (None, there) and left_mm > LENGTH_EPS_MM:
                return True
    return False


def move_advice(
    scene: Scene, one: str, other: str, way: Way | None, by: str, back: str | None = None
) -> str:
    """Advise to move `one` of two, or the `other` the opposite way where only that can be moved.

    `by` says how far and which way `one` would go, `back` the other. Where neither can go there it
    is told what would be needed and what forbids it. No full stop at the end.
    """
    if can_go(scene, one, way):
        return f"Move {called(scene, one)} {by}{may_go(scene, other)}"
    if back is not None and can_go(scene, other, None if way is None else -way):
        return f"Move {called(scene, other)} {back}"
    told = f"{called(scene, one)} would have to go {by}, but {_held_text(scene, one)}"
    return told + may_go(scene, other).replace(", or ", "; ", 1)


def away_advice(
    scene: Scene, gap: PairGap, one: str, other: str, by_mm: float | None = None
) -> str:
    """Advise to widen the gap between `one` and the `other` by moving one of them.

    `by_mm` is left out where tolerances may ask for more. No full stop at the end.
    """
    by, back = away_text(gap, by_mm), away_text(gap.swapped(), by_mm)
    return move_advice(scene, one, other, away_way(gap), by, back)


def _held_text(scene: Scene, owner: str) -> str:
    one = scene.placed.get(owner)
    if one is None:
        return "it belongs to the enclosure"
    if _is_locked(scene, one):
        return "it is locked"
    assert one.frame is not None
    return f"it is bolted to {scene.name_of(one.frame.zone.id)}"


def _is_locked(scene: Scene, one: Placed) -> bool:
    """Whether a part is locked, by itself or with its stack: a locked item holds all of that."""
    if one.stack is None:
        return one.use.locked
    return one.stack.locked or any(item.use.locked for item in scene.items_of(one.stack))
