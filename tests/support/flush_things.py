"""Things that stand flush with a cube, or nearly, in a large room."""

from __future__ import annotations

import random
from collections.abc import Iterator

from small_rooms import brick, free, layout, room

from catalog.enclosure import Obstacle
from catalog.shapes import Box, Cylinder, Extrusion, Plug, Shape
from geometry.layout import Held, Layout, Settings
from geometry.measures.clearance import signed_gap_mm
from geometry.scene import Scene, build_scene
from geometry.search.judging.room import NO_DEPTHS
from geometry.stackup.figures import Tolerances
from geometry.stackup.stack_ups import Figure

CUBE = brick("cube", (40, 40, 40))


def beside(shape: Shape, plugs: tuple[Plug, ...] = ()) -> Layout:
    """The cube with a thing in a large room."""
    thing = Obstacle(id="X", name="X", shapes=(shape,))
    part = CUBE.but(plugs=plugs)
    one = free("P", part, (100, 100, 20), held=Held(by="clamp", on="floor"))
    settings = Settings(margin_mm=0.0)
    return layout(room((300, 200, 200), [], [thing]), [part], frees=[one], settings=settings)


def gap_in(scene: Scene) -> float:
    (cube,), (thing,) = scene.solids_of["P"], (s for s in scene.solids if s.owner == "X")
    return signed_gap_mm(cube.prisms, thing.prisms)


def figure_of(of: Layout) -> Figure:
    scene = build_scene(of)
    (cube,), (thing,) = scene.solids_of["P"], (s for s in scene.solids if s.owner == "X")
    return Tolerances(scene, NO_DEPTHS).between((cube,), (thing,))


def along_z(*outline_mm: tuple[float, float], z: tuple[float, float] = (30, 50)) -> Extrusion:
    return Extrusion(axis="z", outline_mm=outline_mm, from_mm=z[0], to_mm=z[1])


FLUSH: dict[str, tuple[Shape, float]] = {
    "a box": (Box(at_mm=(120, 90, 30), size_mm=(20, 20, 20)), 0.75),
    "a flat side": (along_z((120, 90), (140, 90), (150, 110), (120, 110)), 0.75),
    "a point": (along_z((120, 100), (140, 90), (150, 110)), 0.75),
    "a line": (
        Extrusion(axis="y", outline_mm=((120, 40), (140, 30), (150, 50)), from_mm=90, to_mm=110),
        0.75,
    ),
    # Half its diameter by 0.1, and its middle is at 130.
    "a round side": (
        Cylinder(axis="z", at_mm=(130, 100, 30), diameter_mm=20, length_mm=20),
        0.45 + 0.5 + 0.1,
    ),
    "a round end": (Cylinder(axis="x", at_mm=(120, 100, 40), diameter_mm=20, length_mm=20), 0.75),
    # Along y alike; of two edges both ways have to be lost.
    "an edge of a box": (Box(at_mm=(120, 120, 30), size_mm=(20, 20, 20)), 0.75),
    "an edge along x": (Box(at_mm=(90, 120, 60), size_mm=(20, 20, 20)), 0.75),
    "a flat side's edge": (
        along_z((120, 90), (140, 90), (150, 110), (120, 110), z=(60, 80)),
        0.75,
    ),
    # On the top at z = 60: 0.2 and 0.3 of the cube, 0.3 of the thing.
    "on top": (Cylinder(axis="z", at_mm=(100, 100, 60), diameter_mm=20, length_mm=20), 0.8),
}
"""Things by how they touch the cube, and by how much they overlap it in the worst case (mm).

A cube of 40 mm stands from x = 80 to 120, y = 80 to 120 and z = 20 to 60. By ISO 2768-1 class m its
places (100) are off by 0.3 and half its sizes by 0.15, that along z (20) by 0.2 and its height by
0.3; what begins at 120 is off by 0.3 there, what has its middle beyond 120 by 0.5.
"""


def random_shape(rng: random.Random) -> Shape:
    """Return a thing that touches the cube at a face, an edge or a corner, or nearly."""
    near = rng.choice((0.0, 0.0, 0.01, 0.3))
    size = [rng.choice((12.0, 25.0, 50.0)) for _ in range(3)]
    low = []
    faces = rng.sample(range(3), rng.choice((1, 1, 2, 3)))
    for k, (a, b) in enumerate(((80.0, 120.0), (80.0, 120.0), (20.0, 60.0))):
        if k in faces:
            low.append(b + near if rng.random() < 0.5 or a < size[k] else a - near - size[k])
        else:
            low.append((a + b) / 2 - size[k] / 2 + rng.uniform(-5, 5))
    kind, k = rng.random(), rng.randrange(3)
    i, j = (n for n in range(3) if n != k)
    if kind < 0.3:
        return Box(at_mm=(low[0], low[1], low[2]), size_mm=(size[0], size[1], size[2]))
    if kind < 0.6:
        at = [mm if n == k else mm + size[i] / 2 for n, mm in enumerate(low)]
        at_mm = (at[0], at[1], at[2])
        return Cylinder(axis="xyz"[k], at_mm=at_mm, diameter_mm=size[i], length_mm=size[k])  # type: ignore[arg-type]
    a, b, w, h = low[i], low[j], size[i], size[j]
    ring = rng.choice(
        (
            ((a, b), (a + w, b), (a, b + h)),
            ((a + w, b + h), (a, b + h), (a + w, b)),
            ((a + w / 2, b), (a + w, b + h / 2), (a + w / 2, b + h), (a, b + h / 2)),
        )
    )
    return Extrusion(axis="xyz"[k], outline_mm=ring, from_mm=low[k], to_mm=low[k] + size[k])  # type: ignore[arg-type]


def near_things(seeds: range) -> Iterator[tuple[int, Layout, Figure]]:
    """Yield rooms with something that touches the cube, or nearly."""
    for seed in seeds:
        of = beside(random_shape(random.Random(seed)))
        if min(map(min, (p.bounds for s in build_scene(of).solids for p in s.prisms))) < -3:
            continue
        figure = figure_of(of)
        if figure.nominal.nominal_mm > -1e-6:
            yield seed, of, figure
