"""A fan under openings of a roof, and what it leaves in rooms that are off within tolerance."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from dataclasses import replace

from depth_findings import told
from off_layouts import Maker, in_their_play
from small_rooms import fan, fan_layer, layout, room, row, zone
from small_rooms import stack as stack_of

from catalog.enclosure import Opening
from catalog.model import FrozenMap
from catalog.numbers import with_number
from catalog.paths import length_at
from catalog.shapes import Box, Cylinder, Shape
from geometry.checks.finding_figures import depth_figure
from geometry.checks.runner import check_layout
from geometry.depths import measure_depths
from geometry.layout import Layout
from geometry.measures.prism import shifted
from geometry.scene import Scene, build_scene
from geometry.stackup.stack_ups import Contributor, Figure, StackUp

FAN = fan().but(id="fan", name="Fan")
FLOOR = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))


def under(*shapes: Shape, cavity: tuple[Box, ...] | None = None) -> Layout:
    """A fan on the floor, from x = 40 to 160 and y = 40 to 160, 25 high, under openings.

    The room is 300 high, its roof 2 mm thick.
    """
    openings = tuple(
        Opening(id=f"o{k}", name=f"grille {k}", wall="roof", shape=shape)
        for k, shape in enumerate(shapes)
    )
    more = {} if cavity is None else {"cavity": cavity}
    enclosure = room((400, 200, 300), [FLOOR], openings=openings, **more)
    return layout(enclosure, [FAN], [stack_of("S", "floor-zone", fan_layer("A", FAN, ["c1"]))])


def cut(x0: float, x1: float, y0: float, y1: float) -> Box:
    """An opening through the roof, deeper than that may come to be thick."""
    return Box(at_mm=(x0, y0, 295), size_mm=(x1 - x0, y1 - y0, 12))


def shares(of: StackUp) -> dict[tuple[str, str], float]:
    """Return what each dimension takes, by its owner and field (mm)."""
    return {(c.owner, c.path): round(c.loss_mm, 6) for c in of.contributors}


def figures_of(of: Layout) -> dict[tuple[str, str], Figure]:
    """Return the figures of all depths of a layout, by item and cell."""
    report = check_layout(of, remedies=False).report
    found = {}
    for depth in report.depths:
        for left in depth.cells:
            figure = depth_figure(report, left)
            if figure is not None and left.mm >= 0:
                found[left.item, left.cell] = figure
    return found


def depths_in(scene: Scene) -> dict[tuple[str, str], float]:
    """Return the depths of a scene, by item and cell."""
    return {
        (left.item, left.cell): left.mm
        for depth in measure_depths(scene).stacks
        for left in depth.cells
    }


def rounded_out(of: Layout) -> Layout:
    """Return a layout with round openings so much wider as walls are cut narrower there."""
    openings = tuple(
        opening.but(shape=opening.shape.but(diameter_mm=opening.shape.diameter_mm * 1.0006))
        if isinstance(opening.shape, Cylinder)
        else opening
        for opening in of.enclosure.openings
    )
    return of.but(enclosure=of.enclosure.but(openings=openings))


def none_under_the_worst_case(
    seeds: Iterable[int],
    rooms: int,
    draw_room: Callable[[random.Random], Layout],
) -> tuple[int, int]:
    """Return how many depths were compared, and how many of them come down to the worst case."""
    count = reached = 0
    for seed in seeds:
        rng = random.Random(seed)
        of = draw_room(rng)
        figures = figures_of(of)
        least = dict.fromkeys(figures, float("inf"))

        def at_a_limit(minus: float, plus: float, rng: random.Random = rng) -> float:
            return rng.choice((-minus, plus))

        for _ in range(rooms):
            off = rounded_out(Maker(of, at_a_limit).layout())
            scene = in_their_play(build_scene(off), lambda rng=rng: rng.choice((-0.5, 0.5)))  # type: ignore[misc]
            for key, mm in depths_in(scene).items():
                worst = figures[key].worst.worst_mm
                assert mm >= worst - 1e-6, (seed, key, mm, worst, told(figures[key]))
                least[key] = min(least[key], mm)
                count += 1
        reached += sum(least[key] < figures[key].worst.worst_mm + 1.3 for key in figures)
    return count, reached


def off_as_told(of: Layout, figure: Figure) -> Scene:
    """Return the room in which every contributor is off the way that hurts."""
    gaps = (figure.worst, *(() if figure.beside is None else across_of(figure)))
    enclosure, parts, play = of.enclosure, dict(of.parts), [0.0, 0.0, 0.0]
    off: dict[tuple[str, str], float] = {}
    for gap in gaps:
        for each in gap.contributors:
            off.setdefault((each.owner, each.path), off_mm(each))
    (item,) = (item for stack in of.stacks for layer in stack.inner for item in layer.items)
    for (owner, path), mm in off.items():
        if path.startswith("screw_play"):
            play[int(path[-2])] = mm
        elif owner == item.id:
            part = parts[item.part]
            parts[item.part] = with_number(part, path, length_at(part, path) + mm)
        else:
            enclosure = with_number(enclosure, path, length_at(enclosure, path) + mm)
    scene = build_scene(rounded_out(of.but(enclosure=enclosure, parts=FrozenMap(parts))))
    own = tuple(
        replace(s, prisms=tuple(shifted(p, (play[0], play[1], play[2])) for p in s.prisms))
        for s in scene.solids_of[item.id]
    )
    return replace(scene, solids_of={**scene.solids_of, item.id: own})


def across_of(figure: Figure) -> tuple[StackUp, ...]:
    """Return the gaps across the way that are lost where a figure is least in the worst case."""
    return next(near.across for near in figure.near if near.gap is figure.worst)


def off_mm(one: Contributor) -> float:
    """Return by how much a dimension is off where it hurts."""
    plus, minus = one.dimension.plus_mm or 0.0, one.dimension.minus_mm or 0.0
    return plus if one.at_plus_mm < one.at_minus_mm else -minus
