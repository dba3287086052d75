"""The room that two groups of solids share: the shift that parts them, and its volume."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from geometry.checks.back_inside import back_inside, leads_back
from geometry.measures.overlap import Shift, parting_shift
from geometry.measures.prism import Prism
from geometry.measures.solid import Solid
from geometry.measures.volume import is_quick, overlap_volume_mm3
from geometry.scene import Scene

Sides = tuple[tuple[Solid, ...], tuple[Solid, ...]]

Volumes = Literal["all", "quick", "none"]
"""Of what the volume of shared room is told. Of round things across each other it costs most of a
check: `quick` leaves those out, as while dragging; `none` is for who looks at many layouts."""


@dataclass(frozen=True)
class Shared:
    """The room that two groups of solids share: the shift that parts them, and its volume.

    What shares room with a wall is parted by the way back inside; the shift is None where no move
    along one axis leads there. The volume is None where it was not asked for.
    """

    shift: Shift | None
    volume_mm3: float | None = None


def shared_room(scene: Scene, sides: Sides, known: Shared | None, volumes: Volumes) -> Shared:
    """Return what two groups share, each taken as one union; what is `known` is taken over."""
    if known is not None and (volumes == "none" or known.volume_mm3 is not None):
        return known
    a, b = (_prisms(side) for side in sides)
    if known is None:
        known = Shared(_parting(scene, sides, a, b))
    told = volumes == "all" or (volumes == "quick" and is_quick(a, b))
    return replace(known, volume_mm3=overlap_volume_mm3(a, b)) if told else known


def _prisms(solids: Sequence[Solid]) -> tuple[Prism, ...]:
    return tuple(p for solid in solids for p in solid.prisms)


def _parting(scene: Scene, sides: Sides, a: Sequence[Prism], b: Sequence[Prism]) -> Shift | None:
    shift = parting_shift(a, b)
    if leads_back(scene, *sides):
        return back_inside(scene, sides[0], sides[1][0].owner, shift)
    return shift
