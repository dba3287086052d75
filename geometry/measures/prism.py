"""The prism: a flat outline pushed along one axis. All that takes up room is made of these.

Plane coordinates are the two other axes in the order x, y, z: across axis 0 they are (y, z),
across 1 (x, z), across 2 (x, y). Rectangles stay numbers, so boxes never reach shapely; round
outlines stay radii, so they are measured in closed form.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from geometry.measures.pose import Pose, Vec

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray
    from shapely import Polygon

    from geometry.measures.strips import Strip

PLANE = ((1, 2), (0, 2), (0, 1))
"""The two plane axes across each axis."""

Bounds = tuple[float, float, float, float, float, float]
"""Least x, y, z, then greatest x, y, z."""

Core = tuple[float, float, float, float, float, float, float]
"""Bounds of a block that is grown by a radius across one axis, and that radius (mm)."""


@dataclass(frozen=True, slots=True)
class Rect:
    """An upright rectangle from (a0, b0) to (a1, b1)."""

    a0: float
    b0: float
    a1: float
    b1: float

    def bounds(self) -> tuple[float, float, float, float]:
        """Return least a, least b, greatest a, greatest b."""
        return (self.a0, self.b0, self.a1, self.b1)


@dataclass(frozen=True, slots=True)
class Round:
    """All points within `r` of the segment from (a0, b0) to (a1, b1): a circle or a stadium.

    The segment lies along one of the two plane axes; for a circle both ends are its centre.
    """

    a0: float
    b0: float
    a1: float
    b1: float
    r: float

    def bounds(self) -> tuple[float, float, float, float]:
        """Return least a, least b, greatest a, greatest b."""
        return (
            min(self.a0, self.a1) - self.r,
            min(self.b0, self.b1) - self.r,
            max(self.a0, self.a1) + self.r,
            max(self.b0, self.b1) + self.r,
        )


class PlaneMap(NamedTuple):
    """A move of the plane: signs, then shifts (mm), then perhaps both coordinates swapped."""

    sign_a: int = 1
    shift_a: float = 0.0
    sign_b: int = 1
    shift_b: float = 0.0
    swap: bool = False

    def at(self, a: float, b: float) -> tuple[float, float]:
        """Return where a point goes."""
        a, b = self.sign_a * a + self.shift_a, self.sign_b * b + self.shift_b
        return (b, a) if self.swap else (a, b)

    def after(self, first: PlaneMap) -> PlaneMap:
        """Return the move that makes `first`, then this one."""
        one = (first.sign_a, first.shift_a), (first.sign_b, first.shift_b)
        (sa, ta), (sb, tb) = one[::-1] if first.swap else one
        a = (self.sign_a * sa, self.sign_a * ta + self.shift_a)
        b = (self.sign_b * sb, self.sign_b * tb + self.shift_b)
        return PlaneMap(*(b + a if first.swap else a + b), self.swap != first.swap)


@dataclass(frozen=True)
class Poly:
    """A polygon with holes; rings are not closed (the first point is not repeated).

    A moved polygon remembers the one it was made from, to move its strips instead of cutting
    itself anew.
    """

    shell: tuple[tuple[float, float], ...]
    holes: tuple[tuple[tuple[float, float], ...], ...] = ()
    root: tuple[Poly, PlaneMap] | None = field(default=None, repr=False, compare=False)

    def bounds(self) -> tuple[float, float, float, float]:
        """Return least a, least b, greatest a, greatest b."""
        aa = [p[0] for p in self.shell]
        bb = [p[1] for p in self.shell]
        return (min(aa), min(bb), max(aa), max(bb))

    @cached_property
    def polygon(self) -> Polygon:
        """The outline as a shapely polygon."""
        import numpy as np
        import shapely

        # From arrays: the class itself goes through the corners one by one.
        holes = [shapely.linearrings(np.array(ring)) for ring in self.holes]
        polygon: Polygon = shapely.polygons(np.array(self.shell), holes or None)
        return polygon

    def strips(self, along: int) -> tuple[Strip, ...]:
        """Return the outline cut into strips, kept for the next time."""
        return self._strips_a if along == 0 else self._strips_b

    @cached_property
    def _strips_a(self) -> tuple[Strip, ...]:
        return self._cut(0)

    @cached_property
    def _strips_b(self) -> tuple[Strip, ...]:
        return self._cut(1)

    def strip_rows(self, along: int) -> NDArray[float64]:
        """Return the strips as rows of an array, shape (n, 8), kept for the next time."""
        return self._rows_a if along == 0 else self._rows_b

    @cached_property
    def _rows_a(self) -> NDArray[float64]:
        import numpy as np

        return np.array(self._strips_a)

    @cached_property
    def _rows_b(self) -> NDArray[float64]:
        import numpy as np

        return np.array(self._strips_b)

    def _cut(self, along: int) -> tuple[Strip, ...]:
        from geometry.measures.strips import moved_strips, poly_strips

        if self.root is None:
            return poly_strips(self, along)
        return moved_strips(*self.root, along)

    def moved(self, move: PlaneMap) -> Poly:
        """Return the polygon moved in its plane."""
        shell = tuple(move.at(a, b) for a, b in self.shell)
        holes = tuple(tuple(move.at(a, b) for a, b in ring) for ring in self.holes)
        if self.root is None:
            return Poly(shell, holes, (self, move))
        return Poly(shell, holes, (self.root[0], move.after(self.root[1])))


def make_polygons(outlines: Iterable[Poly]) -> None:
    """Make the shapely polygons of many outlines at once, several times faster than each alone."""
    import numpy as np
    import shapely

    # What is already there, as a cached property keeps it, is left alone.
    new = [o for o in outlines if not o.holes and "polygon" not in vars(o)]
    if new:
        corners = np.array([p for o in new for p in o.shell])
        rings = shapely.linearrings(
            corners, indices=np.repeat(np.arange(len(new)), [len(o.shell) for o in new])
        )
        for outline, polygon in zip(new, shapely.polygons(rings), strict=True):
            vars(outline)["polygon"] = polygon


Outline = Rect | Round | Poly


@dataclass(frozen=True)
class Prism:
    """`outline` pushed along `axis` (0, 1, 2 for x, y, z) from `lo` to `hi` (mm)."""

    axis: int
    outline: Outline
    lo: float
    hi: float

    bounds: Bounds = field(init=False, repr=False, compare=False)
    """Least x, y, z, then greatest x, y, z."""

    def __post_init__(self) -> None:
        # Every prism is asked for its bounds, most of them for nothing else.
        a0, b0, a1, b1 = self.outline.bounds()
        if self.axis == 2:
            bounds = (a0, b0, self.lo, a1, b1, self.hi)
        elif self.axis == 1:
            bounds = (a0, self.lo, b0, a1, self.hi, b1)
        else:
            bounds = (self.lo, a0, b0, self.hi, a1, b1)
        object.__setattr__(self, "bounds", bounds)

    @property
    def is_box(self) -> bool:
        """Whether the outline is a rectangle, so that any axis would do."""
        return isinstance(self.outline, Rect)

    @cached_property
    def core(self) -> Core | None:
        """The block that is rounded to make this prism; None for a polygon."""
        o, b = self.outline, self.bounds
        if isinstance(o, Rect):
            return (*b, 0.0)
        if isinstance(o, Poly):
            return None
        a0, b0, a1, b1 = min(o.a0, o.a1), min(o.b0, o.b1), max(o.a0, o.a1), max(o.b0, o.b1)
        if self.axis == 2:
            return (a0, b0, b[2], a1, b1, b[5], o.r)
        if self.axis == 1:
            return (a0, b[1], b0, a1, b[4], b1, o.r)
        return (b[0], a0, b0, b[3], a1, b1, o.r)


def whole_bounds(prisms: Sequence[Prism]) -> Bounds:
    """Return least x, y, z, then greatest x, y, z over all prisms."""
    return prisms[0].bounds if len(prisms) == 1 else hull([p.bounds for p in prisms])


def hull(bounds: Sequence[Bounds]) -> Bounds:
    """Return least x, y, z, then greatest x, y, z over bounds."""
    x0, y0, z0, x1, y1, z1 = zip(*bounds, strict=True)
    return min(x0), min(y0), min(z0), max(x1), max(y1), max(z1)


def widened(bounds: Bounds, by_mm: float) -> Bounds:
    """Return bounds that reach farther by a margin on every side."""
    x0, y0, z0, x1, y1, z1 = bounds
    return x0 - by_mm, y0 - by_mm, z0 - by_mm, x1 + by_mm, y1 + by_mm, z1 + by_mm


def bounds_meet(one: Bounds, other: Bounds) -> bool:
    """Whether two bounds share a place, be it on their faces alone."""
    x0, y0, z0, x1, y1, z1 = one
    u0, v0, w0, u1, v1, w1 = other
    return x0 <= u1 and u0 <= x1 and y0 <= v1 and v0 <= y1 and z0 <= w1 and w0 <= z1


def box(least: Sequence[float], most: Sequence[float]) -> Prism:
    """Return the block from corner `least` to corner `most`, pushed along z."""
    return Prism(2, Rect(least[0], least[1], most[0], most[1]), least[2], most[2])


def place(prism: Prism, pose: Pose) -> Prism:
    """Return `prism` of a part frame as it stands in the world under `pose`. Exact."""
    ways = (pose.x, pose.y, pose.z)
    out = ways[prism.axis]
    i, j = PLANE[prism.axis]
    wi, wj = ways[i], ways[j]
    swap = wi.axis > wj.axis
    si, ti = wi.sign, pose.shift[wi.axis]
    sj, tj = wj.sign, pose.shift[wj.axis]

    move = PlaneMap(si, ti, sj, tj, swap)
    ends = sorted(out.sign * v + pose.shift[out.axis] for v in (prism.lo, prism.hi))
    return Prism(out.axis, moved_outline(prism.outline, move), ends[0], ends[1])


def moved_outline(outline: Outline, move: PlaneMap) -> Outline:
    """Return an outline moved in its plane."""
    if isinstance(outline, Poly):
        return outline.moved(move)
    p, q = move.at(outline.a0, outline.b0), move.at(outline.a1, outline.b1)
    if isinstance(outline, Rect):
        return Rect(min(p[0], q[0]), min(p[1], q[1]), max(p[0], q[0]), max(p[1], q[1]))
    return Round(*min(p, q), *max(p, q), outline.r)


def shifted(prism: Prism, by: Vec) -> Prism:
    """Return `prism` moved by a vector (mm)."""
    i, j = PLANE[prism.axis]
    outline = moved_outline(prism.outline, PlaneMap(1, by[i], 1, by[j]))
    return Prism(prism.axis, outline, prism.lo + by[prism.axis], prism.hi + by[prism.axis])


def turned(prism: Prism, axis: int) -> Prism:
    """Return a box as a prism along another axis: the same room.

    Raises ValueError for anything but a box.
    """
    if axis == prism.axis:
        return prism
    if not prism.is_box:
        raise ValueError("only a box is a prism along any axis")
    b = prism.bounds
    i, j = PLANE[axis]
    return Prism(axis, Rect(b[i], b[j], b[i + 3], b[j + 3]), b[axis], b[axis + 3])


def view(prism: Prism, axis: int) -> Outline:
    """Return what one sees of `prism` along `axis`, in that axis's plane coordinates. Exact."""
    if axis == prism.axis:
        return prism.outline
    b = prism.bounds
    i, j = PLANE[axis]
    return Rect(b[i], b[j], b[i + 3], b[j + 3])
