"""Shipped enclosures filled to the brim: every zone with a push-pull stack, free parts between.

Each zone gets the slimmest exchanger that fits it between fans on both faces; then free parts of
the library are put at random places of the cavity, so that many run into something. Seeded: an
enclosure is always filled alike.
"""

from __future__ import annotations

import random

from catalog.parts import Exchanger, Fan, part_cells
from catalog.store import Library
from geometry.drop import Drop, drop_targets
from geometry.edits import add_free, fill_fans
from geometry.layout import Layout
from geometry.measures.prism import Prism
from geometry.scene import Scene, build_scene

SEED = 20_260
FREE_PARTS = 24
Part = tuple[Prism, ...]


def filled(library: Library, enclosure_id: str) -> Scene:
    """Return the scene of an enclosure with a stack on every zone and `FREE_PARTS` free parts."""
    layout = Layout(name="Filled", enclosure=library.enclosure(enclosure_id))
    fans = [part for part in library.parts.values() if isinstance(part, Fan)]
    exchangers = [part for part in library.parts.values() if isinstance(part, Exchanger)]
    exchangers.sort(key=lambda part: (part.core_thickness_mm, -len(part.cells)))
    for zone in layout.enclosure.zones:
        scene = build_scene(layout)
        part, target = next(
            (part, target)
            for part in exchangers
            for target in drop_targets(scene, part)
            if target.fits and target.zone == zone.id
        )
        layout, _ = Drop(part, None, target=target).edit(layout)
        stack = next(stack for stack in layout.stacks if stack.zone == zone.id)
        fan = next(fan for fan in fans if _mounts(fan) <= _mounts(part))
        layout = fill_fans(layout, stack.id, target.side, "push-pull", fan)
    rng = random.Random(SEED)
    loose = [
        part for part in library.parts.values() if part.kind in ("pump", "reservoir", "supply")
    ]
    room = build_scene(layout).walls.cavity
    for _ in range(FREE_PARTS):
        at = tuple(rng.uniform(room[k], room[k + 3] - 40.0) for k in range(3))
        layout, _ = add_free(layout, rng.choice(loose or fans), at)
    return build_scene(layout)


def _mounts(part: Exchanger | Fan) -> set[tuple[float, float]]:
    return {(m.frame_mm, m.pitch_mm) for cell in part_cells(part) for m in cell.accepts}


def things(scene: Scene) -> tuple[list[Part], list[int]]:
    """Return the prisms of all owners of hard solids, and which of them can be moved."""
    gathered: dict[str, list[Prism]] = {}
    movable: dict[str, bool] = {}
    for solid in scene.solids:
        if solid.hard:
            gathered.setdefault(solid.owner, []).extend(solid.prisms)
            movable[solid.owner] = not solid.fixed
    return (
        [tuple(prisms) for prisms in gathered.values()],
        [k for k, owner in enumerate(gathered) if movable[owner]],
    )
