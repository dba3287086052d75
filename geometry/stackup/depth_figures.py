"""The stack-ups of leftover depths.

What limits a depth as drawn is met by a face of the item, and so is what stands before it a little
farther. In the worst case something more may limit it: a thing ahead that the item would pass, its
edge beside the item's own, when deviations across the way bring it in. The play of screws alone is
enough for that. Walls are left out there: their edges are those of openings. What lies over an item
is taken to cover what it covers as drawn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from catalog.iso2768 import dimension_of
from geometry.finding import Leftover
from geometry.item_travel import ItemTravel, column_of, in_column, limits
from geometry.layout import Side
from geometry.measures.pose import Way
from geometry.measures.prism import Prism, view
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.measures.travel import travel
from geometry.placement import Placed
from geometry.stack_sides import out_way
from geometry.stackup.deviation import Deviation
from geometry.stackup.faces import NOISE_MM, Face, Solids, axes_across, faces, greatest_mm
from geometry.stackup.pair_gaps import ALL_AXES, GAP, ahead_mm, travel_along
from geometry.stackup.sums import Contributor, Figure, StackUp, stack_up
from geometry.walls import BEYOND_MM, OUTSIDE, WALL_NAMES

if TYPE_CHECKING:
    from geometry.stackup.figures import Tolerances


def depth_figure(tolerances: Tolerances, left: Leftover, item: ItemTravel) -> Figure:
    """Return the stack-up of a leftover depth that something limits."""
    scene, way = tolerances.scene, left.way
    one = scene.placed[left.item]
    hard = tuple(s for s in item.solids if s.hard)
    if item.hit is None:
        found = given_depth(tolerances, left.side, one, left.mm)
        figure = Figure(found, found, left.limited_name)
    elif left.mm < 0 or item.hit.owner == OUTSIDE:

        def way_out(a: Sequence[Prism], b: Sequence[Prism]) -> float:
            return travel(a, way, [(0, b)]).mm

        axes = axes_across((*hard, item.hit), way)
        found = tolerances.whole(hard, (item.hit,), way_out, axes)
        figure = Figure(found, found, left.limited_name)
    else:
        ahead = (s for _, s in in_column(scene, column_of(hard, way), way) if limits(s, one))
        figure = tolerances.least(hard, tuple(ahead), travel_along(way), from_mm=left.mm)
    if left.mm < 0:
        return figure
    for found, beside, name in _coming_in(tolerances, one, hard, item.covers, figure):
        if found.worst_mm < figure.worst.worst_mm - NOISE_MM:
            figure = Figure(figure.nominal, found, name, beside)
    return figure


def given_depth(tolerances: Tolerances, side: Side, one: Placed, mm: float) -> StackUp:
    """Return the stack-up of what an item leaves of the depth for which its zone is given."""
    scene = tolerances.scene
    assert one.frame is not None
    zone, enclosure = one.frame.zone, scene.layout.enclosure
    path = f"zones[{enclosure.zones.index(zone)}].{side}.depth_mm"
    known = dimension_of(enclosure, path)
    plus, minus = known.plus_mm or 0.0, known.minus_mm or 0.0
    given = Contributor(zone.id, zone.name, path, known, plus, -minus)
    hard = tuple(s for s in scene.solids_of[one.id] if s.hard)
    way = out_way(one)

    def reach(a: Sequence[Prism], _: Sequence[Prism]) -> float:
        if way.sign > 0:
            return -max(p.bounds[way.axis + 3] for p in a)
        return min(p.bounds[way.axis] for p in a)

    reached = tolerances.whole(hard, (), reach, frozenset((way.axis,)))
    # The given depth starts at the zone's plate and goes where it goes.
    own = (c for c in reached.contributors if c.owner != zone.id)
    return stack_up(mm, [given, *own])


def _coming_in(
    tolerances: Tolerances, one: Placed, hard: Solids, covers: Solids, figure: Figure
) -> Iterator[tuple[StackUp, StackUp, str]]:
    """Yield depths to what stands ahead and beside, with the gaps across that may be lost."""
    way = out_way(one)
    over = tuple(faces(covers))
    for p in faces(hard):
        for other in tolerances.scene.solids:
            if other.owner in WALL_NAMES or not limits(other, one):
                continue
            if not _may_come_in(tolerances, p.solid, other, way, figure.worst.worst_mm):
                continue
            for q in faces((other,)):
                gap = _across_mm(p.prisms[0], q.prisms[0], way)
                if not meets(gap, 0.0) or not meets(ahead_mm(p.prisms[0], q.prisms[0], way), 0.0):
                    continue
                across = _moving(tolerances, p, q, way, across=True)
                if gap >= sum(map(greatest_mm, across)):
                    continue
                # What is stacked over the item would be met first.
                if any(_across_mm(c.prisms[0], q.prisms[0], way) <= gap for c in over):
                    continue
                beside = _across(tolerances, p, q, way, gap, across)
                if beside.worst_mm < -LENGTH_EPS_MM:
                    yield _ahead(tolerances, p, q, way), beside, other.name


def _may_come_in(
    tolerances: Tolerances, solid: Solid, other: Solid, way: Way, within_mm: float
) -> bool:
    a, b = tolerances.far_out(solid), tolerances.far_out(other)
    low, high = (a, b) if way.sign > 0 else (b, a)
    if low[way.axis] > high[way.axis + 3] or high[way.axis] - low[way.axis + 3] >= within_mm:
        return False
    return all(a[k] < b[k + 3] and b[k] < a[k + 3] for k in ALL_AXES - {way.axis})


def _across(
    tolerances: Tolerances, p: Face, q: Face, way: Way, gap_mm: float, moving: tuple[Deviation, ...]
) -> StackUp:
    def gap_when(one: Deviation, off_mm: float) -> float:
        here, there = _moved(one, p, off_mm), _moved(one, q, off_mm)
        same = here is p.prisms[0] and there is q.prisms[0]
        return gap_mm if same else _across_mm(here, there, way)

    return tolerances.added_up(gap_mm, moving, gap_when)


def _ahead(tolerances: Tolerances, p: Face, q: Face, way: Way) -> StackUp:
    def gap_when(one: Deviation, off_mm: float) -> float:
        return ahead_mm(_moved(one, p, off_mm), _moved(one, q, off_mm), way)

    gap = ahead_mm(p.prisms[0], q.prisms[0], way)
    return tolerances.added_up(gap, _moving(tolerances, p, q, way, across=False), gap_when)


def _moving(
    tolerances: Tolerances, p: Face, q: Face, way: Way, *, across: bool
) -> tuple[Deviation, ...]:
    axes = ALL_AXES - {way.axis} if across else frozenset((way.axis,))
    return tuple(
        d
        for d in tolerances.moving((p.solid, q.solid))
        if d.axes & axes and (d.touches(p.solid) or d.touches(q.solid))
    )


def _moved(one: Deviation, face: Face, off_mm: float) -> Prism:
    new = one.moved(face.solid, off_mm)
    return face.of(face.solid.prisms if new is None else new)[0]


def _across_mm(p: Prism, q: Prism, way: Way) -> float:
    """Return the signed gap of two prisms as seen along a direction."""
    return GAP.mm(*(Prism(way.axis, view(one, way.axis), -BEYOND_MM, BEYOND_MM) for one in (p, q)))
