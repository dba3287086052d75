"""Polygons of many corners, as plates with openings have them: measured as by their strips."""

from __future__ import annotations

from math import cos, pi, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from prism_worlds import outlines, polygons

from geometry.measures import fold, planar
from geometry.measures.clearance import clearance
from geometry.measures.planar import plane_shifts, start_shifts
from geometry.measures.prism import Outline, Poly, Prism, Rect
from geometry.measures.shifts import holds_start
from geometry.measures.strips import Span
from geometry.measures.tolerance import LENGTH_EPS_MM


def ring(corners: int, r: float, a: float = 0.0, b: float = 0.0) -> tuple[tuple[float, float], ...]:
    steps = [2 * pi * k / corners for k in range(corners)]
    return tuple((a + r * cos(t), b + r * sin(t)) for t in steps)


PLATE = Poly(
    ((-40, -20), (40, -20), (40, 20), (-40, 20)),
    (ring(64, 9, -22), ring(96, 12, 15, 3), ((-6, -16), (-6, -9), (6, -9), (6, -16))),
)
WASHER = Poly(ring(48, 20), (ring(48, 8),))

places = st.one_of(st.integers(-45, 45).map(float), st.floats(-45, 45))
extents = st.sampled_from((0.5, 2.0, 9.0, 30.0))


def united(spans: list[Span]) -> list[Span]:
    out: list[Span] = []
    for lo, hi in sorted(spans):
        if out and lo < out[-1][1] - LENGTH_EPS_MM:
            out[-1] = (out[-1][0], max(hi, out[-1][1]))
        else:
            out.append((lo, hi))
    return out


@settings(max_examples=80)
@given(
    st.sampled_from((PLATE, WASHER)), places, places, extents, extents,
    st.sampled_from((0, 1)), st.booleans(),
)  # fmt: skip
def test_a_block_and_a_plate_share_area_at_the_shifts_of_its_strips(
    plate: Poly, a: float, b: float, wide: float, tall: float, along: int, swap: bool
) -> None:
    block = Rect(a, b, a + wide, b + tall)
    pair: tuple[Outline, Outline] = (plate, block) if swap else (block, plate)
    found = united(plane_shifts(*pair, along))
    with pytest.MonkeyPatch.context() as one_by_one:
        one_by_one.setattr(planar, "_MANY", 10_000)
        expected = united(plane_shifts(*pair, along))
    assert len(found) == len(expected)
    for span, other in zip(found, expected, strict=True):
        assert span == pytest.approx(other, abs=1e-9)


@settings(max_examples=120)
@given(
    st.one_of(polygons(1.0), st.sampled_from((PLATE, WASHER))),
    outlines(1.0),
    st.sampled_from((0, 1)),
    st.booleans(),
)
def test_a_start_is_held_where_any_of_all_shifts_hold_it(
    one: Poly, other: Outline, along: int, swap: bool
) -> None:
    pair = (other, one) if swap else (one, other)
    every = plane_shifts(*pair, along)
    found = start_shifts(*pair, along)
    assert (found is not None) == any(holds_start(*span) for span in every)
    if found is not None:
        assert holds_start(*found)
        assert any(lo <= found[0] and found[1] <= hi for lo, hi in united(every))


@settings(max_examples=40)
@given(places, places, places)
def test_plates_across_each_other_are_as_far_apart_as_all_their_pieces(
    x: float, y: float, z: float
) -> None:
    plate = Prism(2, PLATE, 0, 3)
    washer = Prism(0, Poly(ring(48, 20, y, z), (ring(48, 8, y, z),)), x, x + 4)
    found = clearance([plate], [washer]).mm
    with pytest.MonkeyPatch.context() as one_by_one:
        one_by_one.setattr(fold, "_FEW", 1_000_000)
        assert found == pytest.approx(clearance([plate], [washer]).mm, abs=1e-12)
