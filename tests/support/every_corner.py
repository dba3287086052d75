"""Gaps of a block in openings of a wall, measured plainly in rooms built anew with every corner of
what may be off: an outside oracle of worst cases."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import product

from catalog.iso2768 import dimension_of, linear_tolerance_mm
from catalog.model import Dimension, FrozenMap
from catalog.numbers import number_paths, with_number
from catalog.shapes import Box
from geometry.layout import Layout
from geometry.measures.clearance import signed_gap_mm
from geometry.measures.prism import shifted
from geometry.measures.solid import Solid
from geometry.scene import Scene, build_scene
from geometry.search.judging.room import NO_DEPTHS
from geometry.stackup.figures import Tolerances
from geometry.stackup.stack_ups import Figure

EXACT = Dimension(minus_mm=0.0, plus_mm=0.0, origin="measured")

FIRST_ORDER_MM = 5e-4
"""A rate is taken over a hundredth of each tolerance (`test_stackup_random`)."""

Together = tuple[str, ...]
"""The numbers of an enclosure that are one dimension."""


def sides_of(scene: Scene, wall: str) -> tuple[Solid, Solid]:
    """Return the block and a wall."""
    (peg,) = (one for one in scene.solids_of["P"] if one.hard)
    return peg, next(one for one in scene.walls.solids if one.owner == wall)


def gap_of(of: Layout, wall: str) -> Figure:
    """Return the figure of the gap between the block and a wall."""
    scene = build_scene(of)
    peg, other = sides_of(scene, wall)
    return Tolerances(scene, NO_DEPTHS).between((peg,), (other,))


def dimensions_of(of: Layout, axis: str) -> list[Together]:
    """Return what may be off in the openings and the cavity, but for how deep openings are cut.

    That is along `axis`. The points of an outline that share a coordinate are one dimension.
    """
    enclosure, k = of.enclosure, "xyz".index(axis)
    deep = ("length_mm", "from_mm", "to_mm", f"at_mm[{k}]", f"size_mm[{k}]")
    found: dict[tuple[object, ...], list[str]] = {}
    for path in number_paths(enclosure):
        key: tuple[object, ...] = (path,)
        if "outline_mm" in path:
            shape, _, which = path.partition(".outline_mm")
            key = (shape, which[-3:], dimension_of(enclosure, path).nominal_mm)
        field = path.split("[")[0]
        if field == "openings":
            own = enclosure.openings[int(path[len("openings[")])].shape
            if not (path.endswith(deep) and (isinstance(own, Box) or own.axis == axis)):
                found.setdefault(key, []).append(path)
        elif field == "cavity":
            found.setdefault(key, []).append(path)
    return [tuple(paths) for paths in found.values()]


def exact_but(of: Layout, loose: Sequence[Together]) -> Layout:
    """Return a layout of which all is made exactly but some dimensions, and the block's place."""
    kept = {path for paths in loose for path in paths}
    stated = {path: EXACT for path in number_paths(of.enclosure) if path not in kept}
    peg = of.parts["peg"]
    peg = peg.but(dimensions=FrozenMap(dict.fromkeys(number_paths(peg), EXACT)))
    enclosure = of.enclosure.but(dimensions=FrozenMap(stated))
    return of.but(enclosure=enclosure, parts=FrozenMap({"peg": peg}))


def gaps_off(
    of: Layout, wall: str, loose: Sequence[Together], inside: int, rng: random.Random
) -> Iterator[float]:
    """Yield the gap with all dimensions at all of their limits, and at so many places inside."""
    known = [dimension_of(of.enclosure, paths[0]) for paths in loose]
    limits = [(-(one.minus_mm or 0.0), one.plus_mm or 0.0) for one in known]
    every = [
        *product(*limits),
        *(tuple(rng.uniform(*two) for two in limits) for _ in range(inside)),
    ]
    places = list(product(*((-off, off) for off in map(_general, of.free[0].at_mm))))
    for offs in every:
        enclosure = of.enclosure
        for paths, one, off in zip(loose, known, offs, strict=True):
            for path in paths:
                enclosure = with_number(enclosure, path, one.nominal_mm + off)
        peg, other = sides_of(build_scene(of.but(enclosure=enclosure)), wall)
        for at in places:
            yield signed_gap_mm([shifted(one, at) for one in peg.prisms], other.prisms)


def _general(nominal_mm: float) -> float:
    return linear_tolerance_mm(nominal_mm) or 0.0


def none_under(
    seeds: Iterable[int],
    draw_room: Callable[[random.Random], Layout],
    wall: str,
    *,
    axis: str,
    many: int,
    inside: int = 0,
) -> tuple[int, float]:
    """Return how many rooms were compared, and how far worst cases are told too low on average.

    In each so `many` dimensions are off, and the place of the block.
    """
    count, low_mm = 0, 0.0
    for seed in seeds:
        rng = random.Random(seed)
        of = draw_room(rng)
        every = dimensions_of(of, axis)
        loose = rng.sample(every, min(many, len(every)))
        of = exact_but(of, loose)
        figure = gap_of(of, wall)
        if figure.nominal.nominal_mm < 0.0:
            continue
        worst = figure.worst.worst_mm
        least = min(gaps_off(of, wall, loose, inside, rng))
        assert least >= worst - FIRST_ORDER_MM or max(least, worst) < 0.0, (seed, worst, least)
        low_mm += max(0.0, least) - max(0.0, worst)
        count += 1
    return count, low_mm / count
