"""What of a wall lies behind something that stands against it: metal or openings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import get_args

from catalog.enclosure import Enclosure, Opening, WallName
from geometry.measures.area import shared_area
from geometry.measures.prism import Outline, view
from geometry.part_solids import shape_prism

WALL_AXIS = {"rear": 0, "front": 0, "access": 1, "far": 1, "floor": 2, "roof": 2}
"""The world axis across each wall."""

FACES_LOW = frozenset(("rear", "access", "floor"))
"""Walls that are met on the way to lesser coordinates."""


def wall_of(enclosure: Enclosure, owner: str | None) -> str | None:
    """Return the wall that an id names, itself or by a panel in it; None for anything else."""
    for panel in enclosure.panels:
        if panel.id == owner:
            return panel.wall
    return owner if owner in get_args(WallName) else None


def openings_behind(
    enclosure: Enclosure, wall: str, footprint: Sequence[Outline]
) -> tuple[tuple[Opening, ...], float]:
    """Return the openings of a wall behind a footprint, and the area that they take of it (mm2).

    The footprint is seen along the wall's axis, in world coordinates.
    """
    behind: list[Opening] = []
    outlines: list[Outline] = []
    for opening in enclosure.openings:
        if opening.wall == wall:
            outline = view(shape_prism(opening.shape), WALL_AXIS[wall])
            if shared_area(footprint, [outline]) > 0.0:
                behind.append(opening)
                outlines.append(outline)
    return tuple(behind), shared_area(footprint, outlines) if outlines else 0.0


def own_area(footprint: Sequence[Outline]) -> float:
    """Return the area of the union of outlines (mm2)."""
    return shared_area(footprint, footprint)
