"""Shipped enclosures filled: every zone with a push-pull stack, free parts in what room is left.

Each zone gets the slimmest exchanger that fits it between fans on both faces; then free parts of
the library are put at random places of the cavity where they meet nothing. Seeded: an enclosure is
always filled alike.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from math import prod

from catalog.parts import Exchanger, Fan, part_cells
from catalog.store import Library
from geometry.drop import Drop, drop_targets
from geometry.edits import add_free, fill_fans
from geometry.layout import Layout
from geometry.measures.prism import Prism
from geometry.pairs import measure_pairs
from geometry.scene import Scene, build_scene

SEED = 20_260
TRIES = 400
MOST_LOOSE = 24
Part = tuple[Prism, ...]


def filled(library: Library, enclosure_id: str) -> Scene:
    """Return the scene of an enclosure with a stack on every zone and free parts between them."""
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
    scene = build_scene(layout)
    for _ in range(TRIES):
        x, y, z = (rng.uniform(room[k], room[k + 3] - 20.0) for k in range(3))
        tried, one = add_free(layout, rng.choice(loose), (x, y, z))
        changed = build_scene(tried, scene)
        if not _meets(changed, one):
            layout, scene = tried, changed
        if len(layout.free) == MOST_LOOSE:
            break
    return scene


def _meets(scene: Scene, one: str) -> bool:
    """Whether a free part shares room with anything, or lies beyond the walls."""
    found = measure_pairs(scene).short
    return any(gap.shared and one in (gap.a.owner, gap.b.owner) for gap in found)


def fill_of(scene: Scene) -> float:
    """Return the share of the cavity that the bounding blocks of the placed parts would fill."""
    parts, movable = things(scene)
    room = scene.walls.cavity
    return sum(_block_mm3(parts[k]) for k in movable) / _volume_mm3(room[:3], room[3:])


def _block_mm3(part: Part) -> float:
    lows, tops = zip(*((p.bounds[:3], p.bounds[3:]) for p in part), strict=True)
    return _volume_mm3(
        [min(low[k] for low in lows) for k in range(3)],
        [max(top[k] for top in tops) for k in range(3)],
    )


def _volume_mm3(least: Sequence[float], most: Sequence[float]) -> float:
    return prod(high - low for low, high in zip(least, most, strict=True))


def _mounts(part: Exchanger | Fan) -> set[tuple[float, float]]:
    return {(m.frame_mm, m.pitch_mm) for cell in part_cells(part) for m in cell.accepts}


def things(scene: Scene) -> tuple[list[Part], list[int]]:
    """Return the prisms of all owners of hard solids, and which can be moved: they come first."""
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
