"""The 24 axis-aligned rotations with a shift: where a part stands and which way round."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from catalog.model import Direction

Vec = tuple[float, float, float]

AXES = "xyz"


@dataclass(frozen=True, slots=True)
class Way:
    """A signed axis: `axis` 0, 1, 2 for x, y, z and `sign` +1 or -1."""

    axis: int
    sign: int

    @property
    def name(self) -> Direction:
        """The direction as it stands in a file, "+x" to "-z"."""
        return ("+" if self.sign > 0 else "-") + AXES[self.axis]  # type: ignore[return-value]

    @property
    def vector(self) -> Vec:
        """The unit vector."""
        return tuple(float(self.sign) if k == self.axis else 0.0 for k in range(3))  # type: ignore[return-value]

    def __neg__(self) -> Way:
        return Way(self.axis, -self.sign)

    def cross(self, other: Way) -> Way:
        """Return the vector product with another axis.

        Raises ValueError when both lie along one axis.
        """
        if self.axis == other.axis:
            raise ValueError(f"{self.name} and {other.name} lie along one axis")
        third = 3 - self.axis - other.axis
        cyclic = (self.axis + 1) % 3 == other.axis
        return Way(third, self.sign * other.sign * (1 if cyclic else -1))


@cache
def way(direction: str) -> Way:
    """Read "+x" and the like."""
    return Way(AXES.index(direction[1]), 1 if direction[0] == "+" else -1)


@dataclass(frozen=True, slots=True)
class Pose:
    """Part X, Y, Z axes as signed world axes, then a shift of the part's origin (mm)."""

    x: Way
    y: Way
    z: Way
    shift: Vec = (0.0, 0.0, 0.0)

    @classmethod
    def from_axes(cls, x: Way, z: Way, shift: Vec = (0.0, 0.0, 0.0)) -> Pose:
        """Build the right-handed pose with part X along `x` and part Z along `z`."""
        return cls(x, z.cross(x), z, shift)

    def turn(self, direction: Way) -> Way:
        """Return the world direction of a direction in the part frame."""
        own = (self.x, self.y, self.z)[direction.axis]
        return own if direction.sign > 0 else -own

    def point(self, p: Vec) -> Vec:
        """Return the world place of a point in the part frame."""
        x, y, z = self.x, self.y, self.z
        out = list(self.shift)
        out[x.axis] += x.sign * p[0]
        out[y.axis] += y.sign * p[1]
        out[z.axis] += z.sign * p[2]
        return (out[0], out[1], out[2])

    def local(self, p: Vec) -> Vec:
        """Return the part-frame place of a world point (the inverse of `point`)."""
        x, y, z, shift = self.x, self.y, self.z, self.shift
        return (
            x.sign * (p[x.axis] - shift[x.axis]),
            y.sign * (p[y.axis] - shift[y.axis]),
            z.sign * (p[z.axis] - shift[z.axis]),
        )

    def after(self, inner: Pose) -> Pose:
        """Return the pose that applies `inner` first, then this one."""
        return Pose(
            self.turn(inner.x), self.turn(inner.y), self.turn(inner.z), self.point(inner.shift)
        )


IDENTITY = Pose(Way(0, 1), Way(1, 1), Way(2, 1))
