"""The depth of an item of which a part lies under another is that of what lies bare.

Two fans of 80 mm, 25 thick, stand side by side on a floor from x = 60; on the first and over 10 mm
of the second lies a core. What hangs across its end, at x = 170, is met by the second fan beside
it. Each fan is off by 0.2 in its thickness, what hangs at 60 by 0.3.
"""

from __future__ import annotations

import random

import pytest
from off_layouts import Maker, in_their_play
from small_rooms import exchanger, fan, fan_layer, layout, one, room, row, stack, zone

from catalog.enclosure import Obstacle
from catalog.model import FrozenMap
from catalog.shapes import Box, Cylinder, Extrusion, Shape
from geometry.checks.finding_figures import depth_figure
from geometry.checks.runner import check_layout
from geometry.depths import measure_depths
from geometry.layout import Layout, PortUse, Settings
from geometry.scene import build_scene
from geometry.stackup.stack_ups import Figure


def under(shape: Shape) -> Layout:
    part, core = fan(25.0, 80.0), exchanger(1, 15.0, 80.0)
    floor = zone("fz", "floor", (60.0, 60.0, 0.0), "+x", "+y", row(2, 80.0))
    enclosure = room((320, 260, 200), [floor], [Obstacle(id="X", name="X", shapes=(shape,))])
    plugged = FrozenMap({"p1": PortUse(plugged=True)})
    layers = (fan_layer("A", part, ["c1", "c2"]), one("E", core, ports=plugged))
    return layout(
        enclosure, [part, core], [stack("S", "fz", *layers)], settings=Settings(margin_mm=2.0)
    )


def second_fan(of: Layout) -> tuple[float, Figure]:
    report = check_layout(of, remedies=False).report
    (left,) = (c for depth in report.depths for c in depth.cells if c.item == "A.2")
    figure = depth_figure(report, left)
    assert figure is not None
    return left.mm, figure


def diamond(x: float) -> Extrusion:
    ring = ((x, 60.0), (x + 6, 90.0), (x, 120.0), (x - 6, 90.0))
    return Extrusion(axis="y", outline_mm=ring, from_mm=91, to_mm=121)


def wedge(*outline_mm: tuple[float, float]) -> Extrusion:
    return Extrusion(axis="y", outline_mm=outline_mm, from_mm=91, to_mm=121)


ACROSS: dict[str, tuple[Shape, float, float]] = {
    # Its lowest point at 168.5 is 1.5 before the fan comes out; off along x it stands over it.
    "a diamond": (diamond(168.5), 42.5, 34.5),
    # At 170 it is 60 + 10 * 30 / 20 = 75 high.
    "a wedge": (wedge((160, 60), (180, 90), (160, 90)), 50.0, 46.575),
    "a round bar": (
        Cylinder(axis="y", at_mm=(168.5, 91, 66), diameter_mm=12, length_mm=30),
        41.0 - (6.0**2 - 1.5**2) ** 0.5,
        34.4,
    ),
    "a box": (Box(at_mm=(162, 91, 60), size_mm=(12, 30, 60)), 35.0, 34.5),
}


@pytest.mark.parametrize("name", ACROSS)
def test_what_hangs_across_the_end_of_a_cover_is_met_beside_it(name: str) -> None:
    shape, nominal_mm, worst_mm = ACROSS[name]
    left_mm, figure = second_fan(under(shape))
    assert left_mm == pytest.approx(nominal_mm)
    assert figure.nominal.nominal_mm == pytest.approx(nominal_mm)
    assert figure.worst.worst_mm == pytest.approx(worst_mm, abs=1e-3)


def random_thing(rng: random.Random) -> Shape:
    """Return something of any shape above the end of the core, or beside it."""
    x, z, wide = rng.uniform(145, 190), rng.uniform(45, 120), rng.choice((8.0, 20.0, 60.0))
    kind, axis = rng.choice(("box", "round", "slanted", "point")), rng.choice(("x", "y", "z"))
    if kind == "box":
        return Box(at_mm=(x, 91, z), size_mm=(wide, 30, 60))
    if kind == "round":
        return Cylinder(axis=axis, at_mm=(x, 100, z + wide / 2), diameter_mm=wide, length_mm=30)  # type: ignore[arg-type]
    low = (0.0, wide) if kind == "slanted" else (wide / 2, wide / 2)
    ring = ((x + low[0], z), (x + low[1], z + wide / 3), (x + wide / 2, z + 2 * wide))
    return wedge(*(ring if kind == "slanted" else ((x, z + 10), ring[0], (x + wide, z + 20))))


def test_whatever_hangs_there_the_stack_up_is_that_of_what_is_left() -> None:
    met = set()
    for seed in range(60):
        report = check_layout(under(random_thing(random.Random(seed))), remedies=False).report
        for left in (cell for depth in report.depths for cell in depth.cells):
            figure = depth_figure(report, left)
            assert figure is not None
            assert figure.nominal.nominal_mm == pytest.approx(left.mm), seed
            assert figure.worst.worst_mm <= left.mm
            if left.item == "A.2" and left.limited_by == "X":
                met.add(seed)
    assert len(met) > 20


@pytest.mark.parametrize("name", ACROSS)
def test_nothing_is_nearer_with_all_that_is_off(name: str) -> None:
    of = under(ACROSS[name][0])
    _, figure = second_fan(of)
    rng = random.Random(5)

    def at_a_limit(minus: float, plus: float) -> float:
        return rng.choice((-minus, plus))

    least = float("inf")
    for _ in range(60):
        scene = build_scene(Maker(of, at_a_limit).layout())
        scene = in_their_play(scene, lambda: rng.choice((-0.5, 0.5)))
        cells = (cell for depth in measure_depths(scene).stacks for cell in depth.cells)
        least = min(least, *(cell.mm for cell in cells if cell.item == "A.2"))
    worst = figure.worst.worst_mm
    assert worst - 1e-6 <= least < worst + 0.5 * (figure.nominal.nominal_mm - worst)
