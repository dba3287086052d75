"""Outlines are simple polygons: worked cases, and random ones against shapely's own test."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon
from shapely.validation import explain_validity

from catalog.outlines import outline_fault

Ring = list[tuple[float, float]]

SQUARE: Ring = [(0, 0), (100, 0), (100, 100), (0, 100)]


def square(a: float, b: float, side: float) -> Ring:
    return [(a, b), (a + side, b), (a + side, b + side), (a, b + side)]


@pytest.mark.parametrize(
    "outline",
    [
        SQUARE,
        SQUARE[::-1],
        [(0, 0), (10, 0), (0, 10)],
        [(0, 0), (50, 0), (100, 0), (100, 100), (0, 100)],
        [(0, 0), (100, 0), (100, 20), (20, 20), (20, 80), (100, 80), (100, 100), (0, 100)],
    ],
    ids=["square", "other way round", "triangle", "point on an edge", "U"],
)
def test_simple_outlines_are_sound(outline: Ring) -> None:
    assert outline_fault(outline) is None


@pytest.mark.parametrize(
    ("outline", "problem"),
    [
        (
            [(0, 0), (100, 100), (100, 0), (0, 100)],
            "crosses or touches itself: the edge from point 0 and the edge from point 2 meet",
        ),
        ([(0, 0), (100, 0), (100, 0), (0, 100)], "point 2 repeats point 1"),
        (
            [*SQUARE, (0, 0)],
            "the last point repeats the first; the outline closes by itself",
        ),
        ([(0, 0), (100, 0), (50, 0), (50, 50)], "turns straight back at point 1"),
        ([(0, 0), (50, 0), (100, 0)], "turns straight back at point 0"),
        (
            # the tip of the notch, point 4, stands on the lower edge: two edges end there
            [(0, 0), (100, 0), (100, 100), (60, 100), (50, 0), (40, 100), (0, 100)],
            "crosses or touches itself: the edge from point 0 and the edge from point 4 meet",
        ),
    ],
)
def test_an_outline_that_is_no_polygon_says_where(outline: Ring, problem: str) -> None:
    assert outline_fault(outline) == ("outline_mm", problem)


def test_a_notch_a_micrometre_short_of_the_edge_is_sound() -> None:
    outline = [(0, 0), (100, 0), (100, 100), (60, 100), (50, 0.001), (40, 100), (0, 100)]
    assert outline_fault(outline) is None


@pytest.mark.parametrize(
    ("holes", "fault"),
    [
        ([square(10, 10, 20), square(50, 50, 20)], None),
        ([square(90, 90, 20)], ("holes_mm[0]", "crosses or touches outline_mm")),
        ([square(0, 10, 20)], ("holes_mm[0]", "crosses or touches outline_mm")),
        ([square(200, 0, 20)], ("holes_mm[0]", "lies outside outline_mm")),
        (
            [square(10, 10, 20), square(20, 20, 20)],
            ("holes_mm[1]", "crosses or touches holes_mm[0]"),
        ),
        (
            [square(10, 10, 50), square(20, 20, 10)],
            ("holes_mm[1]", "lies inside holes_mm[0], or that inside it"),
        ),
        (
            [square(20, 20, 10), square(10, 10, 50)],
            ("holes_mm[1]", "lies inside holes_mm[0], or that inside it"),
        ),
        (
            [[(10, 10), (30, 30), (30, 10), (10, 30)]],
            (
                "holes_mm[0]",
                "crosses or touches itself: the edge from point 0 and the edge from point 2 meet",
            ),
        ),
    ],
)
def test_holes_lie_inside_and_apart(holes: list[Ring], fault: tuple[str, str] | None) -> None:
    assert outline_fault(SQUARE, holes) == fault


SPOT = st.tuples(st.integers(0, 6), st.integers(0, 6))


@settings(max_examples=400)
@given(st.lists(SPOT, min_size=3, max_size=8))
def test_random_outlines_agree_with_shapely(ring: list[tuple[int, int]]) -> None:
    """GEOS calls a repeated point valid, we do not; in all else the answers are the same."""
    assume(all(ring[k] != ring[k - 1] for k in range(len(ring))))
    polygon = Polygon(ring)
    fault = outline_fault(ring)
    assert (fault is None) == polygon.is_valid, (fault, explain_validity(polygon))


@settings(max_examples=200)
@given(st.lists(SPOT, min_size=3, max_size=5, unique=True))
def test_random_holes_agree_with_shapely(hole: list[tuple[int, int]]) -> None:
    """GEOS lets a hole touch the outline in one point, we do not."""
    outline = [(-1.0, -1.0), (7.5, -1.0), (7.5, 3.0), (4.5, 4.5), (3.0, 7.5), (-1.0, 7.5)]
    inner = Polygon(hole)
    assume(inner.is_valid)
    polygon = Polygon(outline, [hole])
    touches = inner.exterior.intersects(Polygon(outline).exterior)
    fault = outline_fault(outline, [hole])
    sound = polygon.is_valid and not touches
    assert (fault is None) == sound, (fault, explain_validity(polygon))
