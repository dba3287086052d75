"""Where a new part can stand without touching anything, for placing with the keys."""

from __future__ import annotations

import numpy as np

from catalog.parts import Part
from geometry.drop import Drop
from geometry.edits import add_free
from geometry.measures.pose import Vec
from geometry.placement import Placed
from geometry.scene import Scene, build_scene

STEPS = 24
"""Places tried along every axis of the cavity."""


def free_drop(scene: Scene, part: Part, placed: Placed | None) -> Drop:
    """Return the drop that leaves a part free: a placed one where it stands, a new one off all.

    Boxes round the solids are compared, so it may pass over a spot; where none is found the part
    starts in the middle of the cavity.
    """
    if placed is not None:
        return Drop(part, placed.id, at_mm=placed.pose.shift)
    layout, made = add_free(scene.layout, part, (0.0, 0.0, 0.0), "+x", "+z")
    own = [p.bounds for s in build_scene(layout, scene).solids_of[made] if s.hard for p in s.prisms]
    least = np.min([b[:3] for b in own], axis=0)
    most = np.max([b[3:] for b in own], axis=0)
    return Drop(part, None, at_mm=_spot(scene, least, most))


def _spot(scene: Scene, least: np.ndarray, most: np.ndarray) -> Vec:
    """Return the shift nearest to the middle at which the box from `least` to `most` is alone."""
    cavity = np.asarray(scene.walls.cavity, dtype=float)
    margin = scene.layout.settings.margin_mm
    middle = (cavity[:3] + cavity[3:]) / 2 - (least + most) / 2
    low, high = cavity[:3] - least + margin, cavity[3:] - most - margin
    if np.any(low > high):
        return _whole(middle)
    axes = [np.linspace(low[k], high[k], STEPS) for k in range(3)]
    shifts = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    shifts = np.round(shifts[np.argsort(np.linalg.norm(shifts - middle, axis=1), kind="stable")])
    alone = np.ones(len(shifts), dtype=bool)
    for prism in (p for solid in scene.solids if solid.hard for p in solid.prisms):
        other = np.asarray(prism.bounds, dtype=float)
        clear = (shifts + most + margin <= other[:3]) | (shifts + least - margin >= other[3:])
        alone &= clear.any(axis=1)
    return _whole(shifts[np.argmax(alone)] if alone.any() else middle)


def _whole(at: np.ndarray) -> Vec:
    return (float(round(at[0])), float(round(at[1])), float(round(at[2])))
