"""Travel: how far a solid can move along a direction before it runs into another."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import inf

from geometry.contact import contact_place
from geometry.pose import Vec, Way
from geometry.prism import Prism
from geometry.shifts import around_start, pair_shifts
from geometry.strips import Span
from geometry.tolerance import LENGTH_EPS_MM


@dataclass(frozen=True, slots=True)
class Travel:
    """How far a solid moves until it touches another.

    `mm` is infinite when nothing stands in the way, and negative when it starts in another's
    room: minus the shift backwards that frees it. `hit` is the key of the solid that limits it
    and `place` a world point of the contact; both None when nothing does.
    """

    mm: float
    hit: Hashable | None = None
    place: Vec | None = None


def travel(
    a: Sequence[Prism],
    way: Way,
    others: Sequence[tuple[Hashable, Sequence[Prism]]],
) -> Travel:
    """Return how far solid `a` moves along `way` until it touches one of `others`.

    It is the largest s such that interiors stay disjoint over all of [0, s]; sliding contact
    does not stop it. `others` together count as one solid when the start shares room with them.
    """
    found: list[tuple[Span, Hashable, Prism, Prism]] = []
    for key, prisms in others:
        for p in a:
            for q in prisms:
                if _behind(p, q, way):
                    continue
                for lo, hi in pair_shifts(p, q, way.axis):
                    span = (lo, hi) if way.sign > 0 else (-hi, -lo)
                    if span[1] > LENGTH_EPS_MM:
                        found.append((span, key, p, q))
    if not found:
        return Travel(inf)
    start = around_start([f[0] for f in found])
    limit = start[0] if start is not None else min(f[0][0] for f in found)
    span, key, p, q = min(found, key=lambda f: abs(f[0][0] - limit))
    mm = limit if start is not None else max(limit, 0.0)
    return Travel(mm, key, contact_place(p, q, way, span[0]))


def _behind(p: Prism, q: Prism, way: Way) -> bool:
    """Whether bounds show that `q` lies wholly behind the start of `p`."""
    if way.sign > 0:
        return q.bounds[way.axis + 3] <= p.bounds[way.axis]
    return q.bounds[way.axis] >= p.bounds[way.axis + 3]
