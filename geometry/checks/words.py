"""The words of findings: millimetres, directions, names."""

from __future__ import annotations

from geometry.overlap import Shift
from geometry.pose import Way
from geometry.scene import Scene

_WAYS = {
    "+x": "to the front",
    "-x": "to the rear",
    "+y": "away from the access side",
    "-y": "towards the access side",
    "+z": "up",
    "-z": "down",
}


def mm_text(mm: float) -> str:
    """Write a length with one decimal, or with as many more as it takes to see it at all."""
    for decimals in (1, 2, 3):
        if abs(mm) >= 0.5 * 10.0**-decimals or mm == 0.0:
            return f"{mm:.{decimals}f} mm"
    return f"{mm:.6f} mm"


def way_text(way: Way) -> str:
    """Say a direction in the enclosure's own words."""
    return _WAYS[way.name]


def move_text(shift: Shift, extra_mm: float = 0.0) -> str:
    """Say a move: "4.0 mm to the rear"."""
    return f"{mm_text(shift.mm + extra_mm)} {way_text(shift.way)}"


def called(scene: Scene, owner: str) -> str:
    """Name an owner of solids, with its id where it is a placed part."""
    name = scene.name_of(owner)
    return f"{name} ({owner})" if owner in scene.placed else name


def may_go(scene: Scene, owner: str) -> str:
    """Say how an obstacle could be got out of the way; empty when it cannot be."""
    for obstacle in scene.layout.enclosure.obstacles:
        if obstacle.id == owner:
            if any(state.out for state in obstacle.states):
                return f", or take out {obstacle.name}"
            if len(obstacle.states) > 1:
                return f", or move {obstacle.name} to another of its places"
    return ""
