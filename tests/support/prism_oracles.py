"""Outside answers about prisms: solids of manifold3d, surface distances of python-fcl.

Round outlines become polygons wholly inside or wholly outside the true arc, so a true figure
lies between the two answers.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, pi, sin
from typing import Literal

import fcl
import manifold3d
import numpy as np

from geometry.measures.prism import PLANE, Outline, Poly, Prism, Rect

Rounds = Literal["inside", "outside"]
CORNERS = 128


def rings(outline: Outline, rounds: Rounds) -> list[list[tuple[float, float]]]:
    """Return shell (counter-clockwise) and holes (clockwise) of an outline."""
    if isinstance(outline, Rect):
        o = outline
        return [[(o.a0, o.b0), (o.a1, o.b0), (o.a1, o.b1), (o.a0, o.b1)]]
    if isinstance(outline, Poly):
        out = [_turning(list(outline.shell), 1)]
        return out + [_turning(list(hole), -1) for hole in outline.holes]
    half = pi / CORNERS
    if rounds == "inside":
        r, angles = outline.r, [2 * k * half for k in range(CORNERS // 2 + 1)]
    else:
        r, angles = outline.r / cos(half), [(2 * k + 1) * half for k in range(CORNERS // 2)]
    ends = ((outline.a0, outline.b0), (outline.a1, outline.b1))
    along_a = outline.b0 == outline.b1
    low, high = sorted(ends)
    points = []
    for centre, start in ((high, -pi / 2 if along_a else 0.0), (low, pi / 2 if along_a else pi)):
        points += [(centre[0] + r * cos(start + t), centre[1] + r * sin(start + t)) for t in angles]
    kept = [
        p
        for k, p in enumerate(points)
        if abs(p[0] - points[k - 1][0]) + abs(p[1] - points[k - 1][1]) > 1e-9 * r
    ]
    return [kept]


def _turning(ring: list[tuple[float, float]], sign: int) -> list[tuple[float, float]]:
    area = sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(ring, (*ring[1:], ring[0]), strict=True))
    return ring if area * sign > 0 else ring[::-1]


def mesh(prism: Prism, rounds: Rounds) -> tuple[np.ndarray, np.ndarray]:
    """Return vertices and outward triangles of a prism's surface."""
    loops = rings(prism.outline, rounds)
    flat = np.array([p for loop in loops for p in loop], dtype=float)
    n = len(flat)
    cap = np.array(manifold3d.triangulate([np.array(loop, dtype=float) for loop in loops]))
    triangles = [cap[:, ::-1], cap + n]
    start = 0
    for loop in loops:
        own = np.arange(start, start + len(loop))
        nxt = np.roll(own, -1)
        triangles.append(np.stack([own, nxt, nxt + n], axis=1))
        triangles.append(np.stack([own, nxt + n, own + n], axis=1))
        start += len(loop)
    faces = np.concatenate(triangles)
    i, j = PLANE[prism.axis]
    vertices = np.empty((2 * n, 3))
    vertices[:, i] = np.tile(flat[:, 0], 2)
    vertices[:, j] = np.tile(flat[:, 1], 2)
    vertices[:n, prism.axis], vertices[n:, prism.axis] = prism.lo, prism.hi
    if prism.axis == 1:  # x, z, y is a left-handed order
        faces = faces[:, ::-1]
    return vertices, faces


def solid(prisms: Sequence[Prism], rounds: Rounds = "inside") -> manifold3d.Manifold:
    """Return the union of prisms as a solid."""
    parts = []
    for prism in prisms:
        vertices, faces = mesh(prism, rounds)
        part = manifold3d.Manifold(manifold3d.Mesh64(vertices, faces.astype(np.uint64)))
        assert part.status() == manifold3d.Error.NoError
        parts.append(part)
    return manifold3d.Manifold.batch_boolean(parts, manifold3d.OpType.Add)


def shared(a: manifold3d.Manifold, b: manifold3d.Manifold) -> float:
    """Return the volume that two solids share."""
    return (a ^ b).volume()


def surface_distance(a: Sequence[Prism], b: Sequence[Prism], rounds: Rounds = "inside") -> float:
    """Return the distance of the surfaces of two solids; that of the solids when they are apart."""
    objects = []
    for prisms in (a, b):
        model = fcl.BVHModel()
        pieces = [mesh(p, rounds) for p in prisms]
        model.beginModel(sum(len(v) for v, _ in pieces), sum(len(t) for _, t in pieces))
        for vertices, faces in pieces:
            model.addSubModel(vertices, faces)
        model.endModel()
        objects.append(fcl.CollisionObject(model))
    return fcl.distance(*objects, fcl.DistanceRequest(), fcl.DistanceResult())


def swept_hull(prism: Prism, vector: Sequence[float], rounds: Rounds) -> manifold3d.Manifold:
    """Return the room that a prism sweeps along a vector: convex bits, each hulled with its end."""
    loops = rings(prism.outline, rounds)
    flat = [p for loop in loops for p in loop]
    i, j = PLANE[prism.axis]
    parts = []
    for triangle in manifold3d.triangulate([np.array(loop, dtype=float) for loop in loops]):
        points = np.empty((12, 3))
        for row, corner in enumerate(triangle):
            for at, level in ((row, prism.lo), (row + 3, prism.hi)):
                points[at, i], points[at, j] = flat[corner]
                points[at, prism.axis] = level
        points[6:] = points[:6] + np.array(vector)
        parts.append(manifold3d.Manifold.hull_points(points))
    return manifold3d.Manifold.batch_boolean(parts, manifold3d.OpType.Add)
