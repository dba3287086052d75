"""What stands beside the way of an item as drawn, and in it once dimensions are off.

Seen along the way, the item and the thing are two outlines. While there is one direction in which
the thing lies beyond the item they pass each other; so a thing comes in only where the gap is lost
in every direction that parts them as drawn. For boxes these are the square ones, and this is exact;
for others that of the nearest points joins them, and what is told is the worst or a little worse.
Where no direction parts two outlines as drawn (a thing in the hollow of another) each dimension
that moves either is taken to close the gap by as much as it is off.

A thing may begin a little before the end of the item, as the roof does where a port reaches into an
opening. Off one way it is ahead, and leaves what little it then is; off the other it begins beside
the item, which stands in it. So it counts while it may be ahead at all, and is told by how far,
less than nothing included. What never is ahead is a matter of the gap beside it alone.

A wall is met by the edge of an opening, or of a step in the cavity: `geometry.stackup.wall_edges`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf, sqrt
from typing import TYPE_CHECKING

from geometry.measures.pose import Way
from geometry.measures.prism import Outline, Prism, view
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.stackup.deviation import Deviation
from geometry.stackup.directions import apart_mm, parting
from geometry.stackup.faces import Face, Solids, faces, greatest_mm
from geometry.stackup.pair_gaps import ALL_AXES, GAP, ahead_mm
from geometry.stackup.pieces import convex_faces
from geometry.stackup.stack_ups import Contributor, Near, StackUp, stack_up
from geometry.walls import BEYOND_MM

if TYPE_CHECKING:
    from geometry.stackup.figures import Tolerances


@dataclass(frozen=True)
class ComingIn:
    """The depth to a thing beside the way, the gaps that must be lost for it, and its name."""

    near: Near
    name: str

    @property
    def beside(self) -> StackUp:
        """The gap across the way that is widest as drawn."""
        return max(self.near.across, key=lambda one: one.nominal_mm)

    @property
    def share(self) -> float:
        """The share of all assemblies in which it stands in the way, at most."""
        return min(one.share_below(0.0) for one in self.near.across)


@dataclass(frozen=True, eq=False)
class Sight:
    """What is looked for: things ahead of an item's solids along its way, nearer than `within_mm`.

    `covers` are the solids stacked over the item, which meet first what they reach.
    """

    tolerances: Tolerances
    hard: Solids
    way: Way
    covers: Solids
    within_mm: float

    def coming_in(self, others: Sequence[Solid]) -> Iterator[ComingIn]:
        """Yield what of some things, walls left out, may come in."""
        mine = tuple(self.faces(self.hard))
        for other in others:
            near = [p for p in mine if self.may_come_in(p.solid, other)]
            theirs = tuple(self.faces((other,))) if near else ()
            for p in near:
                moving = self.moving(p, other)
                for q in theirs:
                    if self.may_be_ahead(p, q):
                        yield from self.entering(p, q, moving)

    def faces(self, solids: Solids) -> Iterator[Face]:
        """Yield the faces of solids, without hollows across the way."""
        return convex_faces(solids, self.way.axis)

    def may_come_in(self, solid: Solid, other: Solid) -> bool:
        """Whether a thing comes near enough, by how far either may be off at most."""
        a, b = self.tolerances.far_out(solid), self.tolerances.far_out(other)
        low, high = (a, b) if self.way.sign > 0 else (b, a)
        axis = self.way.axis
        if low[axis] > high[axis + 3] or high[axis] - low[axis + 3] >= self.within_mm:
            return False
        return all(a[k] < b[k + 3] and b[k] < a[k + 3] for k in self.across)

    def may_be_ahead(self, p: Face, q: Face) -> bool:
        """Whether what of a piece may come before a face may lie wholly ahead of it."""
        part = self.tolerances.facing(p, q, self.way)
        if part is None:
            return False
        ahead = ahead_mm(p.prism, part.prism, self.way)
        if meets(ahead, 0.0):
            return True
        k = self.way.axis
        for solid in (p.solid, q.solid):
            far = self.tolerances.far_out(solid)
            ahead += max(solid.bounds[k] - far[k], far[k + 3] - solid.bounds[k + 3])
        return meets(ahead, 0.0) and meets(self.ahead(p, q).most_mm, 0.0)

    @property
    def across(self) -> frozenset[int]:
        """The axes across the way."""
        return ALL_AXES - {self.way.axis}

    def moving(self, p: Face, other: Solid) -> tuple[Deviation, ...]:
        """Return all that may be off across the way in a face and another solid."""
        return self._moving(p, other, self.across)

    def _moving(self, p: Face, other: Solid, axes: frozenset[int]) -> tuple[Deviation, ...]:
        return tuple(
            d
            for d in self.tolerances.moving((p.solid, other))
            if d.axes & axes and (d.touches(p.solid) or d.touches(other))
        )

    def entering(self, p: Face, q: Face, moving: Sequence[Deviation]) -> Iterator[ComingIn]:
        """Yield a piece ahead that stands beside a face if it may come in its way."""
        gaps = self._lost(p, q, moving)
        if gaps and not self._is_covered(p, q):
            off_mm = sum(self._shift_mm(p, q, one) for one in moving)
            yield ComingIn(Near(self.ahead(p, q, off_mm), gaps), q.solid.name)

    def ahead(self, p: Face, q: Face, off_mm: float = inf) -> StackUp:
        """Return the stack-up of how far a piece lies ahead of a face that is off across so far."""
        moving = self._moving(p, q.solid, frozenset((self.way.axis,)))
        return self.tolerances.ahead(p, q, moving, self.way, off_mm)

    def _shift_mm(self, p: Face, q: Face, one: Deviation) -> float:
        """Return how far a dimension shifts two faces at most, across the way and the second."""
        sides = [k + end for k in self.across - {q.prism.axis} for end in (0, 3)]
        limits = (one.dimension.plus_mm or 0.0, -(one.dimension.minus_mm or 0.0))
        return max(
            sum(
                max(abs(then.bounds[k] - face.prism.bounds[k]) for k in sides)
                for face in (p, q)
                for then in (face.when(one, off_mm),)
            )
            for off_mm in limits
        )

    def seen(self, prism: Prism) -> Outline:
        """Return what a prism shows along the way."""
        return view(prism, self.way.axis)

    def across_mm(self, p: Prism, q: Prism) -> float:
        """Return the signed gap of two prisms as seen along the way (mm)."""
        axis = self.way.axis
        return GAP.mm(*(Prism(axis, view(one, axis), -BEYOND_MM, BEYOND_MM) for one in (p, q)))

    def _is_covered(self, p: Face, q: Face) -> bool:
        """Whether what is stacked over the item would meet a piece no later than a face does."""
        own = self.across_mm(p.prism, q.prism) if self.covers else 0.0
        return any(self.across_mm(c.prism, q.prism) <= own for c in faces(self.covers))

    def _lost(self, p: Face, q: Face, moving: Sequence[Deviation]) -> tuple[StackUp, ...]:
        """Return the gaps that part two outlines as drawn if all of them may be lost, else none."""
        a, b = self.seen(p.prism), self.seen(q.prism)
        most = sqrt(2.0) * sum(map(greatest_mm, moving))
        found: list[StackUp] = []
        for to in parting(a, b):
            gap = apart_mm(a, b, to)
            if gap >= most:
                return ()

            def gap_when(one: Deviation, off_mm: float) -> float:
                here, there = p.when(one, off_mm), q.when(one, off_mm)
                return apart_mm(self.seen(here), self.seen(there), to)  # noqa: B023 - asked at once

            found.append(self.tolerances.added_up(gap, moving, gap_when))
            if found[-1].worst_mm >= -LENGTH_EPS_MM:
                return ()
        return tuple(found) or self._lost_in_hollow(p, q, moving)

    def _lost_in_hollow(self, p: Face, q: Face, moving: Sequence[Deviation]) -> tuple[StackUp, ...]:
        gap = self.across_mm(p.prism, q.prism)
        if not meets(gap, 0.0):
            return ()
        by = []
        for one in moving:
            off, known = greatest_mm(one), one.dimension
            if (p.when(one, off), q.when(one, off)) != (p.prism, q.prism):
                off *= sqrt(len(one.axes & self.across))
                name = self.tolerances.name_of(one.owner)
                by.append(Contributor(one.owner, name, one.path, known, off, -off, one.uniform))
        found = stack_up(gap, by)
        return (found,) if found.worst_mm < -LENGTH_EPS_MM else ()
