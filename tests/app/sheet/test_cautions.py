"""Who gets the first sheet alone is warned, however much of it the views take up."""

from __future__ import annotations

import datetime

import pytest
from sheet_looks import overlapping_texts, words_of

from app.demo import demo_layout
from app.sheet.cautions import CAUTIONS
from app.sheet.compose import compose_sheets
from catalog.store import Library
from geometry.checks.runner import Checked, check_layout
from geometry.layout import Layout

DATE = datetime.date(2026, 1, 31)
ENCLOSURES = sorted(Library().enclosures)


def on_first(checked: Checked, paper: str, scale: str | None = None) -> tuple[str, str]:
    """Return the words of the first sheet, and those of all others."""
    first, *others = compose_sheets(checked, paper=paper, scale=scale, date=DATE)
    assert overlapping_texts(first) == []
    return words_of([first]), words_of(others)


def empty(enclosure: str) -> Checked:
    return check_layout(Layout(name="Empty", enclosure=Library().enclosure(enclosure)))


@pytest.mark.parametrize("paper", ["A4", "A3"])
@pytest.mark.parametrize("enclosure", ENCLOSURES)
def test_the_first_sheet_of_every_shipped_enclosure_warns(enclosure: str, paper: str) -> None:
    first, _ = on_first(empty(enclosure), paper)
    for caution in CAUTIONS:
        if caution.word != "NOTICE":
            assert caution.topic in first, caution.topic
    assert first.count("WARNING") == 2


def test_the_demo_on_a4_warns_in_brief_and_says_where_the_rest_stands() -> None:
    first, others = on_first(check_layout(demo_layout(Library())), "A4")
    assert "Cautions, read first; in full on sheet 2" in first
    told = " ".join(first.split())
    assert "before filling, draining or opening the loop." in told
    assert "Mains work: a licensed person." in told
    assert "Drilling: look behind the face" in told
    assert "Sharp edges: deburr, wear gloves; Coolant chemicals" in told
    # On the second sheet all of it comes before the tables.
    assert others.index("Cautions\n") < others.index("Findings (mm)")
    assert "Geometry only" in others


def test_where_views_leave_no_room_at_all_one_line_stands_over_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(
        "app.sheet.sheet_areas.Areas.close_under_views", lambda *_: (0, 100, 80, 100)
    )
    monkeypatch.setattr("app.sheet.sheet_areas.Areas.under_views", lambda *_: (0, 100, 80, 100))
    first, others = on_first(check_layout(demo_layout(Library())), "A4")
    assert "Cautions, read first; in full on sheet 2" in first
    assert "WARNING" not in first
    assert "WARNING" in others
