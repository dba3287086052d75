"""Travel: how far a solid can move along a direction before it runs into another."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import inf
from typing import NamedTuple

from geometry.contact import contact_place
from geometry.overlap import parting_shift
from geometry.pose import Vec, Way
from geometry.prism import Prism
from geometry.shifts import holds_start, pair_shifts
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
    met = _met(a, way, others, ahead=True)
    if any(holds_start(*m.span) for m in met):
        return _backwards(a, way, others)
    ahead = [m for m in met if m.span[1] > LENGTH_EPS_MM]
    if not ahead:
        return Travel(inf)
    first = min(ahead, key=lambda m: m.span[0])
    place = contact_place(first.p, first.q, way, first.span[0])
    return Travel(max(first.span[0], 0.0), first.key, place)


def _backwards(
    a: Sequence[Prism], way: Way, others: Sequence[tuple[Hashable, Sequence[Prism]]]
) -> Travel:
    """Return minus the shift that frees the start; backing out may enter what lies behind."""
    met = _met(a, way, others, ahead=False)
    back = min(m.span[0] for m in met if holds_start(*m.span))
    for m in sorted(met, key=lambda m: -m.span[1]):
        if m.span[0] < back < m.span[1] - LENGTH_EPS_MM:
            back = m.span[0]
    first = min(met, key=lambda m: abs(m.span[0] - back))
    shared = parting_shift(a, [q for _, prisms in others for q in prisms])
    # A sliver thinner than the tolerance across the way counts as touching.
    mm = 0.0 if shared is None else back
    return Travel(mm, first.key, contact_place(first.p, first.q, way, first.span[0]))


class _Met(NamedTuple):
    """Shifts along the way at which prism `p` of the mover shares room with prism `q`."""

    span: Span
    key: Hashable
    p: Prism
    q: Prism


def _met(
    a: Sequence[Prism],
    way: Way,
    others: Sequence[tuple[Hashable, Sequence[Prism]]],
    *,
    ahead: bool,
) -> list[_Met]:
    found = []
    for key, prisms in others:
        for q in prisms:
            for p in a:
                if ahead and _behind(p, q, way):
                    continue
                for lo, hi in pair_shifts(p, q, way.axis):
                    span = (lo, hi) if way.sign > 0 else (-hi, -lo)
                    if not ahead or span[1] > -LENGTH_EPS_MM:
                        found.append(_Met(span, key, p, q))
    return found


def _behind(p: Prism, q: Prism, way: Way) -> bool:
    """Whether bounds show that `q` lies wholly behind the start of `p`."""
    if way.sign > 0:
        return q.bounds[way.axis + 3] <= p.bounds[way.axis] - LENGTH_EPS_MM
    return q.bounds[way.axis] >= p.bounds[way.axis + 3] + LENGTH_EPS_MM
