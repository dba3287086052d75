"""Walls of an enclosure as solids: its outer shape less its cavity, with openings cut out.

Cavity and outer shape are unions of prisms that share one axis (boxes may have any). Where all are
boxes the walls are boxes too, and exact. Otherwise they are cut slab by slab along the shared axis:
exact for straight outlines; a round cavity becomes a polygon drawn inside its circle, a round outer
shape one drawn round it, so a wall is never thinner than the true one and never thicker by more
than 0.03 % of the radius. Openings: see geometry.openings.

What lies inside the cavity's bounding box and is no cavity is called the step.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from catalog.enclosure import Enclosure
from geometry.measures.broadphase import Bools
from geometry.measures.prism import PLANE, Bounds, Outline, Prism, box, view
from geometry.measures.rings import flat_outlines, inner_polygon, outer_polygon
from geometry.measures.solid import Role, Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.openings import cut_out
from geometry.part_solids import shape_prism
from geometry.recent import Recent

if TYPE_CHECKING:
    import shapely

WALL_NAMES = {
    "floor": "floor",
    "roof": "roof",
    "rear": "rear wall",
    "front": "front wall",
    "access": "access-side wall",
    "far": "far-side wall",
    "step": "step in the cavity",
}
"""Wall solids by owner id, with what they are called."""

OUTSIDE = "outside"
"""Owner of all that lies beyond the outer shape."""

BEYOND_MM = 30_000.0
"""How far the outside reaches: farther than anything in a layout can stand."""

SIDES = ((2, "floor", "roof"), (0, "rear", "front"), (1, "access", "far"))
"""Axes with the walls at their ends, in the order in which corners are given to them."""


@dataclass(frozen=True, eq=False)
class Walls:
    """The walls of an enclosure by owner, what lies beyond them, and the cavity's bounds (mm)."""

    solids: tuple[Solid, ...]
    beyond: Solid
    cavity: Bounds

    @cached_property
    def all_but_cavity(self) -> tuple[Prism, ...]:
        """Every prism that is not the cavity's: walls and what lies beyond them."""
        return tuple(p for solid in self.solids for p in solid.prisms) + self.beyond.prisms


_recent: Recent[Walls] = Recent(8)


def enclosure_walls(enclosure: Enclosure) -> Walls:
    """Return the walls of `enclosure`, kept for the next time it is asked for.

    Raises ValueError when shapes other than boxes do not share one axis.
    """
    return _recent.of(enclosure, find=partial(build_walls, enclosure))


def build_walls(enclosure: Enclosure) -> Walls:
    """Return the walls of `enclosure`, built anew and not kept.

    Raises ValueError as `enclosure_walls` does.
    """
    cavity = [shape_prism(shape) for shape in enclosure.cavity]
    outer = [shape_prism(shape) for shape in enclosure.outer]
    openings = [shape_prism(opening.shape) for opening in enclosure.openings]
    bounds = bounds_of(cavity)
    if all(p.is_box for p in cavity + outer):
        pieces = list(_box_pieces(cavity, outer, bounds))
    else:
        pieces = list(_slab_pieces(cavity, outer, bounds))
    by_owner: dict[str, list[Prism]] = {owner: [] for owner in WALL_NAMES}
    by_owner[OUTSIDE] = list(_surroundings(bounds_of(outer)))
    for owner, prism in pieces:
        cut = [prism] if owner == OUTSIDE else cut_out(prism, openings)
        by_owner[owner].extend(cut)
    solids = tuple(
        Solid(owner, owner, name, Role.BODY, tuple(by_owner[owner]), holds=holds, fixed=True)
        for owner, name in WALL_NAMES.items()
        if by_owner[owner]
        for holds in (_holds(enclosure, owner, bounds),)
    )
    beyond = Solid(
        OUTSIDE,
        OUTSIDE,
        "outside of the enclosure",
        Role.BODY,
        tuple(by_owner[OUTSIDE]),
        fixed=True,
    )
    return Walls(solids, beyond, bounds)


def bounds_of(prisms: Iterable[Prism]) -> Bounds:
    """Return the bounds of several prisms together."""
    every = np.array([p.bounds for p in prisms])
    least, most = every[:, :3].min(axis=0), every[:, 3:].max(axis=0)
    return (*map(float, least), *map(float, most))  # type: ignore[return-value]


def _holds(enclosure: Enclosure, owner: str, cavity: Bounds) -> frozenset[str]:
    """Return under which ids a wall holds what is bolted to it: those of the panels that close it.

    A zone whose datum is not the cavity's outermost face lies on the step, whatever it names.
    """
    holds = {panel.id for panel in enclosure.panels if panel.wall == owner}
    if owner == "step":
        obstacles = {obstacle.id for obstacle in enclosure.obstacles}
        for zone in enclosure.zones:
            axis = 3 - "xyz".index(zone.u[1]) - "xyz".index(zone.v[1])
            at = zone.origin_mm[axis]
            outermost = min(abs(at - cavity[axis]), abs(at - cavity[axis + 3])) <= LENGTH_EPS_MM
            if zone.owner not in obstacles and not outermost:
                holds.add(zone.owner)
    return frozenset(holds)


def _surroundings(outer: Bounds) -> Iterator[Prism]:
    """Yield six blocks round the outer shape's bounds."""
    far = BEYOND_MM
    least, most = list(outer[:3]), list(outer[3:])
    for axis in (2, 0, 1):
        low, high = [-far] * 3, [far] * 3
        for done in (2, 0, 1)[: (2, 0, 1).index(axis)]:
            low[done], high[done] = least[done], most[done]
        yield box(low, [*high[:axis], least[axis], *high[axis + 1 :]])
        yield box([*low[:axis], most[axis], *low[axis + 1 :]], high)


