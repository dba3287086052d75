"""The stack-up of how far a part stands outside the cavity."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from geometry.measures.overlap import parting_shift
from geometry.measures.solid import Solid
from geometry.stackup.deviation import Deviation, Prisms
from geometry.stackup.faces import Solids, all_prisms
from geometry.stackup.stack_ups import Figure
from geometry.stackup.ways_out import overlap_figure
from geometry.walls import BEYOND_MM, SIDES

if TYPE_CHECKING:
    from geometry.stackup.figures import Tolerances


def outside_figure(tolerances: Tolerances, solids: Solids) -> Figure | None:
    """Return the figure of how far solids stand outside (negative): by the way back inside.

    By how far they pass the cavity's bounds where there is no way back; None where they do not
    stand outside, or no wall is left that bounds it.
    """
    walls = tolerances.scene.walls
    every, name = (*walls.solids, walls.beyond), walls.beyond.name
    if parting_shift(all_prisms(solids), all_prisms(every)) is None:
        return None
    back = overlap_figure(tolerances, solids, every, name, solids, _ends_inside)
    if back is not None:
        return back
    if {name for _, low, high in SIDES for name in (low, high)} - {s.owner for s in walls.solids}:
        return None

    def passing_when(one: Deviation, off_mm: float) -> float:
        moved = {s: new for s in (*solids, *every) if (new := one.moved(s, off_mm)) is not None}
        return _passing_mm(solids, walls.solids, moved) if moved else nominal

    nominal = _passing_mm(solids, walls.solids, {})
    moving = tuple(tolerances.moving((*solids, *every)))
    return Figure.of_one(tolerances.added_up(nominal, moving, passing_when), name)


def _ends_inside(mm: float) -> bool:
    """Whether a move ends inside, not beyond everything there is."""
    return mm < BEYOND_MM / 2


def _passing_mm(solids: Solids, walls: Solids, moved: Mapping[Solid, Prisms]) -> float:
    """Return minus how far solids pass the inner faces of the walls at most (mm)."""
    own = [p.bounds for p in all_prisms(solids, moved)]
    by_owner = {wall.owner: moved.get(wall, wall.prisms) for wall in walls}
    passing = []
    for axis, low, high in SIDES:
        floor = min(p.bounds[axis + 3] for p in by_owner[low])
        roof = max(p.bounds[axis] for p in by_owner[high])
        passing += [floor - min(b[axis] for b in own), max(b[axis + 3] for b in own) - roof]
    return -max(passing)
