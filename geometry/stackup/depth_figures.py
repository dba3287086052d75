"""The stack-ups of leftover depths.

What limits a depth as drawn is met by a face of the item, and so is what stands before it a little
farther. In the worst case something more may limit it: a thing ahead that the item would pass, or
the edge of the wall that it would pass through an opening, beside the item's own edge, when
deviations across the way bring it in (`geometry.stackup.beside_the_way`). The play of screws alone
is enough for that. What lies over an item is taken to cover what it covers as drawn
(`geometry.stackup.uncovered_faces`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from catalog.iso2768 import dimension_of
from geometry.finding import Leftover
from geometry.item_travel import ItemTravel, column_of, in_column, limits
from geometry.layout import Side
from geometry.measures.pose import Way
from geometry.measures.prism import Prism
from geometry.measures.solid import Solid
from geometry.measures.travel import travel
from geometry.placement import Placed
from geometry.stack_sides import out_way
from geometry.stackup.beside_the_way import Sight
from geometry.stackup.faces import NOISE_MM, Solids, axes_across
from geometry.stackup.pair_gaps import travel_along
from geometry.stackup.stack_ups import Contributor, Figure, StackUp, stack_up
from geometry.stackup.uncovered_faces import uncovered_faces
from geometry.stackup.wall_edges import walls_coming_in
from geometry.walls import OUTSIDE, WALL_NAMES

if TYPE_CHECKING:
    from geometry.stackup.figures import Tolerances


def depth_figure(tolerances: Tolerances, left: Leftover, item: ItemTravel) -> Figure:
    """Return the stack-up of a leftover depth that something limits."""
    scene, way = tolerances.scene, left.way
    one = scene.placed[left.item]
    hard = tuple(s for s in item.solids if s.hard)
    if item.hit is None:
        found = given_depth(tolerances, left.side, one, left.mm)
        figure = Figure.of_one(found, left.limited_name)
    elif left.mm < 0:

        def way_out(a: Sequence[Prism], b: Sequence[Prism]) -> float:
            return travel(a, way, [(0, b)]).mm

        axes = axes_across((*hard, item.hit), way)
        found = tolerances.whole(hard, (item.hit,), way_out, axes)
        figure = Figure.of_one(found, left.limited_name)
    else:
        ahead = [s for _, s in in_column(scene, column_of(hard, way), way) if limits(s, one)]
        if item.hit.owner == OUTSIDE:
            ahead.append(item.hit)
        own, travelled = tuple(uncovered_faces(item)), travel_along(way)
        figure = tolerances.least(own, tuple(ahead), travelled, from_mm=left.mm)
    if left.mm < 0:
        return figure
    others = (s for s in scene.solids if limits(s, one))
    return with_coming_in(tolerances, figure, hard, way, others, item.covers)


def given_depth(tolerances: Tolerances, side: Side, one: Placed, mm: float) -> StackUp:
    """Return the stack-up of what an item leaves of the depth for which its zone is given."""
    scene = tolerances.scene
    assert one.frame is not None
    zone, enclosure = one.frame.zone, scene.layout.enclosure
    path = f"zones[{enclosure.zones.index(zone)}].{side}.depth_mm"
    known = dimension_of(enclosure, path)
    plus, minus = known.plus_mm or 0.0, known.minus_mm or 0.0
    given = Contributor(zone.id, scene.name_of(zone.id), path, known, plus, -minus)
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


def with_coming_in(
    tolerances: Tolerances,
    figure: Figure,
    hard: Solids,
    way: Way,
    others: Iterable[Solid],
    covers: Solids = (),
) -> Figure:
    """Return a figure of a depth with what stands beside the way and may come in."""
    every = tuple(others)
    likely = min(one.gap.likely_least_mm for one in figure.near)
    sight = Sight(tolerances, hard, way, covers, likely)
    walls = [one for one in every if one.owner in WALL_NAMES]
    things = [one for one in every if one.owner not in WALL_NAMES]
    found = [*sight.coming_in(things), *walls_coming_in(sight, walls)]
    near = (*figure.near, *(one.near for one in found))
    # Of several that leave as little the likeliest is told.
    found.sort(key=lambda one: (round(one.near.gap.worst_mm, 6), -one.share))
    if found and found[0].near.gap.worst_mm < figure.worst.worst_mm - NOISE_MM:
        first = found[0]
        return Figure(figure.nominal, first.near.gap, first.name, first.beside, near)
    return replace(figure, near=near)
