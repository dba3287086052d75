"""What is missing by a hair is told as such wherever it is told, and equal bounds as one number."""

from __future__ import annotations

import pytest

from app.cli.figures import mm_text
from app.sheet.words import figure_mm
from app.ui.search.excludes import cell_words, exclusion_words
from app.ui.units import Unit
from geometry.finding import Verdict
from geometry.search.excludes import Exclusion
from geometry.search.words import between_text, short_figure

NAMES = {"a": "floor", "b": "front"}


def exclusion(short_mm: float) -> Exclusion:
    what = ("fans alone", "fans alone")
    return Exclusion(("a", "b"), what, 2, 27, "fan", "core", Verdict.TIGHT, short_mm, "as drawn")


@pytest.mark.parametrize(
    ("short_mm", "told"), [(0.001, "under 0.1 mm"), (0.1, "0.1 mm"), (1.26, "1.3 mm")]
)
def test_a_hair_is_told_as_such(short_mm: float, told: str) -> None:
    one = exclusion(short_mm)
    assert cell_words(one, Unit.MM) == f"not in 7.4 % of ways\n{told} short"
    words = exclusion_words(one, NAMES, Unit.MM)
    met = "fan (on floor) is in the way of core (on front)"
    assert f"{met}, {told} missing to the margin (tight)" in words
    for write in (mm_text, figure_mm):
        assert f"{short_figure(short_mm, write)} mm" == told


def test_what_is_missing_by_nothing_is_no_hair() -> None:
    assert short_figure(0.0, figure_mm) == "0.0"


def test_equal_bounds_are_one_number() -> None:
    assert between_text(42_386, 42_386) == "42,386"
    assert between_text(42_385, 42_386) == "42,385 to 42,386"
