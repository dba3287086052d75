"""Laws that the measures must keep for any two solids, each as one check that asserts.

Ordinary runs try each law on some dozen pairs, the nightly run on thousands.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import dist, inf, isinf

import manifold3d
from prism_oracles import shared, solid, surface_distance, swept_hull
from rotations import all_rotations

from geometry.measures.clearance import clearance, signed_gap_mm
from geometry.measures.growth import grown
from geometry.measures.overlap import overlap_regions, overlap_volume_mm3, parting_shift
from geometry.measures.pose import Pose, Vec, Way
from geometry.measures.prism import Prism, Round, box, place, shifted
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.measures.travel import travel

Solid = Sequence[Prism]
WAYS = tuple(Way(axis, sign) for axis in range(3) for sign in (-1, 1))


def moved(a: Solid, way: Way, mm: float) -> list[Prism]:
    """Return a solid moved along a way."""
    x, y, z = way.vector
    return [shifted(p, (x * mm, y * mm, z * mm)) for p in a]


def posed(a: Solid, pose: Pose) -> list[Prism]:
    """Return a solid turned and shifted."""
    return [place(p, pose) for p in a]


def _skin(a: Solid, scale: float) -> float:
    """Return a volume that shared slivers of the length tolerance may have."""
    return 100.0 * len(a) * LENGTH_EPS_MM * (30.0 * scale) ** 2 / 100.0


def volume_law(a: Solid, b: Solid, scale: float) -> None:
    """The shared volume is that of the two solids' intersection; shared room means volume."""
    measured = overlap_volume_mm3(a, b)
    inner = shared(solid(a), solid(b))
    outer = shared(solid(a, "outside"), solid(b, "outside"))
    slack = 1e-7 * (10.0 * scale) ** 3
    assert inner - slack <= measured <= outer + slack
    if parting_shift(a, b) is None:
        assert inner <= _skin(a, scale)
    else:
        assert outer > 0.0


def parting_law(a: Solid, b: Solid, scale: float, share: float) -> None:
    """The parting shift frees; no shorter shift along any axis does."""
    shift = parting_shift(a, b)
    if shift is None:
        return
    outer_a, outer_b = solid(a, "outside"), solid(b, "outside")
    assert shared(solid(a).translate(shift.vector), solid(b)) <= _skin(a, scale)
    for way in WAYS:
        step = [v * shift.mm * share for v in way.vector]
        assert shared(outer_a.translate(step), outer_b) > 0.0, way


def region_law(a: Solid, b: Solid, scale: float) -> None:
    """The regions to hatch are the shared room projected, along all three axes."""
    for axis in range(3):
        pose = looking_along(axis)
        # Where faces touch, the oracle may keep a flake without volume; it is no shared room.
        bits = (solid(posed(a, pose)) ^ solid(posed(b, pose))).decompose()
        common = manifold3d.Manifold.compose([m for m in bits if m.volume() > 1e-10 * scale**3])
        seen = sum(region.area for region in overlap_regions(a, b, axis))
        assert abs(seen - common.project().area()) <= 1e-4 * (10.0 * scale) ** 2


def looking_along(axis: int) -> Pose:
    """Return a rotation that turns an axis onto z, and the first of the two others onto x or -x."""
    return next(
        pose
        for pose in all_rotations()
        if pose.turn(Way(axis, 1)) == Way(2, 1) and pose.turn(Way(0 if axis else 1, 1)).axis == 0
    )


def distance_law(a: Solid, b: Solid, scale: float) -> None:
    """The clearance of solids that are apart is the distance of their surfaces."""
    if parting_shift(a, b) is not None:
        assert clearance(a, b).mm <= LENGTH_EPS_MM
        return
    found = clearance(a, b)
    assert found.point_a is not None
    assert found.point_b is not None
    slack = max(1e-6, 1e-6 * scale)
    outer = surface_distance(a, b)
    inner = surface_distance(a, b, "outside") if _has_rounds(a, b) else outer
    assert max(inner, 0.0) - slack <= found.mm <= outer + slack
    assert abs(dist(found.point_a, found.point_b) - found.mm) <= slack
    for point, prisms in ((found.point_a, a), (found.point_b, b)):
        assert clearance([_dot(point)], prisms).mm <= slack


def _has_rounds(*solids: Solid) -> bool:
    return any(isinstance(p.outline, Round) for a in solids for p in a)


def _dot(point: Vec) -> Prism:
    return box(point, point)


