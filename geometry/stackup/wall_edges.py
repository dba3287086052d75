"""Edges of walls beside the way of an item, which it may meet once dimensions are off.

An item that passes a wall through an opening leaves the opening where it comes to reach farther
than the opening in some direction across the way. That is told for each direction by itself: by the
sides of the opening, or at round ones by the corners of the item. Openings that are not convex, and
those that an item passes only together, between which a bar of wall may come, are looked at in
`geometry.stackup.joined_openings`; steps in the cavity by the pieces of the wall.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import sqrt

from geometry.measures.planar import outline_gap
from geometry.measures.prism import PLANE, Prism
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.stackup.beside_the_way import ComingIn, Sight
from geometry.stackup.deviation import Deviation
from geometry.stackup.directions import reach, stays_inside
from geometry.stackup.faces import Face, faces, greatest_mm
from geometry.stackup.joined_openings import Joined
from geometry.stackup.opening_edges import Edge, edges_of
from geometry.stackup.pair_gaps import ahead_mm
from geometry.stackup.rim_parts import Hole
from geometry.stackup.stack_ups import Near, StackUp


def walls_coming_in(sight: Sight, walls: Sequence[Solid]) -> Iterator[ComingIn]:
    """Yield the edges of walls that may come in the way of an item."""
    holes = sight.tolerances.rims.holes
    for p in faces(sight.hard):
        passed = [hole for hole in holes if _holds(sight, hole, p)]
        for wall in walls:
            if not sight.may_come_in(p.solid, wall):
                continue
            ahead = [q for q in sight.faces((wall,)) if sight.may_be_ahead(p, q)]
            cut = [q for q in ahead if any(_is_cut(sight, q, hole) for hole in passed)]
            yield from _leaving(sight, p, passed, cut)
            rest = [q for q in ahead if q not in cut]
            for joined, behind in _joined(sight, p, rest, holes):
                q = min(behind, key=lambda q: ahead_mm(p.prism, q.prism, sight.way))
                for lost in joined.ways_out():
                    yield ComingIn(Near(sight.ahead(p, q), lost), q.solid.name)
                rest = [q for q in rest if q not in behind]
            if rest:
                moving, near = _with_holes(sight, p, wall, holes)
                for q in rest:
                    if outline_gap(sight.seen(p.prism), sight.seen(q.prism)) < near:
                        yield from sight.entering(p, q, moving)


def _holds(sight: Sight, hole: Hole, p: Face) -> bool:
    """Whether a face passes through an opening by itself."""
    return stays_inside(sight.seen(p.prism), sight.seen(hole.prism))


def _is_cut(sight: Sight, q: Face, hole: Hole) -> bool:
    """Whether an opening is cut where a piece of a wall begins, as one comes along the way."""
    k, sign = sight.way.axis, sight.way.sign
    ends = (hole.prism.bounds[k], hole.prism.bounds[k + 3])
    first, last = ends if sign > 0 else (-ends[1], -ends[0])
    begins = q.prism.bounds[k] if sign > 0 else -q.prism.bounds[k + 3]
    return meets(begins, first) and begins < last - LENGTH_EPS_MM


def _leaving(
    sight: Sight, p: Face, passed: Sequence[Hole], cut: Sequence[Face]
) -> Iterator[ComingIn]:
    """Yield how a face may come to leave the opening that it passes, and so meet the wall.

    Where it passes several, one in the other, that counts which it leaves last.
    """
    mine = sight.seen(p.prism)
    near = sqrt(2.0) * sum(greatest_mm(one) for one in sight.tolerances.of(p.solid.owner))
    edges: list[tuple[tuple[StackUp, ...], Hole]] = []
    for hole in passed:
        if any(_is_cut(sight, q, hole) for q in cut):
            edges.append((tuple(_edges_left(sight, p, hole)), hole))
    if not edges:
        return
    last, hole = min(edges, key=lambda one: sum(gap.share_below(0.0) for gap in one[0]))
    if not last:
        return
    near += sqrt(2.0) * sum(map(greatest_mm, hole.moving)) + LENGTH_EPS_MM
    around = [q for q in cut if outline_gap(mine, sight.seen(q.prism)) <= near]
    if around:
        q = min(around, key=lambda q: ahead_mm(p.prism, q.prism, sight.way))
        ahead = sight.ahead(p, q)
        yield from (ComingIn(Near(ahead, (gap,)), q.solid.name) for gap in last)


def _joined(
    sight: Sight, p: Face, ahead: Sequence[Face], holes: Sequence[Hole]
) -> Iterator[tuple[Joined, list[Face]]]:
    """Yield the openings that a face passes together, with the pieces of a wall round them."""
    mine = sight.seen(p.prism)
    if any(stays_inside(mine, sight.seen(c.prism)) for c in faces(sight.covers)):
        return
    levels: dict[float, list[Face]] = {}
    for q in ahead:
        levels.setdefault(round(ahead_mm(p.prism, q.prism, sight.way), 6), []).append(q)
    shared = [h for h in holes if meets(0.0, outline_gap(mine, sight.seen(h.prism)))]
    for some in levels.values():
        joined = Joined(sight, p, [h for h in shared if any(_is_cut(sight, q, h) for q in some)])
        if joined.hold():
            yield joined, some


def _edges_left(sight: Sight, p: Face, hole: Hole) -> Iterator[StackUp]:
    """Yield the gaps to the edge of an opening, by direction, that may be lost."""
    mine, its = sight.seen(p.prism), sight.seen(hole.prism)
    own = [
        d
        for d in sight.tolerances.moving((p.solid,))
        if d.axes & sight.across and d.touches(p.solid)
    ]
    moving = (*own, *hole.moving)
    off = [sum(greatest_mm(d) for d in moving if k in d.axes) for k in PLANE[sight.way.axis]]
    most = sqrt(2.0) * sum(map(greatest_mm, moving))
    over = [sight.seen(c.prism) for c in faces(sight.covers)]
    for edge in edges_of(mine, its, (off[0], off[1])):
        beside = edge.inside_mm(mine, its) >= most
        if beside or any(meets(reach(c, edge.to), reach(mine, edge.to)) for c in over):
            continue

        def measure(a: Prism, b: Prism, edge: Edge = edge) -> float:
            return edge.inside_mm(sight.seen(a), sight.seen(b))

        found = sight.tolerances.of_several((p, hole), moving, measure, together=edge.leans)
        if found.worst_mm < -LENGTH_EPS_MM:
            yield found


def _with_holes(
    sight: Sight, p: Face, wall: Solid, holes: Sequence[Hole]
) -> tuple[tuple[Deviation, ...], float]:
    """Return what may be off in a face and a wall with its openings nearby, and how far at most."""
    moving = list(sight.moving(p, wall))
    mine = sight.seen(p.prism)
    near = sqrt(2.0) * sum(map(greatest_mm, moving))
    for hole in holes:
        most = near + sqrt(2.0) * sum(map(greatest_mm, hole.moving))
        if outline_gap(mine, sight.seen(hole.prism)) < most:
            moving += hole.moving
    return tuple(moving), sqrt(2.0) * sum(map(greatest_mm, moving))
