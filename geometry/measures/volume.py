"""The volume that two solids share: of unions, so room is never counted twice.

Prisms of one axis (and boxes) go slab by slab: area times length, exactly. Prisms of different
axes are sliced along one axis, with breakpoints wherever the section changes its form. Between
breakpoints straight-sided prisms have a section of second degree, which two-point Gauss integrates
exactly. Round ones are integrated adaptively, to a relative error of `REL_ERROR` of the shared
bounding block.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from itertools import combinations, pairwise
from math import sqrt

import numpy as np

from geometry.measures.area import shared_area
from geometry.measures.prism import Bounds, Prism, turned
from geometry.measures.sections import Sliced, breakpoints

REL_ERROR = 1e-9
"""Error bound of adaptive volumes, as a share of the block that bounds the shared room."""

_GAUSS_2 = 0.5 / sqrt(3.0)
_DEPTH = 24


def overlap_volume_mm3(a: Sequence[Prism], b: Sequence[Prism]) -> float:
    """Return the volume of the room that two solids share (mm^3), 0 when they are apart."""
    pieces = [
        piece for p in a for q in b if (piece := common_bounds(p.bounds, q.bounds)) is not None
    ]
    if not pieces:
        return 0.0
    if _disjoint(pieces):
        return sum(_pair_volume(p, q) for p in a for q in b)
    return _union_volume(
        [p for p in a if any(common_bounds(p.bounds, q.bounds) for q in b)],
        [q for q in b if any(common_bounds(p.bounds, q.bounds) for p in a)],
    )


def is_quick(a: Sequence[Prism], b: Sequence[Prism]) -> bool:
    """Whether a volume takes no longer than the measures beside it: all but boxes share an axis."""
    return len({p.axis for p in (*a, *b) if not p.is_box}) <= 1


def common_bounds(p: Bounds, q: Bounds) -> Bounds | None:
    """Return the block that two bounding blocks share, None when there is none."""
    lo = (max(p[0], q[0]), max(p[1], q[1]), max(p[2], q[2]))
    hi = (min(p[3], q[3]), min(p[4], q[4]), min(p[5], q[5]))
    if lo[0] >= hi[0] or lo[1] >= hi[1] or lo[2] >= hi[2]:
        return None
    return (*lo, *hi)


def _disjoint(pieces: list[Bounds]) -> bool:
    return all(common_bounds(p, q) is None for p, q in combinations(pieces, 2))


def _pair_volume(p: Prism, q: Prism) -> float:
    common = common_bounds(p.bounds, q.bounds)
    if common is None:
        return 0.0
    if p.is_box and q.is_box:
        return (common[3] - common[0]) * (common[4] - common[1]) * (common[5] - common[2])
    return _union_volume([p], [q])


def _union_volume(a: list[Prism], b: list[Prism]) -> float:
    axes = sorted({p.axis for p in (*a, *b) if not p.is_box})
    if len(axes) <= 1:
        axis = axes[0] if axes else 2
        return _slab_volume([turned(p, axis) for p in a], [turned(q, axis) for q in b])
    return _sliced_volume(a, b, axes)


def _slab_volume(a: list[Prism], b: list[Prism]) -> float:
    cuts = sorted({v for p in (*a, *b) for v in (p.lo, p.hi)})
    areas: dict[tuple[int, ...], float] = {}
    total = 0.0
    for lo, hi in pairwise(cuts):
        in_a = [p for p in a if p.lo <= lo and p.hi >= hi]
        in_b = [q for q in b if q.lo <= lo and q.hi >= hi]
        if not in_a or not in_b:
            continue
        key = tuple(id(p) for p in (*in_a, *in_b))
        if key not in areas:
            areas[key] = shared_area([p.outline for p in in_a], [q.outline for q in in_b])
        total += areas[key] * (hi - lo)
    return total


def _sliced_volume(a: list[Prism], b: list[Prism], axes: list[int]) -> float:
    axis = 3 - axes[0] - axes[1] if len(axes) == 2 else axes[0]
    sliced_a = [Sliced(p, axis) for p in a]
    sliced_b = [Sliced(q, axis) for q in b]
    every = (*sliced_a, *sliced_b)
    lo = max(min(min(s.ends()) for s in group) for group in (sliced_a, sliced_b))
    hi = min(max(max(s.ends()) for s in group) for group in (sliced_a, sliced_b))
    if lo >= hi:
        return 0.0

    def section_area(t: float) -> float:
        in_a = [o for s in sliced_a for o in s.section(t)]
        in_b = [o for s in sliced_b for o in s.section(t)]
        return shared_area(in_a, in_b) if in_a and in_b else 0.0

    cuts = breakpoints(every, lo, hi)
    bound = REL_ERROR * _block_volume(a, b) / max(1, len(cuts))
    total = 0.0
    for t0, t1 in pairwise(cuts):
        middle, half = (t0 + t1) / 2, (t1 - t0) * _GAUSS_2
        if any(s.is_round(middle) for s in every):
            total += _adaptive(section_area, t0, t1, bound)
        else:
            total += (section_area(middle - half) + section_area(middle + half)) * (t1 - t0) / 2
    return total


def _block_volume(a: list[Prism], b: list[Prism]) -> float:
    volume = 1.0
    for k in (0, 1, 2):
        volume *= min(max(p.bounds[k + 3] for p in a), max(q.bounds[k + 3] for q in b)) - max(
            min(p.bounds[k] for p in a), min(q.bounds[k] for q in b)
        )
    return volume


@cache
def _nodes(n: int) -> tuple[tuple[float, float], ...]:
    """Gauss nodes on [0, 1] bent by x -> sin^2(pi x / 2), which smooths square-root ends."""
    points, weights = np.polynomial.legendre.leggauss(n)
    x = (points + 1.0) / 2.0
    bent = np.sin(np.pi * x / 2.0) ** 2
    stretch = np.pi / 2.0 * np.sin(np.pi * x)
    return tuple(zip(bent.tolist(), (weights / 2.0 * stretch).tolist(), strict=True))


def _adaptive(
    f: Callable[[float], float], t0: float, t1: float, bound: float, depth: int = 0
) -> float:
    rough, fine = (
        (t1 - t0) * sum(w * f(t0 + x * (t1 - t0)) for x, w in _nodes(n)) for n in (8, 16)
    )
    if abs(fine - rough) <= bound or depth == _DEPTH:
        return fine
    middle = (t0 + t1) / 2
    return _adaptive(f, t0, middle, bound / 2, depth + 1) + _adaptive(
        f, middle, t1, bound / 2, depth + 1
    )
