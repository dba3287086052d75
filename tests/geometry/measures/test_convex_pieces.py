"""Polygons cut into convex pieces, by hand and against shapely."""

from __future__ import annotations

import random
from collections.abc import Sequence
from math import cos, pi, sin

import pytest
import shapely

from geometry.measures.convex_pieces import convex_pieces, corners
from geometry.measures.prism import Outline, PlaneMap, Poly, Rect, Round

Ring = tuple[tuple[float, float], ...]

HOOK: Ring = ((0, 0), (10, 0), (10, 4), (4, 4), (4, 10), (0, 10))


def areas(outline: Poly) -> list[float]:
    at = corners(outline)
    return [shapely.Polygon([at[k] for k in ring]).area for ring in convex_pieces(outline)]


@pytest.mark.parametrize(
    "outline",
    [Rect(0, 0, 5, 5), Round(0, 0, 5, 0, 2), Poly(((0, 0), (5, 0), (7, 5), (2, 9)))],
)
def test_what_has_no_hollows_stays_whole(outline: Outline) -> None:
    assert convex_pieces(outline) == ()


def test_a_circle_drawn_as_a_polygon_is_hollow_nowhere_worth_a_cut() -> None:
    # A block with a quarter of a circle, of 128 sides, cut out of its corner.
    arc = [(20 - 10 * cos(k * pi / 64), 20 - 10 * sin(k * pi / 64)) for k in range(33)]
    assert convex_pieces(Poly(((0, 20), *arc, (20, 0), (0, 0)))) == ()


@pytest.mark.parametrize("ring", [HOOK, HOOK[::-1]])
def test_a_hook_is_two_pieces_however_its_ring_runs(ring: Ring) -> None:
    assert len(areas(Poly(ring))) == 2
    assert sum(areas(Poly(ring))) == pytest.approx(64)


def test_a_moved_polygon_has_the_pieces_of_its_root() -> None:
    moved = Poly(HOOK).moved(PlaneMap(-1, 30.0, 1, 5.0, swap=True))
    assert convex_pieces(moved) == convex_pieces(Poly(HOOK))
    assert sum(areas(moved)) == pytest.approx(64)


def random_outline(rng: random.Random) -> Poly | None:
    """Return a star, or blocks in a heap, leaning or not; None where they do not hang together."""
    if rng.random() < 0.4:
        count = rng.randint(4, 12)
        far = [(rng.uniform(5, 50), 2 * pi * k / count) for k in range(count)]
        return Poly(tuple((r * cos(t), r * sin(t)) for r, t in far)[:: rng.choice((1, -1))])
    heap = shapely.union_all(
        [
            shapely.box(x, y, x + rng.randint(1, 6), y + rng.randint(1, 6))
            for x, y in [(rng.randint(0, 8), rng.randint(0, 8)) for _ in range(rng.randint(3, 16))]
        ]
    )
    if heap.geom_type != "Polygon":
        return None
    lean = rng.choice((0.0, 0.3))

    def ring(of: shapely.LinearRing) -> Ring:
        return tuple((a + lean * b, b) for a, b in of.coords[:-1])

    if any(heap.exterior.intersects(hole) for hole in heap.interiors):
        return None
    return Poly(ring(heap.exterior), tuple(map(ring, heap.interiors)))


def test_pieces_fill_what_they_were_cut_from_and_are_convex() -> None:
    rng = random.Random(7)
    cut = holed = 0
    for _ in range(600):
        outline = random_outline(rng)
        if outline is None:
            continue
        at = corners(outline)
        pieces = [shapely.Polygon([at[k] for k in ring]) for ring in convex_pieces(outline)]
        if not pieces:
            assert turns(outline.shell)
            assert not outline.holes
            continue
        cut += 1
        holed += bool(outline.holes)
        assert sum(one.area for one in pieces) == pytest.approx(outline.polygon.area)
        united = shapely.union_all(pieces, grid_size=1e-9)
        assert united.symmetric_difference(outline.polygon).area < 1e-6
        assert all(turns(one.exterior.coords[:-1]) for one in pieces)
    assert cut > 300
    assert holed > 15


def turns(ring: Sequence[tuple[float, float]]) -> bool:
    """Whether a ring turns one way all round, but for 3 degrees."""
    own = shapely.Polygon(ring)
    points = list(ring) if own.exterior.is_ccw else list(ring)[::-1]
    for a, b, c in zip(points, [*points[1:], points[0]], [*points[2:], *points[:2]], strict=True):
        u, v = (b[0] - a[0], b[1] - a[1]), (c[0] - b[0], c[1] - b[1])
        lengths = (u[0] ** 2 + u[1] ** 2) ** 0.5 * (v[0] ** 2 + v[1] ** 2) ** 0.5
        if (u[0] * v[1] - u[1] * v[0]) / lengths < -sin(3.001 * pi / 180):
            return False
    return True
