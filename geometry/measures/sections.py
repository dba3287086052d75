"""Sections of prisms across one axis, and where the area that they share changes its form.

Across the slicing axis t a prism pushed along it shows its outline, the same at every t; any other
shows rectangles, of which two sides stand still and two move with t. Between two breakpoints the
sides of all sections keep their order, so the area is one smooth function of t.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import combinations, pairwise, permutations

from geometry.measures.area import Side, crossings, sides
from geometry.measures.prism import PLANE, Outline, Poly, Prism, Rect, turned
from geometry.measures.strips import Strip, strips

_LOOKS = 8
"""At so many places between two breakpoints one looks for a corner that crosses a fixed side."""
_HALVINGS = 48


class Sliced:
    """One prism as its sections across axis `axis` show it."""

    def __init__(self, prism: Prism, axis: int) -> None:
        self.fixed: tuple[float, float, Outline] | None = None
        self.strips: tuple[Strip, ...] = ()
        u, v = PLANE[axis]
        if prism.is_box:
            prism = turned(prism, axis)
        if prism.axis == axis:
            self.fixed = (prism.lo, prism.hi, prism.outline)
            return
        self.lo, self.hi = prism.lo, prism.hi
        moving = v if prism.axis == u else u
        self.moves_v = moving == v
        self.strips = strips(prism.outline, PLANE[prism.axis].index(moving))

    def section(self, t: float) -> list[Outline]:
        """Return the outlines of the section at `t`."""
        if self.fixed is not None:
            return [self.fixed[2]] if self.fixed[0] <= t <= self.fixed[1] else []
        out: list[Outline] = []
        for s in self.strips:
            if s.t0 <= t <= s.t1:
                left, right = s.left(t), s.right(t)
                if self.moves_v:
                    out.append(Rect(self.lo, left, self.hi, right))
                else:
                    out.append(Rect(left, self.lo, right, self.hi))
        return out

    def is_round(self, t: float) -> bool:
        """Whether the section at `t` has sides that are not straight, or move along an arc."""
        if self.fixed is not None:
            lo, hi, outline = self.fixed
            return lo <= t <= hi and not isinstance(outline, Rect | Poly)
        return any(s.r and s.t0 <= t <= s.t1 for s in self.strips)

    def ends(self) -> list[float]:
        """Return where the section starts, ends or changes its form."""
        if self.fixed is not None:
            return [self.fixed[0], self.fixed[1]]
        return [t for s in self.strips for t in (s.t0, s.t1)]

    def still(self, which: int) -> list[Side]:
        """Return the sides of rectangles that stand still on plane coordinate `which`."""
        if self.fixed is not None or self.moves_v == bool(which):
            return []
        t0, t1 = min(s.t0 for s in self.strips), max(s.t1 for s in self.strips)
        return [Side(t0, t1, v, v, 0.0, 0.0, 1) for v in (self.lo, self.hi)]

    def moving(self, which: int) -> list[Side]:
        """Return the sides that move on plane coordinate `which`, as curves over the axis."""
        if self.fixed is not None or self.moves_v != bool(which):
            return []
        return [side for s in self.strips for side in sides(s)]


def breakpoints(every: Sequence[Sliced], lo: float, hi: float) -> list[float]:
    """Return where between `lo` and `hi` the shared area may change its form, with both ends."""
    fixed = _fixed_sides(every)
    moving = [[side for s in every for side in s.moving(which)] for which in (0, 1)]
    cuts = {lo, hi, *(t for s in every for t in s.ends())}
    for which in (0, 1):
        still = [Side(lo, hi, v, v, 0.0, 0.0, 1) for v in sorted(_levels(every, fixed, which))]
        cuts.update(
            t for one, other in combinations(moving[which], 2) for t in crossings(one, other)
        )
        cuts.update(t for one in moving[which] for other in still for t in crossings(one, other))
    found = sorted(t for t in cuts if lo <= t <= hi)
    if fixed and any(moving):
        on_u, on_v = ([*moving[k], *(side for s in every for side in s.still(k))] for k in (0, 1))
        found = sorted({*found, *_corners(found, on_u, on_v, fixed)})
    return found


def _fixed_sides(every: Iterable[Sliced]) -> list[list[Side]]:
    """Return the sides of each outline that stays as it is, as curves u(v)."""
    outlines = [s.fixed[2] for s in every if s.fixed is not None]
    return [[side for strip in strips(o, 0) for side in sides(strip)] for o in outlines]


def _levels(every: Iterable[Sliced], fixed: list[list[Side]], which: int) -> set[float]:
    """Return the levels on a plane coordinate which a moving side may pass."""
    levels: set[float] = set()
    for s in every:
        if s.fixed is not None:
            # Over the ends of its strips an outline changes its form.
            levels.update(t for strip in strips(s.fixed[2], 1 - which) for t in strip[:2])
        else:
            levels.update(side.v0 for side in s.still(which))
    for one, other in permutations(fixed, 2):
        for a in one:
            for b in other:
                # Sides cross, or one crosses an edge that is level on v, at the end of a strip.
                met = [*crossings(a, b), *(v for v in b[:2] if a.t0 <= v <= a.t1)]
                levels.update(met if which else map(a.value, met))
    return levels


def _corners(
    cuts: list[float], on_u: list[Side], on_v: list[Side], fixed: list[list[Side]]
) -> Iterator[float]:
    """Yield where corners of the sides of rectangles cross a side of what stays as it is."""
    for t0, t1 in pairwise(cuts):
        middle = (t0 + t1) / 2
        across = [side for side in on_u if side.t0 <= middle <= side.t1]
        for v_side in on_v:
            if not v_side.t0 <= middle <= v_side.t1:
                continue
            level = v_side.value(middle)
            met = [side for group in fixed for side in group if side.t0 <= level <= side.t1]
            for u_side in across:
                for side in met:
                    yield from _roots(u_side, v_side, side, t0, t1)


def _roots(u_side: Side, v_side: Side, still: Side, t0: float, t1: float) -> Iterator[float]:
    def apart(t: float) -> float:
        return u_side.value(t) - still.value(v_side.value(t))

    looks = 1 if not (u_side.r or v_side.r or still.r) else _LOOKS
    at = [t0 + (t1 - t0) * k / looks for k in range(looks + 1)]
    for (a, one), (b, other) in pairwise([(t, apart(t)) for t in at]):
        if one * other < 0.0:
            yield _root(apart, a, b, one)


def _root(f: Callable[[float], float], a: float, b: float, at_a: float) -> float:
    for _ in range(_HALVINGS):
        middle = (a + b) / 2
        value = f(middle)
        if value == 0.0:
            return middle
        if (value > 0.0) == (at_a > 0.0):
            a = middle
        else:
            b = middle
    return (a + b) / 2
