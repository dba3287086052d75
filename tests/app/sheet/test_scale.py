"""Scales of ISO 5455:1979: the series, the choice of the largest that fits, the refusal."""

from __future__ import annotations

import datetime

import pytest

from app.drawing.primitives import Drawing
from app.sheet.compose import compose_sheets
from app.sheet.scale import OFFERED, SCALES, Scale, ScaleError, read_scale
from app.sheet.scaled import extent
from geometry.checks.runner import Checked


def _drawn_scale(sheet: Drawing) -> float:
    """The outer width of the enclosure's walls on paper over 434 real millimetres."""
    walls = next(g for g in sheet.groups if g.key == "wall:side")
    boxes = [extent(one) for one in walls.primitives]
    return (max(b[2] for b in boxes) - min(b[0] for b in boxes)) / 434.0


def test_series_is_that_of_the_standard() -> None:
    # ISO 5455:1979, clause 5, down to 1:10000.
    assert [str(scale) for scale in SCALES] == [
        "50:1", "20:1", "10:1", "5:1", "2:1", "1:1", "1:2", "1:5", "1:10", "1:20", "1:50", "1:100",
        "1:200", "1:500", "1:1000", "1:2000", "1:5000", "1:10000",
    ]  # fmt: skip


def test_scale_is_read_and_others_are_refused_with_the_choice() -> None:
    assert read_scale("1:5") == Scale(1, 5)
    assert read_scale("2 : 1").factor == 2.0
    with pytest.raises(
        ScaleError, match=r"'1:3' is not one of ISO 5455; choose one of .*1:2, 1:2.5, 1:5"
    ):
        read_scale("1:3")


def test_an_intermediate_scale_is_written_as_scale_rules_have_it() -> None:
    assert read_scale("1:7.5").factor == pytest.approx(2 / 15)
    assert str(read_scale("1:7.5")) == "1:7.5"
    factors = [one.factor for one in OFFERED]
    assert factors == sorted(factors, reverse=True)


def test_views_take_the_largest_scale_that_fits(
    small_checked: Checked, date: datetime.date
) -> None:
    # 434 x 404 over 434 x 204: at 1:2 the two views alone are 304 high, more than the 205 that
    # A3 has over the title block and the 265 beside it; at 1:5 they are 121.6.
    sheet = compose_sheets(small_checked, paper="A3", date=date)[0]
    assert _drawn_scale(sheet) == pytest.approx(1 / 5)
    with pytest.raises(ScaleError, match=r"do not fit on A3 at 1:2; the largest .* fits is 1:5"):
        compose_sheets(small_checked, paper="A3", scale="1:2", date=date)


def test_a_given_smaller_scale_is_kept(small_checked: Checked, date: datetime.date) -> None:
    sheet = compose_sheets(small_checked, paper="A3", scale="1:10", date=date)[0]
    assert _drawn_scale(sheet) == pytest.approx(1 / 10)


def test_both_views_are_drawn_at_one_scale_and_lined_up(
    any_checked: Checked, date: datetime.date
) -> None:
    sheet = compose_sheets(any_checked, paper="A3", date=date)[0]
    walls = {}
    for name in ("side", "bottom"):
        group = next(g for g in sheet.groups if g.key == f"wall:{name}")
        shapes = [extent(one) for one in group.primitives]
        walls[name] = (min(b[0] for b in shapes), max(b[2] for b in shapes))
    assert walls["side"] == pytest.approx(walls["bottom"])


def test_an_unknown_paper_is_refused(small_checked: Checked, date: datetime.date) -> None:
    with pytest.raises(ValueError, match="paper 'A2' is not offered; choose one of A3, A4"):
        compose_sheets(small_checked, paper="A2", date=date)
