"""Random prisms and solids for property tests.

Coordinates are whole steps of a grid, so that faces touch, edges coincide and solids nest as
often as they do in real layouts; now and then something stands off the grid.
"""

from __future__ import annotations

from hypothesis import strategies as st
from rotations import all_rotations

from geometry.measures.pose import Pose
from geometry.measures.prism import Outline, Poly, Prism, Rect, Round, shifted

Ring = tuple[tuple[float, float], ...]
Pair = tuple[tuple[Prism, ...], tuple[Prism, ...], float]
"""Two solids, and the grid step of their coordinates."""

# On a grid of whole steps, counter-clockwise; each is concave, thin, holed or slanted in its way.
L_SHAPE: Ring = ((0, 0), (6, 0), (6, 2), (2, 2), (2, 5), (0, 5))
U_SHAPE: Ring = ((0, 0), (7, 0), (7, 5), (5, 5), (5, 2), (2, 2), (2, 5), (0, 5))
COMB: Ring = (
    (0, 0), (9, 0), (9, 4), (8, 4), (8, 1), (6, 1), (6, 4), (5, 4),
    (5, 1), (3, 1), (3, 4), (2, 4), (2, 1), (0, 1),
)  # fmt: skip
STAR: Ring = ((0, 0), (3, 1), (6, 0), (5, 3), (6, 6), (3, 5), (0, 6), (1, 3))
TRIANGLE: Ring = ((0, 0), (6, 0), (2, 5))
SLIVER: Ring = ((0, 0), (8, 0.001), (8, 0.002))
WEDGE: Ring = ((0, 0), (9, 0), (9, 1))
HEXAGON: Ring = ((2, 0), (4, 0), (6, 3), (4, 6), (2, 6), (0, 3))
FRAME: Ring = ((0, 0), (8, 0), (8, 8), (0, 8))
SQUARE_HOLE: Ring = ((2, 2), (2, 6), (6, 6), (6, 2))
SLANTED_HOLE: Ring = ((4, 2), (2, 4), (4, 6), (6, 4))
FORMS: tuple[tuple[Ring, tuple[Ring, ...]], ...] = (
    (L_SHAPE, ()), (U_SHAPE, ()), (COMB, ()), (STAR, ()), (TRIANGLE, ()), (SLIVER, ()),
    (WEDGE, ()), (HEXAGON, ()), (FRAME, (SQUARE_HOLE,)), (FRAME, (SLANTED_HOLE,)),
)  # fmt: skip

SCALES_MM = (0.01, 1.0, 1.0, 1.0, 300.0)
"""Lengths of a grid step: the largest coordinates reach 0.1 mm and 10 m."""


def coordinates(scale: float, reach: int = 12) -> st.SearchStrategy[float]:
    """Return places on a grid of `scale`, sometimes off it."""
    on_grid = st.integers(-reach, reach).map(lambda k: k * scale)
    off_grid = st.floats(-reach, reach, width=32).map(lambda v: v * scale)
    return st.one_of(on_grid, on_grid, on_grid, off_grid)


@st.composite
def polygons(draw: st.DrawFn, scale: float) -> Poly:
    """Draw one of the forms, mirrored, turned, stretched and shifted."""
    shell, holes = draw(st.sampled_from(FORMS))
    stretch_a, stretch_b = draw(st.sampled_from((1, 2))), draw(st.sampled_from((1, 2)))
    sign_a, sign_b = draw(st.sampled_from((1, -1))), draw(st.sampled_from((1, -1)))
    swap = draw(st.booleans())
    a, b = draw(coordinates(scale)), draw(coordinates(scale))

    def at(p: tuple[float, float]) -> tuple[float, float]:
        u = p[0] * stretch_a * sign_a * scale + a
        v = p[1] * stretch_b * sign_b * scale + b
        return (v, u) if swap else (u, v)

    return Poly(tuple(at(p) for p in shell), tuple(tuple(at(p) for p in h) for h in holes))


@st.composite
def rects(draw: st.DrawFn, scale: float) -> Rect:
    """Draw an upright rectangle."""
    a, b = draw(coordinates(scale)), draw(coordinates(scale))
    wide = draw(st.sampled_from((0.001, 1, 2, 3, 5, 8, 13))) * scale
    tall = draw(st.sampled_from((1, 2, 3, 5, 8, 13))) * scale
    return Rect(a, b, a + wide, b + tall)


@st.composite
def rounds(draw: st.DrawFn, scale: float) -> Round:
    """Draw a circle or a stadium along either axis."""
    a, b = draw(coordinates(scale)), draw(coordinates(scale))
    r = draw(st.sampled_from((1, 2, 3, 4.5, 6))) * scale
    long = draw(st.sampled_from((0, 0, 2, 5))) * scale
    return Round(a, b, a + long, b, r) if draw(st.booleans()) else Round(a, b, a, b + long, r)


def outlines(scale: float, *, straight: bool = False) -> st.SearchStrategy[Outline]:
    """Return outlines of all kinds, or of those with straight sides."""
    kinds: list[st.SearchStrategy[Outline]] = [polygons(scale), rects(scale)]
    if not straight:
        kinds.append(rounds(scale))
    return st.one_of(kinds)


@st.composite
def prisms(draw: st.DrawFn, scale: float = 1.0, *, straight: bool = False) -> Prism:
    """Draw a prism along any axis."""
    axis = draw(st.sampled_from((0, 1, 2)))
    lo = draw(coordinates(scale))
    height = draw(st.sampled_from((0.001, 1, 2, 3, 5, 8, 13))) * scale
    return Prism(axis, draw(outlines(scale, straight=straight)), lo, lo + height)


def solids(
    scale: float = 1.0, *, straight: bool = False, most: int = 3
) -> st.SearchStrategy[tuple[Prism, ...]]:
    """Return solids of one to `most` prisms, of one or several axes."""
    return st.lists(prisms(scale, straight=straight), min_size=1, max_size=most).map(tuple)


@st.composite
def pairs(draw: st.DrawFn, *, straight: bool = False, most: int = 3) -> Pair:
    """Draw two solids of one scale, and the scale."""
    scale = draw(st.sampled_from(SCALES_MM))
    a = draw(solids(scale, straight=straight, most=most))
    b = draw(solids(scale, straight=straight, most=most))
    return a, b, scale


@st.composite
def far_pairs(draw: st.DrawFn) -> Pair:
    """Draw two solids, the second often moved away, straight or askew."""
    a, b, scale = draw(pairs())
    steps = st.sampled_from((0, 0, 0, 7, 13, 20.5, -9, -16.25, -31))
    by = tuple(draw(steps) * scale for _ in range(3))
    return a, tuple(shifted(q, by) for q in b), scale


@st.composite
def poses(draw: st.DrawFn) -> Pose:
    """Draw one of the 24 rotations with a shift."""
    turn = draw(st.sampled_from(all_rotations()))
    shift = tuple(draw(st.sampled_from((0.0, 1.0, -7.25, 400.0, 1 / 3))) for _ in range(3))
    return Pose(turn.x, turn.y, turn.z, shift)
