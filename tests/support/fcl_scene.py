"""The same scene for python-fcl: its dynamic broad phase, and its distance calls.

Boxes and round bars are its own shapes, polygons its convex or triangle meshes, so it has as
little to do as it can. A margin is looked for with a box that is larger by it all round.
"""

from __future__ import annotations

from collections.abc import Sequence

import fcl
import numpy as np
from prism_oracles import mesh

from geometry.measures.prism import Prism, Rect, Round

ALONG = {
    0: np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]]),
    1: np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]]),
    2: np.eye(3),
}
"""Rotations that turn z onto each axis."""


def fcl_object(prism: Prism) -> fcl.CollisionObject:
    """Return a prism as a collision object."""
    b = np.array(prism.bounds)
    centre = (b[:3] + b[3:]) / 2
    if isinstance(prism.outline, Rect):
        return fcl.CollisionObject(fcl.Box(*(b[3:] - b[:3])), fcl.Transform(centre))
    o = prism.outline
    if isinstance(o, Round) and (o.a0, o.b0) == (o.a1, o.b1):
        shape = fcl.Cylinder(o.r, prism.hi - prism.lo)
        return fcl.CollisionObject(shape, fcl.Transform(ALONG[prism.axis], centre))
    vertices, faces = mesh(prism, "inside")
    model = fcl.BVHModel()
    model.beginModel(len(vertices), len(faces))
    model.addSubModel(vertices - centre, faces)
    model.endModel()
    return fcl.CollisionObject(model, fcl.Transform(centre))


def bounding_object(prism: Prism, margin_mm: float) -> fcl.CollisionObject:
    """Return the bounding box of a prism with a margin all round."""
    b = np.array(prism.bounds)
    size = b[3:] - b[:3] + 2 * margin_mm
    return fcl.CollisionObject(fcl.Box(*size), fcl.Transform((b[:3] + b[3:]) / 2))


class FclScene:
    """Parts in one manager; asks for all gaps of one part, or of all."""

    def __init__(self, parts: Sequence[Sequence[Prism]], margin_mm: float) -> None:
        self.margin_mm = margin_mm
        self.objects = [[fcl_object(p) for p in part] for part in parts]
        self.reach = [[bounding_object(p, margin_mm) for p in part] for part in parts]
        # Callbacks are handed new wrappers, so an object is known again by where it stands; two
        # with one centre are told apart by a ten-millionth of a millimetre.
        self.owner: dict[bytes, int] = {}
        for k, part in enumerate(self.objects):
            for o in part:
                while o.getTranslation().tobytes() in self.owner:
                    o.setTranslation(o.getTranslation() + 1e-7)
                self.owner[o.getTranslation().tobytes()] = k
        self.manager = fcl.DynamicAABBTreeCollisionManager()
        self.manager.registerObjects([o for part in self.objects for o in part])
        self.manager.setup()
        self.request = fcl.DistanceRequest()

    def move(self, k: int, by: Sequence[float]) -> None:
        """Move part `k` by a vector."""
        for own, reach in zip(self.objects[k], self.reach[k], strict=True):
            self.owner.pop(own.getTranslation().tobytes())
            place = own.getTranslation() + by
            own.setTranslation(place)
            reach.setTranslation(place)
            self.owner[place.tobytes()] = k
        self.manager.update(self.objects[k])

    def gaps_of(self, k: int, later_only: bool = False) -> dict[int, float]:
        """Return the gap of part `k` to every part within the margin, 0 or less when they meet."""
        found: dict[int, float] = {}
        for own, reach in zip(self.objects[k], self.reach[k], strict=True):

            def note(
                one: fcl.CollisionObject,
                other: fcl.CollisionObject,
                data: object,
                own: fcl.CollisionObject = own,
            ) -> bool:
                owners = [self.owner.get(o.getTranslation().tobytes(), k) for o in (one, other)]
                j = owners[0] if owners[0] != k else owners[1]
                if j != k and not (later_only and j < k):
                    other = one if owners[0] == j else other
                    gap = fcl.distance(own, other, self.request, fcl.DistanceResult())
                    if gap < found.get(j, self.margin_mm):
                        found[j] = gap
                return False

            self.manager.collide(reach, None, note)
        return found

    def all_gaps(self, first: int) -> dict[tuple[int, int], float]:
        """Return the gaps below the margin of the first so many parts to all others."""
        return {
            (k, j): gap for k in range(first) for j, gap in self.gaps_of(k, later_only=True).items()
        }