def travel_law(a: Solid, b: Solid, scale: float, way: Way) -> None:
    """Until the travel the sweep shares no room; right after it the solid does."""
    found = travel(a, way, [("b", b)])
    starts_shared = parting_shift(a, b) is not None
    assert (found.mm < 0.0) == starts_shared
    assert (found.hit is None) == isinf(found.mm)
    inner_a, inner_b = solid(a), solid(b)
    outer_a, outer_b = solid(a, "outside"), solid(b, "outside")

    def step(mm: float) -> list[float]:
        return [v * mm for v in way.vector]

    if starts_shared:
        assert shared(inner_a.translate(step(found.mm)), inner_b) <= _skin(a, scale)
        for share in (0.1, 0.5, 0.99):
            assert shared(outer_a.translate(step(found.mm * share)), outer_b) > 0.0
    else:
        reach = found.mm if found.mm < inf else 100.0 * scale
        swept = [swept_hull(p, step(reach), "inside") for p in a]
        room = manifold3d.Manifold.batch_boolean(swept, manifold3d.OpType.Add)
        assert shared(room, inner_b) <= _skin(a, scale)
        if found.mm < inf:
            beyond = found.mm + 3e-4 * scale
            assert shared(outer_a.translate(step(beyond)), outer_b) > 0.0
    if found.place is not None:
        slack = max(1e-6, 1e-6 * scale) * 2
        assert clearance([_dot(found.place)], moved(a, way, found.mm)).mm <= slack
        assert clearance([_dot(found.place)], b).mm <= slack


def bisection_law(a: Solid, b: Solid, scale: float, way: Way) -> None:
    """The travel is where bisection finds the sweep to begin to share room, from a free start."""
    found = travel(a, way, [("b", b)])
    if found.mm < 0.0:
        return
    own, other = list(a), solid(b)
    far = 100.0 * scale

    def enters(mm: float) -> bool:
        swept = [swept_hull(p, [v * mm for v in way.vector], "inside") for p in own]
        room = manifold3d.Manifold.batch_boolean(swept, manifold3d.OpType.Add)
        return shared(room, other) > _skin(a, scale)

    assert enters(far) == (found.mm < far)
    if found.mm < far:
        lo, hi = 0.0, far
        while hi - lo > 1e-5 * scale:
            middle = (lo + hi) / 2
            lo, hi = (lo, middle) if enters(middle) else (middle, hi)
        assert found.mm - 1e-5 * scale <= hi
        # What is entered with an edge or a corner has to be entered a little to have volume.
        assert hi <= found.mm + 0.1 * scale


def rigid_law(a: Solid, b: Solid, scale: float, pose: Pose, way: Way) -> None:
    """Turning and shifting the whole scene changes no figure."""
    a2, b2 = posed(a, pose), posed(b, pose)
    near = max(1e-6, 1e-6 * scale)
    assert abs(overlap_volume_mm3(a, b) - overlap_volume_mm3(a2, b2)) <= 1e-6 * (10.0 * scale) ** 3
    assert abs(signed_gap_mm(a, b) - signed_gap_mm(a2, b2)) <= 2 * near
    one, other = travel(a, way, [("b", b)]).mm, travel(a2, pose.turn(way), [("b", b2)]).mm
    assert one == other or abs(one - other) <= 2 * near


def swap_law(a: Solid, b: Solid, scale: float) -> None:
    """Swapping the two changes no figure and negates the vector, unless two ways tie."""
    near = max(1e-6, 1e-6 * scale)
    assert abs(overlap_volume_mm3(a, b) - overlap_volume_mm3(b, a)) <= 1e-6 * (10.0 * scale) ** 3
    assert abs(clearance(a, b).mm - clearance(b, a).mm) <= near
    one, other = parting_shift(a, b), parting_shift(b, a)
    assert (one is None) == (other is None)
    if one is not None and other is not None:
        assert abs(one.mm - other.mm) <= near
        # A tie of both senses of an axis goes to minus either way round.
        negated = -other.way
        back = parting_shift(moved(a, negated, one.mm), b)
        assert one.way in (negated, other.way)
        assert back is None or back.mm <= near


def growth_law(a: Solid, b: Solid, margin: float) -> None:
    """Growing a solid by a margin takes at least the margin off its clearance."""
    before = clearance(a, b).mm
    after = clearance([grown(p, margin) for p in a], b).mm
    assert after <= max(0.0, before - margin) + 1e-6


def arrival_law(a: Solid, b: Solid, scale: float, way: Way) -> None:
    """Moved by its travel, a solid touches and shares no room."""
    found = travel(a, way, [("b", b)])
    if isinf(found.mm):
        return
    there = moved(a, way, found.mm)
    # Places far from 0 round to 1e-12 mm, slivers of 1e-5 mm to more than their own slope.
    assert clearance(there, b).mm <= 2 * max(1e-6, 1e-6 * scale)
    left = parting_shift(there, b)
    assert left is None or left.mm <= 2 * LENGTH_EPS_MM
