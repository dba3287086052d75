"""Every way in which a part with six sides may be turned."""

from __future__ import annotations

from functools import cache

from geometry.measures.pose import Pose, Way


@cache
def all_rotations() -> tuple[Pose, ...]:
    """Return the 24 right-handed rotations, identity first."""
    ways = [Way(k, s) for k in range(3) for s in (1, -1)]
    return tuple(Pose.from_axes(x, z) for x in ways for z in ways if x.axis != z.axis)
