"""Hatches are lines cut at the outline they fill."""

from __future__ import annotations

import math

import pytest

from app.drawing.hatching import MOST_LINES, hatch_lines
from app.drawing.primitives import XY

SQUARE: tuple[XY, ...] = ((0.5, 0.5), (10.5, 0.5), (10.5, 10.5), (0.5, 10.5))
HOLE: tuple[XY, ...] = ((3.5, 3.5), (7.5, 3.5), (7.5, 7.5), (3.5, 7.5))


def total(lines: tuple[tuple[XY, XY], ...]) -> float:
    return sum(math.dist(a, b) for a, b in lines)


def test_level_lines_run_from_side_to_side() -> None:
    lines = hatch_lines([SQUARE], "level", 2.0)
    assert lines == tuple(((0.5, y), (10.5, y)) for y in (2.0, 4.0, 6.0, 8.0, 10.0))


def test_upright_lines_run_from_end_to_end() -> None:
    lines = hatch_lines([SQUARE], "upright", 5.0)
    assert {round(a[0], 9) for a, _ in lines} == {5.0, 10.0}
    assert all(abs(a[1] - b[1]) == pytest.approx(10.0) for a, b in lines)


def test_a_hole_stays_free() -> None:
    """Lines at y = 4 and 6 cross the hole of 4 mm and lose 4 mm each."""
    assert total(hatch_lines([SQUARE, HOLE], "level", 2.0)) == pytest.approx(5 * 10.0 - 2 * 4.0)


def test_diagonals_rise_to_the_right_and_backs_fall() -> None:
    """y runs down the page."""
    slopes = {
        kind: {
            round((b[1] - a[1]) / (b[0] - a[0]), 6)
            for a, b in hatch_lines([SQUARE], kind, 1.0)  # type: ignore[arg-type]
        }
        for kind in ("diagonal", "back", "cross")
    }
    assert slopes == {"diagonal": {-1.0}, "back": {1.0}, "cross": {-1.0, 1.0}}


@pytest.mark.parametrize("spacing", [0.5, 1.0, 2.5])
def test_length_times_spacing_is_the_area(spacing: float) -> None:
    """Lines a spacing apart stand for one strip each: 84 mm2 within an eighth."""
    found = total(hatch_lines([SQUARE, HOLE], "diagonal", spacing)) * spacing
    assert found == pytest.approx(84.0, rel=0.125)


def test_lines_of_neighbours_run_on() -> None:
    other = tuple((x + 10.0, y) for x, y in SQUARE)
    one, two = (hatch_lines([ring], "level", 3.0) for ring in (SQUARE, other))
    assert [a[1] for a, _ in one] == [a[1] for a, _ in two]


def test_a_field_too_large_for_its_spacing_gets_fewer_lines() -> None:
    huge: tuple[XY, ...] = ((0.0, 0.0), (1e5, 0.0), (1e5, 1e5), (0.0, 1e5))
    assert 0 < len(hatch_lines([huge], "level", 0.01)) <= MOST_LINES + 1


def test_no_hatch_has_no_lines() -> None:
    assert hatch_lines([SQUARE], "none", 1.0) == ()
    assert hatch_lines([], "level", 1.0) == ()
