"""Seeded dense random packings: parts of about four prisms in a block, as close as in a real box.

A part is a box for a body, with two to four prisms flush on its faces. Three quarters of all are
boxes; the rest are circles, stadiums and polygons along any axis. The block is sized so that
it is the stated multiple of what the parts would fill.
"""

from __future__ import annotations

import random
from math import cos, pi, sin

from geometry.measures.prism import PLANE, Outline, Poly, Prism, Rect, Round, box

SEED = 20_231
FILL = 1.0
"""Share of the block that the parts' bounding blocks would fill if none overlapped."""

Part = tuple[Prism, ...]


def packing(count: int, seed: int = SEED, fill: float = FILL) -> list[Part]:
    """Return `count` parts at random places of a block in which they stand densely."""
    rng = random.Random(seed)
    sizes = [[rng.uniform(20.0, 70.0) for _ in range(3)] for _ in range(count)]
    volume = sum(s[0] * s[1] * s[2] for s in sizes)
    edge = (volume / fill) ** (1 / 3)
    return [_part(rng, [rng.uniform(0.0, edge) for _ in range(3)], size) for size in sizes]


def _part(rng: random.Random, at: list[float], size: list[float]) -> Part:
    body = box(at, [a + s * 0.6 for a, s in zip(at, size, strict=True)])
    out = [body]
    for _ in range(rng.choice((2, 3, 3, 4))):
        least = [a + rng.uniform(0.0, 0.3) * s for a, s in zip(at, size, strict=True)]
        most = [lo + rng.uniform(0.1, 0.3) * s for lo, s in zip(least, size, strict=True)]
        face = rng.randrange(3)
        deep = (most[face] - least[face]) * rng.uniform(0.5, 1.5)
        if rng.random() < 0.5:
            least[face], most[face] = body.bounds[face] - deep, body.bounds[face]
        else:
            least[face], most[face] = body.bounds[face + 3], body.bounds[face + 3] + deep
        out.append(random_prism(rng, least, most))
    return tuple(out)


def random_prism(rng: random.Random, least: list[float], most: list[float]) -> Prism:
    """Return a box, or now and then another prism, that fills the block between two corners."""
    # The body is always a box, so two thirds of the others make three quarters of all.
    if rng.random() < 0.67:
        return box(least, most)
    axis = rng.randrange(3)
    i, j = PLANE[axis]
    frame = Rect(least[i], least[j], most[i], most[j])
    return Prism(axis, _outline(rng, frame), least[axis], most[axis])


def _outline(rng: random.Random, f: Rect) -> Outline:
    wide, tall = f.a1 - f.a0, f.b1 - f.b0
    kind = rng.randrange(4)
    if kind == 0:
        r = min(wide, tall) / 2
        return Round(f.a0 + r, f.b0 + r, f.a0 + r, f.b0 + r, r)
    if kind == 1:
        r = min(wide, tall) / 2
        return Round(f.a0 + r, f.b0 + r, f.a1 - r, f.b1 - r, r)
    if kind == 2:
        a, b = f.a0 + wide * rng.uniform(0.3, 0.7), f.b0 + tall * rng.uniform(0.3, 0.7)
        return Poly(((f.a0, f.b0), (f.a1, f.b0), (f.a1, b), (a, b), (a, f.b1), (f.a0, f.b1)))
    turn, n = rng.uniform(0.0, pi), rng.choice((5, 6, 8))
    corners = [2 * pi * k / n + turn for k in range(n)]
    return Poly(
        tuple(
            (f.a0 + wide * (0.5 + 0.5 * cos(t)), f.b0 + tall * (0.5 + 0.5 * sin(t)))
            for t in corners
        )
    )
