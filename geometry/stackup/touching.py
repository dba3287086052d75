"""Gaps between things that touch, or nearly do: how far one lies beyond the other in a direction.

What lies beyond another in one direction is apart from it, however both are shaped. Along a
direction all that is off adds up, where a measured gap does not: of two that touch with an edge
each dimension by itself opens the way and closes none, and both together let one into the other.
So of the directions that part two things as drawn the one that leaves most at worst counts.

An overlap is told by the shortest way out along an axis, which is longer than the way square to a
slope: what stands in another by d in a direction is out of it after d / u along an axis of which
the direction has the share u. So it is told by the axis of which it has the greatest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import hypot

from geometry.measures.clearance import clearance
from geometry.measures.planar import nearest
from geometry.measures.pose import Vec
from geometry.measures.prism import PLANE, Outline, Poly, Prism, Round, turned
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.directions import reach, square_to_sides
from geometry.stackup.stack_ups import StackUp, stack_up

NEARLY_MM = 1.0
"""What is nearer may lose its gap faster than single dimensions tell of it."""

GOOD_MM = 2 * LENGTH_EPS_MM
"""Within this the gap along a direction is that of two things: points of contact are no better."""

SQUARE: tuple[Vec, ...] = (
    (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0),
    (0.0, -1.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0),
)  # fmt: skip


def no_better_than_parted(
    gap: StackUp, p: Prism, q: Prism, added_up: Callable[[Vec], StackUp], *, slanted: bool
) -> StackUp:
    """Return the stack-up of a gap that leaves no more than the direction that parts two best.

    `added_up` gives the stack-up of how far they are apart in a direction; `slanted` tells that
    an overlap is to be told as the way out along an axis. Of things with hollows, which no
    direction parts, the gap stays as it is.
    """
    ways = parting(p, q, gap.nominal_mm)
    found = [_as_overlap(added_up(to), to) if slanted else added_up(to) for to in ways]
    best = max(found, key=lambda one: one.worst_mm, default=gap)
    return best if best.worst_mm < gap.worst_mm else gap


def beyond_mm(p: Prism, q: Prism, to: Vec) -> float:
    """Return how far `q` lies beyond `p` in a direction (mm); negative where it does not."""
    return -_reach(q, (-to[0], -to[1], -to[2])) - _reach(p, to)


def _reach(prism: Prism, to: Vec) -> float:
    i, j = PLANE[prism.axis]
    along = to[prism.axis]
    far = max(along * prism.lo, along * prism.hi)
    across = hypot(to[i], to[j])
    if not across:
        return far
    return far + across * reach(prism.outline, (to[i] / across, to[j] / across))


def parting(p: Prism, q: Prism, gap_mm: float) -> list[Vec]:
    """Return directions in which two prisms are apart by all of their gap."""
    if gap_mm > LENGTH_EPS_MM:
        found = clearance((p,), (q,))
        assert found.point_a is not None
        assert found.point_b is not None
        x, y, z = (b - a for a, b in zip(found.point_a, found.point_b, strict=True))
        ways: Iterator[Vec] = iter([(x / gap_mm, y / gap_mm, z / gap_mm)])
    else:
        ways = _where_touching(p, q)
    return [to for to in ways if abs(beyond_mm(p, q, to) - gap_mm) <= GOOD_MM]


def _where_touching(p: Prism, q: Prism) -> Iterator[Vec]:
    """Yield the directions in which two that touch may be parted."""
    yield from SQUARE
    if p.is_box and q.is_box:
        return
    if p.is_box:
        p = turned(p, q.axis)
    elif q.is_box:
        q = turned(q, p.axis)
    if p.axis != q.axis:
        return
    i, j = PLANE[p.axis]
    for a, b in _square_to_contact(p.outline, q.outline):
        to = [0.0, 0.0, 0.0]
        to[i], to[j] = a, b
        yield (to[0], to[1], to[2])


def _square_to_contact(p: Outline, q: Outline) -> Iterator[tuple[float, float]]:
    (inner_p, p_r), (inner_q, q_r) = _without_radius(p), _without_radius(q)
    if p_r or q_r:
        near = nearest(inner_p, inner_q)
        if near.mm > LENGTH_EPS_MM:
            yield (near.q[0] - near.p[0]) / near.mm, (near.q[1] - near.p[1]) / near.mm
        return
    for outline in (p, q):
        if isinstance(outline, Poly):
            yield from square_to_sides(outline)


def _without_radius(outline: Outline) -> tuple[Outline, float]:
    """Return what, grown by a radius all round, is an outline, and the radius."""
    if not isinstance(outline, Round):
        return outline, 0.0
    return replace(outline, r=0.0), outline.r


def _as_overlap(gap: StackUp, to: Vec) -> StackUp:
    """Return the stack-up of a gap in a direction that is told along an axis once it is lost."""
    beyond = gap.worst_mm
    share = max(map(abs, to))
    if beyond >= 0.0 or share >= 1.0:
        return gap
    more = (gap.nominal_mm - beyond / share) / (gap.nominal_mm - beyond)
    return stack_up(
        gap.nominal_mm,
        (
            replace(
                one,
                at_plus_mm=one.at_plus_mm * (more if one.at_plus_mm < 0.0 else 1.0),
                at_minus_mm=one.at_minus_mm * (more if one.at_minus_mm < 0.0 else 1.0),
            )
            for one in gap.contributors
        ),
    )
