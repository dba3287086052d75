"""The stack-up of how far a part stands outside the cavity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from geometry.measures.overlap import parting_shift
from geometry.measures.prism import Prism
from geometry.measures.solid import Solid
from geometry.stackup.deviation import Deviation, Prisms
from geometry.stackup.faces import Solids, all_prisms, axes_across
from geometry.stackup.pair_gaps import ALL_AXES
from geometry.stackup.sums import StackUp
from geometry.walls import BEYOND_MM, SIDES

if TYPE_CHECKING:
    from geometry.stackup.figures import Tolerances


def way_back_mm(a: Sequence[Prism], walls: Sequence[Prism]) -> float | None:
    """Return minus the least move along one axis that brings prisms back inside (mm).

    `walls` are all prisms that are not the cavity's. 0 where they are inside; None where no move
    ends inside, but only beyond everything there is.
    """
    shift = parting_shift(a, walls)
    if shift is None:
        return 0.0
    return -shift.mm if shift.mm < BEYOND_MM / 2 else None


def outside_stack_up(tolerances: Tolerances, solids: Solids) -> StackUp | None:
    """Return the stack-up of how far solids stand outside (negative): by the way back inside.

    By how far they pass the cavity's bounds where there is no way back; None where no wall is
    left that bounds it.
    """
    walls = tolerances.scene.walls
    every = (*walls.solids, walls.beyond)
    back = way_back_mm(all_prisms(solids), all_prisms(every))
    if back is not None:

        def outside_mm(a: Sequence[Prism], b: Sequence[Prism]) -> float:
            found = way_back_mm(a, b)
            return back if found is None else found

        shift = parting_shift(all_prisms(solids), all_prisms(every))
        axes = ALL_AXES if shift is None else axes_across(solids, shift.way)
        return tolerances.whole(solids, every, outside_mm, axes)
    if {name for _, low, high in SIDES for name in (low, high)} - {s.owner for s in walls.solids}:
        return None

    def passing_when(one: Deviation, off_mm: float) -> float:
        moved = {s: new for s in (*solids, *every) if (new := one.moved(s, off_mm)) is not None}
        return _passing_mm(solids, walls.solids, moved) if moved else nominal

    nominal = _passing_mm(solids, walls.solids, {})
    return tolerances.added_up(nominal, tuple(tolerances.moving((*solids, *every))), passing_when)


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
