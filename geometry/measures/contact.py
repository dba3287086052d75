"""Where two prisms come into contact when one is moved along an axis."""

from __future__ import annotations

from geometry.measures.golden import least_at
from geometry.measures.planar import least_step, shared_spot
from geometry.measures.pose import Vec, Way
from geometry.measures.prism import PLANE, Outline, PlaneMap, Prism, moved_outline, turned
from geometry.measures.strips import Strip, reach, strips
from geometry.measures.tolerance import LENGTH_EPS_MM


def contact_place(p: Prism, q: Prism, way: Way, shift_mm: float) -> Vec:
    """Return a world point where `p`, moved along `way` by `shift_mm`, comes to touch `q`.

    Raises ValueError when the two pass each other.
    """
    if way.sign < 0:
        # Mirrored, the way is a positive one; only one coordinate changes its sign.
        place = list(contact_place(_mirrored(p, way.axis), _mirrored(q, way.axis), -way, shift_mm))
        place[way.axis] = -place[way.axis]
        return (place[0], place[1], place[2])
    if p.is_box and not q.is_box:
        p = turned(p, q.axis)
    elif q.is_box:
        q = turned(q, p.axis)
    axis = way.axis
    if p.axis != q.axis:
        return _crossed_place(p, q, axis, shift_mm)
    if axis == p.axis:
        a, b = shared_spot(p.outline, q.outline)
        return _vec(p.axis, a, b, q.lo)
    along = PLANE[p.axis].index(axis)
    middle = (max(p.lo, q.lo) + min(p.hi, q.hi)) / 2
    level, t = _first_step(p.outline, q.outline, along, shift_mm)
    a, b = (level, t) if along == 0 else (t, level)
    return _vec(p.axis, a, b, middle)


def _first_step(p: Outline, q: Outline, along: int, shift_mm: float) -> tuple[float, float]:
    best: tuple[float, float, float] | None = None
    for mine in strips(p, along):
        for theirs in strips(q, along):
            t0, t1 = max(mine.t0, theirs.t0), min(mine.t1, theirs.t1)
            if t1 - t0 <= LENGTH_EPS_MM:
                continue
            lo, t = least_step(mine, theirs, t0, t1)
            miss = abs(lo - shift_mm)
            if best is None or miss < best[0]:
                best = (miss, theirs.left(t), t)
    if best is None:
        raise ValueError("the outlines pass each other")
    return best[1], best[2]


def _crossed_place(p: Prism, q: Prism, axis: int, shift_mm: float) -> Vec:
    third = 3 - p.axis - q.axis
    place = [0.0, 0.0, 0.0]
    if axis == third:
        place[q.axis], place[third], place[p.axis] = _meeting(p, q, third, shift_mm)
    elif axis == p.axis:
        place[axis] = shift_mm + p.hi
        place[third], place[q.axis] = _reaching(p, q, third, place[axis], 1)
    else:
        place[axis] = q.lo
        place[third], place[p.axis] = _reaching(q, p, third, q.lo - shift_mm, -1)
    return (place[0], place[1], place[2])


def _meeting(p: Prism, q: Prism, third: int, shift_mm: float) -> tuple[float, float, float]:
    """Return where `p`, shifted along the third axis, first reaches what it meets of `q`.

    The places are those on the axes of `q`, of the shift, and of `p`.
    """
    best: tuple[float, tuple[float, float, float]] | None = None
    for mine in strips(p.outline, PLANE[p.axis].index(third)):
        own = reach(mine, q.lo, q.hi)
        for theirs in strips(q.outline, PLANE[q.axis].index(third)):
            met = reach(theirs, p.lo, p.hi)
            if own is not None and met is not None:
                miss = abs(met.lo - own.hi - shift_mm)
                if best is None or miss < best[0]:
                    best = (miss, (own.t_hi, met.lo, met.t_lo))
    if best is None:
        raise ValueError("the prisms pass each other")
    return best[1]


def _reaching(slider: Prism, post: Prism, third: int, end: float, sign: int) -> tuple[float, float]:
    """Return where on the third axis and on its own the post is met at its level `end`."""
    best: tuple[float, float, Strip] | None = None
    for mine in strips(slider.outline, PLANE[slider.axis].index(third)):
        own = reach(mine, post.lo, post.hi)
        if own is None:
            continue
        for theirs in strips(post.outline, PLANE[post.axis].index(slider.axis)):
            met = reach(theirs, own.lo, own.hi)
            if met is None:
                continue
            found, level = (met.lo, met.t_lo) if sign > 0 else (met.hi, met.t_hi)
            miss = abs(found - end)
            if best is None or miss < best[0]:
                best = (miss, level, mine)
    if best is None:
        raise ValueError("the prisms pass each other")
    _, level, mine = best
    t0, t1 = max(mine.t0, post.lo), min(mine.t1, post.hi)
    # The strip is convex, so how far the level lies outside it falls, then rises.
    s, _ = least_at(lambda s: max(mine.left(t0 + s) - level, level - mine.right(t0 + s)), t1 - t0)
    return level, t0 + s


def _vec(axis: int, a: float, b: float, along: float) -> Vec:
    place = [0.0, 0.0, 0.0]
    i, j = PLANE[axis]
    place[i], place[j], place[axis] = a, b, along
    return (place[0], place[1], place[2])


def _mirrored(prism: Prism, axis: int) -> Prism:
    if axis == prism.axis:
        return Prism(prism.axis, prism.outline, -prism.hi, -prism.lo)
    across = PLANE[prism.axis].index(axis)
    move = PlaneMap(sign_a=-1) if across == 0 else PlaneMap(sign_b=-1)
    return Prism(prism.axis, moved_outline(prism.outline, move), prism.lo, prism.hi)
