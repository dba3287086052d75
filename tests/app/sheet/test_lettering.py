"""Text in lines: what fits, what is broken, and what stays together."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.drawing.fontmetrics import text_width_mm
from app.sheet.lettering import wrapped


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("it stands 44.0 mm too deep", "44.0 mm"),
        ("limits cover 99.73 % of all", "99.73 %"),
        ("the exchanger 2 x 120, thick", "2 x 120,"),
        ("pump of 60 x 60 x 40, bare", "60 x 60 x 40,"),
        ("plug, place x 100 ± 0.3", "100 ± 0.3"),
    ],
)
def test_a_figure_is_never_parted_from_its_unit_while_both_fit(text: str, kept: str) -> None:
    least = max(text_width_mm(one, 2.5) for one in (kept, *text.split()))
    for step in range(60):
        lines = wrapped(text, least + 0.5 * step, 2.5)
        assert any(kept in line for line in lines), lines
        assert " ".join(lines) == text


def test_what_is_too_narrow_for_both_has_one_under_the_other() -> None:
    room = text_width_mm("1000.0", 2.5)
    assert wrapped("1000.0 mm", room, 2.5) == ("1000.0", "mm")


@given(st.text("a1 x%m", max_size=40), st.floats(2.0, 60.0))
def test_no_line_is_wider_than_its_room_and_nothing_is_lost(text: str, room: float) -> None:
    lines = wrapped(text, room, 1.8)
    assert all(text_width_mm(line, 1.8) <= room for line in lines if len(line) > 1)
    assert "".join("".join(lines).split()) == "".join(text.split())