# ---- all boxes: on the grid of their coordinates ----


def _box_pieces(
    cavity: Sequence[Prism], outer: Sequence[Prism], bounds: Bounds
) -> Iterator[tuple[str, Prism]]:
    # numpy's own `unique` would load its masked arrays for these few numbers.
    edges = [
        np.array(
            sorted(
                {bounds[k], bounds[k + 3]}
                | {p.bounds[e] for p in (*cavity, *outer) for e in (k, k + 3)}
            )
        )
        for k in range(3)
    ]
    filled = _cells(outer, edges)
    hollow = _cells(cavity, edges)
    for owner, where in _named(edges, bounds):
        for prism in merged_boxes(filled & ~hollow & where, edges):
            yield owner, prism
    for prism in merged_boxes(~filled & ~hollow, edges):
        yield OUTSIDE, prism


def _cells(prisms: Iterable[Prism], edges: Sequence[npt.NDArray[np.float64]]) -> Bools:
    """Return which cells of the grid some prism fills."""
    filled = np.zeros([len(e) - 1 for e in edges], dtype=bool)
    for prism in prisms:
        spans = [
            slice(*np.searchsorted(edges[k], [prism.bounds[k], prism.bounds[k + 3]]))
            for k in range(3)
        ]
        filled[tuple(spans)] = True
    return filled


def _named(edges: Sequence[npt.NDArray[np.float64]], bounds: Bounds) -> Iterator[tuple[str, Bools]]:
    free = np.ones([len(e) - 1 for e in edges], dtype=bool)
    for axis, low, high in SIDES:
        shape = [1, 1, 1]
        shape[axis] = -1
        below = (edges[axis][1:] <= bounds[axis]).reshape(shape) & free
        above = (edges[axis][:-1] >= bounds[axis + 3]).reshape(shape) & free
        yield low, below
        yield high, above
        free = free & ~below & ~above
    yield "step", free


def merged_boxes(filled: Bools, edges: Sequence[npt.NDArray[np.float64]]) -> Iterator[Prism]:
    """Yield boxes that fill exactly the marked cells of a grid, each grown as far as it goes."""
    left = filled.copy()
    while left.any():
        start = np.unravel_index(int(left.argmax()), left.shape)
        stop = [int(s) + 1 for s in start]
        for axis in (0, 1, 2):
            while stop[axis] < left.shape[axis]:
                probe = [slice(int(s), e) for s, e in zip(start, stop, strict=True)]
                probe[axis] = slice(stop[axis], stop[axis] + 1)
                if not left[tuple(probe)].all():
                    break
                stop[axis] += 1
        left[tuple(slice(int(s), e) for s, e in zip(start, stop, strict=True))] = False
        yield box(
            [float(edges[k][start[k]]) for k in range(3)],
            [float(edges[k][stop[k]]) for k in range(3)],
        )


# ---- other outlines: slab by slab ----


def _slab_pieces(
    cavity: Sequence[Prism], outer: Sequence[Prism], bounds: Bounds
) -> Iterator[tuple[str, Prism]]:
    axis = _shared_axis([*cavity, *outer])
    ends = sorted(
        {bounds[axis], bounds[axis + 3]}
        | {p.bounds[e] for p in (*cavity, *outer) for e in (axis, axis + 3)}
    )
    whole = bounds_of(outer)
    open_runs: dict[tuple[str, Outline], float] = {}
    for low, high in zip(ends, [*ends[1:], None], strict=True):
        runs: dict[tuple[str, Outline], float] = {}
        if high is not None:
            middle = (low + high) / 2
            for owner, polygon in _slab(cavity, outer, axis, middle, bounds, whole):
                for outline in flat_outlines(polygon):
                    key = (owner, outline)
                    runs[key] = open_runs.pop(key, low)
        for (owner, outline), since in open_runs.items():
            yield owner, Prism(axis, outline, since, low)
        open_runs = runs


def _shared_axis(prisms: Iterable[Prism]) -> int:
    axes = {p.axis for p in prisms if not p.is_box}
    if len(axes) > 1:
        raise ValueError("cavity and outer shapes other than boxes must share one axis")
    return axes.pop()


def _slab(
    cavity: Sequence[Prism],
    outer: Sequence[Prism],
    axis: int,
    level: float,
    bounds: Bounds,
    whole: Bounds,
) -> Iterator[tuple[str, shapely.Geometry]]:
    """Yield named polygons of wall, and of what lies beyond, at one level of the axis."""
    import shapely

    def at_level(prisms: Sequence[Prism]) -> Iterator[Prism]:
        return (p for p in prisms if p.bounds[axis] < level < p.bounds[axis + 3])

    filled = shapely.union_all([outer_polygon(view(p, axis)) for p in at_level(outer)])
    hollow = shapely.union_all([inner_polygon(view(p, axis)) for p in at_level(cavity)])
    i, j = PLANE[axis]
    frame = shapely.box(whole[i], whole[j], whole[i + 3], whole[j + 3])
    yield OUTSIDE, frame - filled - hollow
    rest = filled - hollow
    far = BEYOND_MM
    for side, low, high in SIDES:
        if side == axis:
            if level < bounds[axis] or level > bounds[axis + 3]:
                yield (low if level < bounds[axis] else high), rest
                return
            continue
        below, above = [-far, -far, far, far], [-far, -far, far, far]
        k = 0 if side == i else 1
        below[k + 2], above[k] = bounds[side], bounds[side + 3]
        yield low, rest & shapely.box(*below)
        yield high, rest & shapely.box(*above)
        rest = rest - shapely.box(*below) - shapely.box(*above)
    yield "step", rest
