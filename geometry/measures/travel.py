"""Travel: how far a solid can move along a direction before it runs into another."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from functools import partial
from math import inf
from typing import NamedTuple

from geometry.measures.contact import contact_place
from geometry.measures.overlap import parting_shift
from geometry.measures.pose import Vec, Way
from geometry.measures.prism import PLANE, Prism
from geometry.measures.shifts import holds_start, pair_shifts
from geometry.measures.strips import Span
from geometry.measures.tolerance import LENGTH_EPS_MM


class Travel:
    """How far a solid moves until it touches another; a value, compared by all that it tells.

    `mm` is infinite when nothing stands in the way, and negative when it starts in another's
    room: minus the shift backwards that frees it. `hit` is the key of the solid that limits it
    and `place` a world point of the contact; both None when nothing does. The place is sought when
    it is asked for: it costs more than the distance, and of many travels the least alone is shown.
    """

    __slots__ = ("_contact", "_place", "hit", "mm")

    def __init__(
        self,
        mm: float,
        hit: Hashable | None = None,
        place: Vec | None = None,
        *,
        contact: Callable[[], Vec | None] | None = None,
    ) -> None:
        self.mm, self.hit = mm, hit
        self._place, self._contact = place, contact

    @property
    def place(self) -> Vec | None:
        """A world point of the contact (mm); None where nothing is met."""
        if self._contact is not None:
            self._place, self._contact = self._contact(), None
        return self._place

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Travel):
            return NotImplemented
        return (self.mm, self.hit, self.place) == (other.mm, other.hit, other.place)

    def __hash__(self) -> int:
        return hash((self.mm, self.hit))

    def __repr__(self) -> str:
        return f"Travel({self.mm!r}, {self.hit!r}, {self.place!r})"


def travel(
    a: Sequence[Prism],
    way: Way,
    others: Sequence[tuple[Hashable, Sequence[Prism]]],
) -> Travel:
    """Return how far solid `a` moves along `way` until it touches one of `others`.

    It is the largest s such that interiors stay disjoint over all of [0, s]; sliding contact
    does not stop it. `others` together count as one solid when the start shares room with them.
    """
    best: tuple[float, _Pair] | None = None
    for pair in sorted(_pairs(a, way, others, ahead=True), key=lambda pair: pair.lo):
        if best is not None and pair.lo >= best[0]:
            break
        for lo, hi in _spans(pair, way):
            if holds_start(lo, hi):
                return _backwards(a, way, others)
            if hi > LENGTH_EPS_MM and (best is None or lo < best[0]):
                best = (lo, pair)
    if best is None:
        return Travel(inf)
    lo, pair = best
    contact = partial(contact_place, pair.p, pair.q, way, lo)
    return Travel(max(lo, 0.0), pair.key, contact=contact)


def _backwards(
    a: Sequence[Prism], way: Way, others: Sequence[tuple[Hashable, Sequence[Prism]]]
) -> Travel:
    """Return minus the shift that frees the start; backing out may enter what lies behind."""
    met = [
        (lo, hi, pair)
        for pair in _pairs(a, way, others, ahead=False)
        for lo, hi in _spans(pair, way)
    ]
    back, last = min(((lo, pair) for lo, hi, pair in met if holds_start(lo, hi)), key=_level)
    for lo, hi, pair in sorted(met, key=lambda m: -m[1]):
        if lo < back < hi - LENGTH_EPS_MM:
            back, last = lo, pair
    shared = parting_shift(a, [q for _, prisms in others for q in prisms])
    # A sliver thinner than the tolerance across the way counts as touching.
    mm = 0.0 if shared is None else back
    return Travel(mm, last.key, contact=partial(contact_place, last.p, last.q, way, back))


def _level(found: tuple[float, _Pair]) -> float:
    return found[0]


class _Pair(NamedTuple):
    """Two prisms, and the shifts along the way at which their bounds overlap."""

    lo: float
    hi: float
    key: Hashable
    p: Prism
    q: Prism


def _pairs(
    a: Sequence[Prism],
    way: Way,
    others: Sequence[tuple[Hashable, Sequence[Prism]]],
    *,
    ahead: bool,
) -> list[_Pair]:
    """Return the pairs whose bounds overlap across the way, without those wholly behind."""
    k, (i, j), eps = way.axis, PLANE[way.axis], LENGTH_EPS_MM
    frames = [
        (p, b[i] + eps, b[i + 3] - eps, b[j] + eps, b[j + 3] - eps, b[k], b[k + 3])
        for p in a
        for b in (p.bounds,)
    ]
    out = []
    for key, prisms in others:
        for q in prisms:
            b = q.bounds
            u0, u1, v0, v1 = b[i], b[i + 3], b[j], b[j + 3]
            for p, i0, i1, j0, j1, start, end in frames:
                if u0 >= i1 or u1 <= i0 or v0 >= j1 or v1 <= j0:
                    continue
                lo, hi = b[k] - end, b[k + 3] - start
                if way.sign < 0:
                    lo, hi = -hi, -lo
                if not ahead or hi > -eps:
                    out.append(_Pair(lo, hi, key, p, q))
    return out


def _spans(pair: _Pair, way: Way) -> list[Span]:
    """Return the shifts along the way at which two prisms share room."""
    if pair.p.is_box and pair.q.is_box:
        return [(pair.lo, pair.hi)]
    spans = pair_shifts(pair.p, pair.q, way.axis)
    return spans if way.sign > 0 else [(-hi, -lo) for lo, hi in spans]
