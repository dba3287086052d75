"""Frame, grid reference and centring marks against ISO 5457:1999 (4.1 to 4.4, Tables 1 and 2)."""

from __future__ import annotations

import pytest

from app.drawing.primitives import Bounds, Path, Text
from app.sheet.paper import A3, A4, Paper, field_edges, frame_groups


@pytest.mark.parametrize(
    ("paper", "frame"),
    [
        # ISO 5457 4.2: 20 mm on the filing side, 10 mm elsewhere; A3 420 x 297, A4 210 x 297.
        (A3, (20.0, 10.0, 410.0, 287.0)),
        (A4, (20.0, 10.0, 200.0, 287.0)),
    ],
)
def test_frame_keeps_the_borders_of_the_standard(paper: Paper, frame: Bounds) -> None:
    assert paper.frame == frame
    group = next(g for g in frame_groups(paper) if g.key == "sheet:frame")
    outline = group.primitives[0]
    assert isinstance(outline, Path)
    left, top, right, bottom = frame
    assert outline.points == ((left, top), (right, top), (right, bottom), (left, bottom))
    assert outline.stroke is not None
    assert outline.stroke.width_mm == 0.7


def test_drawing_space_has_the_size_of_table_1() -> None:
    def space(paper: Paper) -> tuple[float, float]:
        left, top, right, bottom = paper.frame
        return (right - left, bottom - top)

    assert space(A3) == (390.0, 277.0)
    assert space(A4) == (180.0, 277.0)


def test_grid_has_the_fields_of_table_2() -> None:
    # ISO 5457 Table 2: A3 8 x 6, A4 6 x 4 (long side first; A4 stands upright).
    fields = [
        [len(field_edges(mm)) + 1 for mm in (one.width_mm, one.height_mm)] for one in (A3, A4)
    ]
    assert fields == [[8, 6], [4, 6]]


def test_grid_fields_are_fifty_wide_from_the_axes_outward() -> None:
    assert field_edges(420.0) == (60.0, 110.0, 160.0, 210.0, 260.0, 310.0, 360.0)
    assert field_edges(297.0) == (48.5, 98.5, 148.5, 198.5, 248.5)


def _grid_texts(paper: Paper) -> list[Text]:
    group = next(g for g in frame_groups(paper) if g.key == "sheet:grid")
    return [one for one in group.primitives if isinstance(one, Text)]


def test_grid_is_lettered_all_round_on_a3_and_on_two_sides_on_a4() -> None:
    on_a3 = [one.text for one in _grid_texts(A3)]
    on_a4 = [one.text for one in _grid_texts(A4)]
    assert sorted(on_a3) == sorted(2 * [*"12345678", *"ABCDEF"])
    assert sorted(on_a4) == sorted([*"1234", *"ABCDEF"])
    # Letters from the top down, numerals from the left to the right.
    right = [one for one in _grid_texts(A4) if one.at[0] > 200.0]
    assert [one.text for one in sorted(right, key=lambda one: one.at[1])] == [*"ABCDEF"]
    above = [one for one in _grid_texts(A4) if one.at[1] < 10.0]
    assert [one.text for one in sorted(above, key=lambda one: one.at[0])] == [*"1234"]
    assert {one.height_mm for one in _grid_texts(A3)} == {3.5}


def test_letters_stand_in_the_middle_of_a_band_of_five() -> None:
    frame = A3.frame
    for one in _grid_texts(A3):
        x, y = one.at
        beside = min(abs(x - (frame[0] - 2.5)), abs(x - (frame[2] + 2.5)))
        above = min(abs(y - (frame[1] - 2.5)), abs(y - (frame[3] + 2.5)))
        assert min(beside, above) == 0.0


def test_a_point_is_found_in_its_field() -> None:
    # Columns meet at 60, 110 ... and rows at 48.5, 98.5 ...; the axis belongs to the next field.
    assert A3.field_at((25.0, 15.0)) == "A1"
    assert A3.field_at((209.0, 149.0)) == "D4"
    assert A3.field_at((210.0, 148.5)) == "D5"
    assert A3.field_at((405.0, 280.0)) == "F8"


@pytest.mark.parametrize(("paper", "foot"), [(A3, 277.0), (A4, 287.0)])
def test_centring_marks_lie_on_the_axes_and_reach_ten_inside(paper: Paper, foot: float) -> None:
    group = next(g for g in frame_groups(paper) if g.key == "sheet:frame")
    marks = [one.points for one in group.primitives[1:] if isinstance(one, Path)]
    x, y = paper.width_mm / 2, 148.5
    right = paper.width_mm - 10.0
    assert set(marks) == {
        ((x, 5.0), (x, 20.0)),
        ((x, 292.0), (x, foot)),
        ((15.0, y), (30.0, y)),
        ((right + 5.0, y), (right - 10.0, y)),
    }
