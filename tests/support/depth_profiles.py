"""What is read off a depth profile: where it breaks, and how deep it is at a place."""

from __future__ import annotations

from geometry.measures.profile import DepthProfile


def breakpoints_mm(profile: DepthProfile) -> tuple[float, ...]:
    """Return where the nearest solid, or its nearest side, changes."""
    return tuple(piece.t1 for piece in profile.pieces[:-1])


def depth_at(profile: DepthProfile, t_mm: float) -> float:
    """Return the depth at a place along the side; the lesser one at a breakpoint."""
    return min(p.depth(t_mm) for p in profile.pieces if p.t0 <= t_mm <= p.t1)
