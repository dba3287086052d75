"""Whether one face keeps its margin to another in the worst case, by the measures of the check."""

from __future__ import annotations

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.measures.clearance import clearance
from geometry.measures.pose import Vec
from geometry.measures.prism import Poly, Prism, shifted
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.search.judging.tolerant_kind import Kind, Prisms
from geometry.stackup.faces import NOISE_MM, greatest_mm
from geometry.stackup.figures import BEGIN
from geometry.stackup.pair_gaps import GAP, corner_change_mm


def falls_short(a: Kind, place: int, b: Kind, other: int, by: Vec, need_mm: float) -> bool:
    """Whether a face keeps its margin to another, shifted `by`, as drawn but not when all is off.

    By the very measures of the check.
    """
    mine = a.solid.prisms[place]
    theirs = _picked(b.solid.prisms, other, by)
    nominal = GAP.mm(mine, theirs)
    if nominal < -LENGTH_EPS_MM or not meets(nominal, need_mm):
        return False
    axes = GAP.axes(mine, theirs)
    flat = mine.is_box and theirs.is_box
    corner = flat and nominal > LENGTH_EPS_MM

    measured: dict[object, float] = {}

    def change(p: Prism, q: Prism) -> float:
        if (p, q) not in measured:
            found = GAP.mm(p, q) - nominal
            if corner:
                found = min(found, corner_change_mm(mine, theirs, p, q))
            measured[p, q] = found
        return measured[p, q]

    bounds = _most_lost(a, place, b, other, _towards(mine, theirs, nominal))
    left = sum(bounds.values())
    worst = nominal
    for key in sorted(bounds, key=lambda k: -bounds[k]):
        if worst - left >= need_mm:
            return False
        left -= bounds[key]
        here, there = a.moves.get(key), b.moves.get(key)
        told = here or there
        assert told is not None
        if not told.one.axes & axes or bounds[key] <= NOISE_MM:
            continue
        loss = 0.0
        for end, off in enumerate(told.limits):
            p = here.ends[end][place] if here else mine
            q = _picked(there.ends[end], other, by) if there else theirs
            loss = max(loss, -change(p, q))
            if not flat:
                p = here.begun(off)[place] if here else mine
                q = _picked(there.begun(off), other, by) if there else theirs
                loss = max(loss, -change(p, q) / BEGIN)
        worst -= loss if loss > NOISE_MM else 0.0
        if not meets(worst, need_mm):
            return True
    return False


def _towards(mine: Prism, theirs: Prism, gap_mm: float) -> Floats | None:
    """Return how much of each axis lies in the shortest way between two convex prisms, 0 to 1.

    None where that is not known. The distance of convex things never shrinks faster than at first
    when one is shifted, so a shift takes no more than its share along that way.
    """
    if gap_mm <= LENGTH_EPS_MM:
        return None
    if isinstance(mine.outline, Poly) or isinstance(theirs.outline, Poly):
        return None
    found = clearance((mine,), (theirs,))
    if found.point_a is None or found.point_b is None:
        return None
    way: Floats = np.abs(np.subtract(found.point_a, found.point_b)) / gap_mm
    # Points of contact are good to a millionth; what they leave open is added.
    return np.minimum(way + NEAR_WAY, 1.0)


NEAR_WAY = 1e-3


def _most_lost(
    a: Kind, place: int, b: Kind, other: int, way: Floats | None
) -> dict[tuple[str, str], float]:
    """Return what each dimension takes from the gap at most (mm)."""
    most: dict[tuple[str, str], float] = {}
    for kind, at in ((a, place), (b, other)):
        if not kind.round[at]:
            lost = [2.0 * greatest_mm(moved.one) for moved in kind.moves.values()]
        else:
            off = np.abs(kind.shifts[at]).max(axis=1)
            far = np.maximum(off[:, :3], off[:, 3:6])
            lost = (far.sum(axis=1) if way is None else far @ way) + off[:, 6]
            lost = lost.tolist()
        for key, mm in zip(kind.moves, lost, strict=True):
            most[key] = most.get(key, 0.0) + mm
    return most


def _picked(prisms: Prisms, place: int, by: Vec) -> Prism:
    picked = prisms[place]
    return shifted(picked, by) if any(by) else picked
