"""The prism: a flat outline pushed along one axis. All that takes up room is made of these.

Plane coordinates are the two other axes in the order x, y, z: across axis 0 they are (y, z),
across 1 (x, z), across 2 (x, y). Rectangles stay numbers, so boxes never reach shapely; round
outlines stay radii, so they are measured in closed form.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from geometry.pose import Pose, Vec

if TYPE_CHECKING:
    from shapely import Polygon

PLANE = ((1, 2), (0, 2), (0, 1))
"""The two plane axes across each axis."""

Bounds = tuple[float, float, float, float, float, float]
"""Least x, y, z, then greatest x, y, z."""


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


@dataclass(frozen=True)
class Poly:
    """A polygon with holes; rings are not closed (the first point is not repeated)."""

    shell: tuple[tuple[float, float], ...]
    holes: tuple[tuple[tuple[float, float], ...], ...] = ()

    def bounds(self) -> tuple[float, float, float, float]:
        """Return least a, least b, greatest a, greatest b."""
        aa = [p[0] for p in self.shell]
        bb = [p[1] for p in self.shell]
        return (min(aa), min(bb), max(aa), max(bb))

    @cached_property
    def polygon(self) -> Polygon:
        """The outline as a shapely polygon, prepared."""
        import shapely

        polygon = shapely.Polygon(self.shell, self.holes)
        shapely.prepare(polygon)
        return polygon


Outline = Rect | Round | Poly


@dataclass(frozen=True)
class Prism:
    """`outline` pushed along `axis` (0, 1, 2 for x, y, z) from `lo` to `hi` (mm)."""

    axis: int
    outline: Outline
    lo: float
    hi: float

    @cached_property
    def bounds(self) -> Bounds:
        """Least x, y, z, then greatest x, y, z."""
        a0, b0, a1, b1 = self.outline.bounds()
        least = [0.0, 0.0, 0.0]
        most = [0.0, 0.0, 0.0]
        i, j = PLANE[self.axis]
        least[i], least[j], least[self.axis] = a0, b0, self.lo
        most[i], most[j], most[self.axis] = a1, b1, self.hi
        return (least[0], least[1], least[2], most[0], most[1], most[2])

    @property
    def is_box(self) -> bool:
        """Whether the outline is a rectangle, so that any axis would do."""
        return isinstance(self.outline, Rect)


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

    def at(a: float, b: float) -> tuple[float, float]:
        pa, pb = si * a + ti, sj * b + tj
        return (pb, pa) if swap else (pa, pb)

    ends = sorted(out.sign * v + pose.shift[out.axis] for v in (prism.lo, prism.hi))
    return Prism(out.axis, _map_outline(prism.outline, at), ends[0], ends[1])


def _map_outline(outline: Outline, at: PointMap) -> Outline:
    if isinstance(outline, Rect):
        (a0, b0), (a1, b1) = at(outline.a0, outline.b0), at(outline.a1, outline.b1)
        return Rect(min(a0, a1), min(b0, b1), max(a0, a1), max(b0, b1))
    if isinstance(outline, Round):
        ends = sorted((at(outline.a0, outline.b0), at(outline.a1, outline.b1)))
        return Round(*ends[0], *ends[1], outline.r)
    return Poly(
        tuple(at(a, b) for a, b in outline.shell),
        tuple(tuple(at(a, b) for a, b in ring) for ring in outline.holes),
    )


def shifted(prism: Prism, by: Vec) -> Prism:
    """Return `prism` moved by a vector (mm)."""
    i, j = PLANE[prism.axis]
    di, dj, dk = by[i], by[j], by[prism.axis]
    outline = _map_outline(prism.outline, lambda a, b: (a + di, b + dj))
    return Prism(prism.axis, outline, prism.lo + dk, prism.hi + dk)


if TYPE_CHECKING:
    from collections.abc import Callable

    PointMap = Callable[[float, float], tuple[float, float]]
