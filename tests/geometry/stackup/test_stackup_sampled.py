"""Stack-ups against enclosures and parts of which every dimension is off at random.

Every placed part gets its own copy with its own deviations, and so do fittings and enclosure, and
sits somewhere in the play of its screws; what is then measured must lie between the worst case and
the best.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest

from app.demo import demo_layout
from catalog.enclosure import Enclosure
from catalog.iso2768 import dimension_of, linear_tolerance_mm
from catalog.model import FrozenMap
from catalog.numbers import number_paths, with_number
from catalog.parts import Fan, Gasket, Part, part_ports
from catalog.paths import length_at
from catalog.store import Library
from geometry.checks.runner import check_layout
from geometry.checks.tolerated import depth_figure
from geometry.depths import stack_depths
from geometry.edits import flip_port_end
from geometry.layout import FreePart, Item, Layout, PortUse
from geometry.measures.pose import Vec
from geometry.measures.prism import shifted
from geometry.part_solids import DEFAULT_FITTING
from geometry.scene import Scene, build_scene

Draw = Callable[[float, float], float]
"""Draws how far a dimension is off, given how far down and up it may be (mm)."""


def off_part(part: Part, draw: Draw, part_id: str) -> Part:
    for path in number_paths(part):
        known = dimension_of(part, path)
        off = draw(known.minus_mm or 0.0, known.plus_mm or 0.0)
        part = with_number(part, path, known.nominal_mm + off)
    return part.model_copy(update={"id": part_id})


def off_enclosure(enclosure: Enclosure, draw: Draw) -> Enclosure:
    """The points of an outline that share a coordinate are one dimension, as on a drawing."""
    shared: dict[tuple[str, str, float], float] = {}
    changed = enclosure
    for path in number_paths(enclosure):
        known = dimension_of(enclosure, path)
        off = draw(known.minus_mm or 0.0, known.plus_mm or 0.0)
        for ring in ("outline_mm", "holes_mm"):
            if ring in path:
                key = (path.split(f".{ring}")[0], path[-3:], known.nominal_mm)
                off = shared.setdefault(key, off)
        changed = with_number(changed, path, known.nominal_mm + off)
    return changed


class Maker:
    """Makes a layout with everything off, each part and fitting a piece of its own."""

    def __init__(self, of: Layout, draw: Draw) -> None:
        self.of, self.draw = of, draw
        self.parts: dict[str, Part] = {}

    def own(self, part: Part, part_id: str) -> str:
        self.parts[part_id] = off_part(part, self.draw, part_id)
        return part_id

    def one(self, use: Item | FreePart) -> Item | FreePart:
        part = self.of.part(use.part)
        ports = {}
        for port in part_ports(part):
            now = use.ports.get(port.id) or PortUse(plugged=not port.open)
            if not now.plugged:
                fitting = self.of.parts[now.fitting] if now.fitting else DEFAULT_FITTING
                now = PortUse(fitting=self.own(fitting, f"{use.id}-{port.id}"))
            ports[port.id] = now
        more: dict[str, object] = {}
        if isinstance(use, FreePart):
            more["at_mm"] = tuple(v + self.general(v) for v in use.at_mm)
        else:
            more["head_mm"] = use.head_mm + self.general(use.head_mm)
        return use.but(part=self.own(part, f"of-{use.id}"), ports=FrozenMap(ports), **more)

    def general(self, nominal_mm: float) -> float:
        off = linear_tolerance_mm(nominal_mm) or 0.0
        return self.draw(off, off)

    def layout(self) -> Layout:
        stacks = tuple(
            stack.but(
                **{
                    side: tuple(
                        layer.but(items=tuple(self.one(item) for item in layer.items))
                        for layer in stack.side(side)  # type: ignore[arg-type]
                    )
                    for side in ("inner", "outer")
                }
            )
            for stack in self.of.stacks
        )
        free = tuple(self.one(part) for part in self.of.free)
        return self.of.but(
            enclosure=off_enclosure(self.of.enclosure, self.draw),
            stacks=stacks,
            free=free,
            parts=FrozenMap(self.parts),
        )


def in_their_play(scene: Scene, draw_play: Callable[[], float]) -> Scene:
    """Sit every screwed part off by up to 0.5 mm each way across its screws.

    A layer of a stack hangs on the last one below it that is neither fans nor a gasket, for long
    screws go through those, and else on the zone.
    """
    by: dict[str, Vec] = {}

    def off(axis: int, on: Vec = (0.0, 0.0, 0.0)) -> Vec:
        x, y, z = (mm + (0.0 if k == axis else draw_play()) for k, mm in enumerate(on))
        return x, y, z

    for stack in scene.layout.stacks:
        axis = scene.frames[stack.zone].inward.axis
        for layers in (stack.inner, stack.outer):
            holds: Vec = (0.0, 0.0, 0.0)
            for layer in layers:
                own = off(axis, holds)
                by.update((item.id, own) for item in layer.items)
                parts = [scene.placed[item.id].part for item in layer.items]
                if not all(isinstance(part, Fan | Gasket) for part in parts):
                    holds = own
    for free in scene.layout.free:
        if free.held.by == "holes":
            by[free.id] = off("xyz".index(free.z_to[1]))
    moved = {
        owner: tuple(
            replace(s, prisms=tuple(shifted(p, by[owner]) for p in s.prisms)) for s in solids
        )
        if owner in by
        else solids
        for owner, solids in scene.solids_of.items()
    }
    return replace(scene, solids_of=moved)


def depths(
    of: Layout, draw_play: Callable[[], float]
) -> Iterator[tuple[tuple[str, str, str, str], float]]:
    for depth in stack_depths(in_their_play(build_scene(of), draw_play)):
        for left in depth.cells:
            yield (left.stack, left.side, left.cell, left.item), left.mm


@pytest.fixture(scope="module")
def demo() -> Layout:
    """The demo with its port end flipped, so that nothing stands in anything."""
    return flip_port_end(demo_layout(Library()), "E1")


@pytest.mark.parametrize("seed", range(6))
def test_no_set_of_deviations_leaves_less_than_the_worst_case(demo: Layout, seed: int) -> None:
    rng = random.Random(seed)
    report = check_layout(demo, remedies=False).report
    figures = {
        (left.stack, left.side, left.cell, left.item): depth_figure(report, left)
        for depth in report.depths
        for left in depth.cells
    }

    def at_a_limit(minus: float, plus: float) -> float:
        return rng.choice((-minus, plus))

    def anywhere(minus: float, plus: float) -> float:
        return rng.uniform(-minus, plus)

    seen = 0
    for draw in (at_a_limit, anywhere) * 4:
        for key, mm in depths(Maker(demo, draw).layout(), lambda d=draw: d(0.5, 0.5)):
            figure = figures.get(key)
            if figure is None:
                continue
            assert figure.worst.worst_mm - 1e-6 <= mm <= figure.nominal.most_mm + 1e-6, key
            seen += abs(mm - figure.nominal.nominal_mm) > 0.05
    assert seen > 10


def test_statistical_limits_hold_as_often_as_they_say(demo: Layout) -> None:
    # Each dimension normal with its tolerance as three standard deviations: 99.73 % lie within.
    # Of 400 depths 1.1 are expected outside; more than 8 would come once in a hundred thousand.
    rng = random.Random(7)
    report = check_layout(demo, remedies=False).report
    figures = {
        (left.stack, left.side, left.cell, left.item): depth_figure(report, left)
        for depth in report.depths
        for left in depth.cells
    }

    def normal(minus: float, plus: float) -> float:
        return rng.gauss((plus - minus) / 2, (plus + minus) / 6)

    count = outside = 0
    spread: dict[tuple[str, str, str, str], list[float]] = {}
    while count < 400:
        for key, mm in depths(Maker(demo, normal).layout(), lambda: rng.uniform(-0.5, 0.5)):
            figure = figures.get(key)
            if figure is None:
                continue
            count += 1
            likely = figure.nominal
            outside += not likely.likely_least_mm <= mm <= likely.likely_most_mm
            spread.setdefault(key, []).append((mm - likely.mean_mm) / likely.spread_mm)
    assert outside <= 8
    # And they are no wider than need be: the standard deviation is near a third of the spread.
    for key, values in spread.items():
        mean = sum(values) / len(values)
        sigma = (sum((v - mean) ** 2 for v in values) / (len(values) - 1)) ** 0.5
        assert 0.2 < sigma < 0.42, (key, sigma)


def test_numbers_by_path_are_all_found(demo: Layout) -> None:
    paths = list(number_paths(demo.enclosure))
    assert len(paths) == len(set(paths)) > 100
    assert all(isinstance(length_at(demo.enclosure, path), float) for path in paths)
