"""How an item may come to meet the wall where it passes several openings that are one.

As drawn the openings leave no wall before the item, though none of them holds it alone. A point of
the item meets the wall where it lies outside all of them: beyond one side of each, for openings are
taken as pieces without hollows. So all choices of sides are gone through. For one of them there is
such a point only where the item reaches beyond each side, where two sides that face away from each
other leave a bar of wall between them, and where two that lean do so as far as an edge of the item.
Of convex things in a plane that share no point three at a time tell it (Helly's theorem, from
memory), so three sides that look all round are looked at too. What parts them as drawn has to be
lost, all of it; a choice of which one thing cannot be lost is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from itertools import combinations
from math import cos, pi, sin

from geometry.measures.convex_pieces import Point, Ring, convex_pieces, corners
from geometry.measures.prism import Outline, Poly, Prism, Round
from geometry.measures.rings import inner_polygon
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.stackup.beside_the_way import Sight
from geometry.stackup.combined_effects import NO_ROUNDS
from geometry.stackup.deviation import Deviation
from geometry.stackup.directions import points, reach
from geometry.stackup.faces import Face, faces, greatest_mm
from geometry.stackup.opening_edges import Edge, Line, edges_of_side, side_line, sides_of
from geometry.stackup.rim_parts import Hole
from geometry.stackup.stack_ups import Contributor, StackUp, stack_up

OPPOSITE = -0.99
"""Sides face away from each other where the product of their normals is less: within 8 degrees."""

ROUND_SIDES = 32
"""Round openings are taken as polygons of so many sides inside them, by 0.5 % of their radius."""

MOST_CHOICES = 2_000
"""So many choices of sides are gone through; where there are more, wall may be met anyhow."""

NEARLY = 0.1
"""Lines cross on a side of the item, or beyond its ends by no more than this share of it."""

MOST = 4.0
"""No gap loses more than so many times what all its dimensions are off."""


@dataclass(frozen=True)
class OpeningPart:
    """An opening, or one of its pieces where it has hollows, by the numbers of its corners."""

    hole: Hole
    ring: Ring | None = None

    def seen(self, outline: Outline) -> Outline:
        """Return what of the outline of the opening is its own; of a round one a polygon in it."""
        if self.ring is not None:
            at = corners(outline)
            return Poly(tuple(at[k] for k in self.ring))
        if isinstance(outline, Round):
            return _ring_in(outline)
        return outline


@lru_cache(maxsize=512)
def _ring_in(outline: Round) -> Poly:
    """Return a polygon drawn inside a round outline."""
    step = 2.0 * pi / ROUND_SIDES
    ends = ((outline.a0, outline.b0), (outline.a1, outline.b1))
    ring = []
    for k in range(ROUND_SIDES):
        x, y = cos((k + 0.5) * step), sin((k + 0.5) * step)
        a, b = max(ends, key=lambda end: end[0] * x + end[1] * y)
        ring.append((a + outline.r * x, b + outline.r * y))
    return Poly(tuple(ring))


def parts_of(hole: Hole, outline: Outline) -> Iterator[OpeningPart]:
    """Yield an opening, or its pieces where it has hollows."""
    rings = convex_pieces(outline)
    if not rings:
        yield OpeningPart(hole)
    for ring in rings:
        yield OpeningPart(hole, ring)


SideKey = tuple[int, int]
"""A side of a part of the openings: both by their numbers."""


@dataclass(frozen=True, eq=False)
class Joined:
    """A face of an item and the openings that it passes together."""

    sight: Sight
    face: Face
    holes: Sequence[Hole]
    known: dict[tuple[SideKey, ...], tuple[StackUp, ...] | None] = field(default_factory=dict)

    @cached_property
    def _mine(self) -> Outline:
        return self.sight.seen(self.face.prism)

    @cached_property
    def _parts(self) -> list[OpeningPart]:
        seen = self.sight.seen
        return [part for hole in self.holes for part in parts_of(hole, seen(hole.prism))]

    @cached_property
    def _outlines(self) -> list[Outline]:
        return [part.seen(self.sight.seen(part.hole.prism)) for part in self._parts]

    @cached_property
    def _covers(self) -> list[Outline]:
        return [self.sight.seen(cover.prism) for cover in faces(self.sight.covers)]

    @cached_property
    def _moving(self) -> tuple[Deviation, ...]:
        """What may be off across the way in the face."""
        solid = self.face.solid
        return tuple(
            d
            for d in self.sight.tolerances.moving((solid,))
            if d.axes & self.sight.across and d.touches(solid)
        )

    def hold(self) -> bool:
        """Whether the openings together leave no wall before the face as drawn."""
        import shapely

        blocks = [self.sight.seen(hole.prism).bounds() for hole in self.holes]
        for a, b in points(self._mine):
            if not any(p <= a <= r and q <= b <= s for p, q, r, s in blocks):
                return False
        own = inner_polygon(self._mine)
        rings = [inner_polygon(self.sight.seen(hole.prism)) for hole in self.holes]
        left = own - shapely.union_all(rings)
        return bool(left.area <= LENGTH_EPS_MM * own.length)

    def ways_out(self) -> Iterator[tuple[StackUp, ...]]:
        """Yield what has to be lost, all of it, for the face to meet the wall."""
        found: dict[frozenset[int], tuple[StackUp, ...]] = {}
        for gaps in self._chosen():
            # What the polygons in round openings leave as drawn may be met anyhow.
            if not gaps:
                yield (self._anyhow(),)
                return
            found.setdefault(frozenset(map(id, gaps)), gaps)
        for key, gaps in found.items():
            if not any(other < key for other in found):
                yield gaps

    def _chosen(self) -> Iterator[tuple[StackUp, ...]]:
        """Yield what has to be lost for each choice of sides; nothing where there are too many."""
        left: list[tuple[tuple[SideKey, ...], tuple[StackUp, ...]]] = [((), ())]
        looked_at = 0
        while left:
            chosen, gaps = left.pop()
            k = len(chosen)
            looked_at += 1
            if k == len(self._parts) or looked_at > MOST_CHOICES:
                yield gaps if k == len(self._parts) else ()
                continue
            for number in sides_of(self._outlines[k]):
                side = (k, number)
                some = (others for count in (0, 1, 2) for others in combinations(chosen, count))
                more = self._needed((*others, side) for others in some)
                if more is not None:
                    left.append(((*chosen, side), (*gaps, *more)))

    def _anyhow(self) -> StackUp:
        """Return a gap of nothing that all that may be off closes by as much."""
        moving = dict.fromkeys((*self._moving, *(d for hole in self.holes for d in hole.moving)))
        name_of = self.sight.tolerances.name_of
        return stack_up(
            0.0,
            (
                Contributor(
                    one.owner, name_of(one.owner), one.path, one.dimension,
                    -greatest_mm(one), greatest_mm(one), one.uniform,
                )
                for one in moving
            ),
        )  # fmt: skip

    def _needed(self, every: Iterable[tuple[SideKey, ...]]) -> tuple[StackUp, ...] | None:
        """Return what has to be lost for one to three sides each; None where it cannot be."""
        found: tuple[StackUp, ...] = ()
        for sides in every:
            if sides not in self.known:
                self.known[sides] = (self._passed, self._parted, self._closed)[len(sides) - 1](
                    *sides
                )
            own = self.known[sides]
            if own is None:
                return None
            found += own
        return found

    def _passed(self, side: SideKey) -> tuple[StackUp, ...] | None:
        """Return how far the face stays within a side; nothing where it reaches beyond."""
        outline, part = self._outlines[side[0]], self._parts[side[0]]
        to = side_line(outline, side[1])[:2]
        own = reach(self._mine, to)
        covered = any(meets(reach(c, to), own) for c in self._covers)

        def inside(edge: Edge) -> StackUp | None:
            def mm(face: Prism, hole: Prism) -> float:
                seen = self.sight.seen
                return edge.inside_mm(seen(face), part.seen(seen(hole)))

            return self._stack_up(mm, (self.face, part.hole), leans=edge.leans)

        edges = edges_of_side(self._mine, outline, side[1])
        found = _likeliest(inside(edge) for edge in edges)
        return None if covered and found else found

    def _parted(self, one: SideKey, other: SideKey) -> tuple[StackUp, ...] | None:
        """Return how far two sides overlap, nothing where they leave wall between them as drawn.

        Where they lean, at the edges of the face.
        """
        sides = (one, other)
        holes, lines = self._holes(sides), self._lines(sides)
        against = lines[0][0] * lines[1][0] + lines[0][1] * lines[1][1]

        def overlap(*cuts: Prism) -> float:
            return sum(far for _, _, far in self._lines(sides, cuts))

        if all(min(abs(a), abs(b)) <= LENGTH_EPS_MM for a, b, _ in lines):
            if against > OPPOSITE:
                return ()
            return _likeliest([_of_openings(self._stack_up(overlap, holes, leans=False))])

        def at_edge(k: int) -> StackUp | None:
            def mm(face: Prism, *cuts: Prism) -> float:
                at = points(self.sight.seen(face))
                return _overlap_mm(at[k - 1], at[k], *self._lines(sides, cuts))

            return _of_openings(self._stack_up(mm, (self.face, *holes), leans=True))

        if isinstance(self._mine, Round):
            return ()
        ends = [at_edge(k) for k in sides_of(self._mine) if _leaves_at(self._mine, k, lines)]
        if against <= OPPOSITE and ends:
            return _likeliest(ends)
        every = [_likeliest([end]) for end in ends]
        return None if None in every else tuple(gap for own in every for gap in own or ())

    def _closed(self, *sides: SideKey) -> tuple[StackUp, ...] | None:
        """Return how far three sides that look three ways overlap where they meet."""
        shares = _shares(self._lines(sides))
        if shares is None:
            return ()

        def overlap(*cuts: Prism) -> float:
            lines = self._lines(sides, cuts)
            own = _shares(lines) or shares
            return sum(share * far for share, (_, _, far) in zip(own, lines, strict=True))

        return _likeliest([_of_openings(self._stack_up(overlap, self._holes(sides), leans=True))])

    def _holes(self, sides: Iterable[SideKey]) -> list[Hole]:
        return [self._parts[k].hole for k, _ in sides]

    def _lines(self, sides: Sequence[SideKey], cuts: Sequence[Prism] | None = None) -> list[Line]:
        """Return the lines of sides, as drawn or as their openings are cut."""
        if cuts is None:
            return [side_line(self._outlines[k], number) for k, number in sides]
        return [
            side_line(self._parts[k].seen(self.sight.seen(cut)), number)
            for (k, number), cut in zip(sides, cuts, strict=True)
        ]

    def _stack_up(
        self, mm: Callable[..., float], of: Sequence[Face | Hole], *, leans: bool
    ) -> StackUp | None:
        """Return the stack-up of a figure of faces and openings; None where it is never lost."""
        each = (self._moving if isinstance(one, Face) else one.moving for one in of)
        moving = tuple(dict.fromkeys(one for some in each for one in some))
        if mm(*(one.prism for one in of)) > MOST * sum(map(greatest_mm, moving)):
            return None
        return self.sight.tolerances.of_several(of, moving, mm, together=leans, rounds=NO_ROUNDS)


def _of_openings(gap: StackUp | None) -> StackUp | None:
    """Return a gap as one that tells how far openings overlap."""
    return None if gap is None else replace(gap, of_openings=True)


def _likeliest(gaps: Iterable[StackUp | None]) -> tuple[StackUp, ...] | None:
    """Return of several gaps that of which most is lost; none where one is lost as drawn.

    None where none of them can be lost.
    """
    found = [gap for gap in gaps if gap is not None and gap.worst_mm < -LENGTH_EPS_MM]
    if not found:
        return None
    least = min(found, key=lambda gap: gap.worst_mm)
    return () if any(gap.nominal_mm < -LENGTH_EPS_MM for gap in found) else (least,)


def _beyond(a: Point, b: Point, line: Line) -> tuple[float, float]:
    """Return how far one point lies beyond a line, and how much farther another does."""
    here, there = (line[0] * x + line[1] * y - line[2] for x, y in (a, b))
    return here, there - here


def _overlap_mm(a: Point, b: Point, one: Line, other: Line) -> float:
    """Return how far two lines overlap where they cross on the line through two points."""
    (u, v), (s, t) = _beyond(a, b, one), _beyond(a, b, other)
    return -(u + v * (s - u) / (v - t))


def _shares(lines: Sequence[Line]) -> tuple[float, ...] | None:
    """Return the shares by which the normals of three lines are nothing together.

    None where they do not look three ways all round.
    """
    (a, b, _), (c, d, _), (e, f, _) = lines
    crossed = (c * f - d * e, e * b - f * a, a * d - b * c)
    whole = sum(crossed)
    if min(crossed) * max(crossed) <= 0.0 or abs(whole) <= LENGTH_EPS_MM:
        return None
    return tuple(one / whole for one in crossed)


def _leaves_at(outline: Outline, k: int, lines: Sequence[Line]) -> bool:
    """Whether what lies beyond two lines is widest on a side of an outline, of all its inside."""
    at = points(outline)
    (u, v), (s, t) = (_beyond(at[k - 1], at[k], line) for line in lines)
    if v * t >= 0.0 or not -NEARLY <= (s - u) / (v - t) <= 1.0 + NEARLY:
        return False
    share = t / (t - v)
    out = side_line(outline, k)
    towards = [share * p + (1.0 - share) * q for p, q in zip(*lines, strict=True)]
    return bool(out[0] * towards[0] + out[1] * towards[1] > -LENGTH_EPS_MM)
