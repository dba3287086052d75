"""Another part in the place of one: thinner, the next thicker, a smaller pump."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from catalog.parts import Adapter, Exchanger, Fan, Gasket, Part, Pump, PumpReservoir, part_cells
from catalog.shapes import cell_sizes
from geometry.checks.words import called
from geometry.edits import EditError, next_thickness, swap_part
from geometry.edits.base import need_use
from geometry.edits.body import body_bounds
from geometry.layout import Layer, Layout
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.search.mending.steps import Edit, Step

MOST_OTHERS = 3
"""So many thicknesses below, or smaller pumps, are looked at."""

THICKER = 4.0
"""What the next thicker part costs more than the next thinner one: it takes room."""


def other_thickness(scene: Scene, one: Placed, parts: Sequence[Part]) -> Iterator[Step]:
    """Yield the swaps of a part for thinner ones and for the next thicker one.

    Fans alike that stand in one layer are swapped together, told by the first of them.
    """
    if not isinstance(one.part, Exchanger | Fan | Gasket | Adapter) or one.use.locked:
        return
    ids: tuple[str, ...] = (one.id,)
    name = called(scene, one.id)
    cost = 20.0 if isinstance(one.part, Exchanger) else 15.0
    if isinstance(one.part, Fan) and one.layer is not None:
        ids = tuple(i.id for i in one.layer.items if i.part == one.use.part and not i.locked)
        if ids[0] != one.id:
            return
        name += _beside(scene, one.layer, ids)
    yield from _swaps(scene.layout, ids, name, parts, cost, -1, MOST_OTHERS)
    yield from _swaps(scene.layout, ids, name, parts, cost + THICKER, 1, 1)


def _beside(scene: Scene, layer: Layer, ids: tuple[str, ...]) -> str:
    """Name the fans that are swapped with the first of some: all those of a layer, or by id."""
    fans = [i.id for i in layer.items if isinstance(scene.layout.part(i.part), Fan)]
    if len(ids) == 1:
        return ""
    return " and the fans beside it" if len(ids) == len(fans) else f" and {', '.join(ids[1:])}"


def _swaps(
    layout: Layout,
    ids: tuple[str, ...],
    name: str,
    parts: Sequence[Part],
    cost: float,
    step: Literal[1, -1],
    most: int,
) -> Iterator[Step]:
    """Yield the swaps of parts alike for the next ones by thickness, and for those beyond."""
    passed: tuple[str, ...] = ()
    for _ in range(most):
        try:
            for item in ids:
                layout = next_thickness(layout, item, parts, step)
        except EditError:
            return
        part = layout.part(need_use(layout, ids[0]).part)
        passed = (*passed, f"Swap {ids[0]} for {part.id}")
        yield Step(
            f"Swap {name} for {part.name}",
            cost + len(passed) - 1,
            ids[0],
            _swapped(ids, part),
            "part",
            parts=passed,
        )


def _swapped(ids: tuple[str, ...], part: Part) -> Edit:
    def swapped(layout: Layout) -> Layout:
        for item in ids:
            layout = swap_part(layout, item, part)
        return layout

    return swapped


def smaller_pumps(scene: Scene, one: Placed, parts: Sequence[Part]) -> Iterator[Step]:
    """Yield the swaps of a pump for smaller ones that are held alike, the next smaller first."""
    if not isinstance(one.part, Pump | PumpReservoir) or one.use.locked:
        return
    mine = _size_mm3(one.part)
    smaller = sorted(
        (
            p
            for p in parts
            if isinstance(p, type(one.part)) and _held_alike(p, one.part) and _size_mm3(p) < mine
        ),
        key=lambda p: (-_size_mm3(p), p.id),
    )
    passed: tuple[str, ...] = ()
    for part in smaller[:MOST_OTHERS]:
        passed = (*passed, f"Swap {one.id} for {part.id}")
        yield Step(
            f"Swap {called(scene, one.id)} for {part.name}",
            18.0 + len(passed) - 1,
            one.id,
            _swapped((one.id,), part),
            "pump",
            parts=passed,
        )


def _size_mm3(part: Part) -> float:
    least, most = body_bounds(part)
    return (most[0] - least[0]) * (most[1] - least[1]) * (most[2] - least[2])


def _held_alike(one: Part, other: Part) -> bool:
    """Whether two parts have the same holes, or none."""
    mine, theirs = (cell_sizes(part_cells(p)) for p in (one, other))
    return bool(mine & theirs) if mine or theirs else True
