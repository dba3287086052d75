"""The solids of options with all that may be off in them, shared by the slides of one stack."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from catalog.parts import part_cells
from geometry.layout import Layout, Stack
from geometry.scene import Scene, build_scene
from geometry.search.judging.room import NO_DEPTHS
from geometry.search.judging.tolerant_solids import Kind, Tolerant, Vec
from geometry.search.listing.options import Option
from geometry.search.wishes import Wishes
from geometry.stackup.figures import Tolerances


def worst_case_counts(layout: Layout, wishes: Wishes) -> bool:
    """Whether the worst case can rule an option out: what it finds is tight at most."""
    return not wishes.tight_allowed and (wishes.judge or layout.settings.judge) == "worst case"


def tolerant_of(layout: Layout, scene: Scene, options: Sequence[Option]) -> Tolerant:
    """Return the solids of options as they stand in the room of a scene.

    `layout` has all their parts. Slides of one stack only shift its solids, unless slots draw
    fans to what spans them.
    """
    known: dict[object, tuple[Option, tuple[Kind, ...]]] = {}
    made_of: list[list[tuple[Kind, Vec]]] = []
    for option in options:
        if option.stack is None and option.free is None:
            made_of.append([])
            continue
        slid = _is_drawn(layout, option.stack) if option.stack is not None else False
        key = (id(option.base), option.slide_mm if slid else None, option.free)
        if key not in known:
            known[key] = (option, tuple(_kinds(layout, scene, option)))
        first, kinds = known[key]
        by = _between(scene, first, option)
        made_of.append([(kind, by) for kind in kinds])
    return Tolerant.of(made_of)


def _kinds(layout: Layout, scene: Scene, option: Option) -> Iterator[Kind]:
    if option.stack is not None:
        layout = layout.but(stacks=(*layout.stacks, option.stack))
    if option.free is not None:
        layout = layout.but(free=(*layout.free, option.free))
    here = build_scene(layout, scene)
    tolerances = Tolerances(here, NO_DEPTHS)
    for one in here.placed.values():
        if one.id not in scene.placed:
            for solid in here.solids_of[one.id]:
                yield Kind.of(tolerances, solid, outer=one.side == "outer")


def _is_drawn(layout: Layout, stack: Stack) -> bool:
    """Whether items of one cell lie on the plate under one that spans cells."""
    for layers in (stack.inner, stack.outer):
        spans = [
            any(len(part_cells(layout.part(item.part))) > 1 for item in layer.items)
            for layer in layers
        ]
        if True in spans[1:] and not spans[0]:
            return True
    return False


def _between(scene: Scene, first: Option, other: Option) -> Vec:
    """Return the shift from one slide of a stack to another."""
    u, v = (b - a for a, b in zip(first.slide_mm, other.slide_mm, strict=True))
    if (u, v) == (0.0, 0.0):
        return (0.0, 0.0, 0.0)
    pose = scene.frames[other.zone].pose
    x, y, z = (u * a + v * b for a, b in zip(pose.x.vector, pose.y.vector, strict=True))
    return (round(x, 9), round(y, 9), round(z, 9))
