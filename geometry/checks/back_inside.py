"""Which way leads back inside the cavity for what shares room with a wall.

The least move that parts something from a thin wall may lead out through it. What has come through
by more than half of itself is parted sooner on the far side, where it has no place either.
"""

from __future__ import annotations

from collections.abc import Sequence

from geometry.measures.overlap import Shift, parting_shift
from geometry.measures.pose import Way
from geometry.measures.solid import Solid
from geometry.scene import Scene
from geometry.stack_sides import on_wall
from geometry.walls import BEYOND_MM, SIDES, WALL_NAMES

INWARD = {
    name: Way(axis, sign)
    for axis, low, high in SIDES
    for name, sign in ((low, 1), (high, -1))
}  # fmt: skip
"""The way from each wall into the cavity; none from a step."""

NO_WAY_BACK = "No move along one axis brings it inside: choose a smaller part or another place."


def leads_back(scene: Scene, own: Sequence[Solid], theirs: Sequence[Solid]) -> bool:
    """Whether what parts the solids of one part from some others has to lead back inside.

    So it has from a wall, but for what is stacked on the outer side of one.
    """
    one = scene.placed.get(own[0].owner)
    if one is None or any(solid.owner not in WALL_NAMES for solid in theirs):
        return False
    return not (one.side == "outer" and on_wall(scene.layout, one))


def back_inside(
    scene: Scene, own: Sequence[Solid], wall: str, parting: Shift | None
) -> Shift | None:
    """Return the least move along one axis by which solids leave a wall for the cavity.

    `parting` is the least that parts both. It stands where it leads straight in; sideways too for
    room that is kept for a hand or a cable, which may go out through an opening. None where no
    move along one axis ends inside.
    """
    inward = INWARD.get(wall)
    if parting is None or parting.way == inward:
        return parting
    hard = [p for solid in own if solid.hard for p in solid.prisms]
    if not hard and inward is not None and parting.way != -inward:
        return parting
    prisms = [p for solid in own for p in solid.prisms]
    back = parting_shift(prisms, scene.walls.all_but_cavity)
    if back is not None and back.mm < BEYOND_MM / 2:
        return back
    if inward is None:
        return None
    axis, cavity = inward.axis, scene.walls.cavity
    passing_mm = (
        cavity[axis] - min(p.bounds[axis] for p in prisms)
        if inward.sign > 0
        else max(p.bounds[axis + 3] for p in prisms) - cavity[axis + 3]
    )
    return Shift(inward, passing_mm)
