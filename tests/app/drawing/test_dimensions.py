"""Dimensions by ISO 129-1:2018: figures above and along the line, read from below or right."""

from __future__ import annotations

import pytest

from app.drawing.dimensions import Figure, Measured, Room, dimension
from app.drawing.drafting import Drafting
from app.drawing.primitives import XY, Path, Text
from app.drawing.silhouettes import overlaps

PAPER = Drafting.on_paper(1.0)


def figure(found: object) -> Text:
    (text,) = [one for one in found.primitives if isinstance(one, Text)]  # type: ignore[attr-defined]
    return text


def heads(found: object) -> list[XY]:
    """Return the tips of the arrow heads: the first corner of each filled triangle."""
    return [
        one.points[0]
        for one in found.primitives  # type: ignore[attr-defined]
        if isinstance(one, Path) and one.fill is not None and one.fill.solid
    ]


def test_a_level_dimension_has_its_figure_above_the_middle() -> None:
    found = dimension(Measured((0.0, 50.0), (100.0, 50.0)), Figure("100"), PAPER)
    text = figure(found)
    assert text.at[0] == 50.0
    assert text.at[1] + text.height_mm / 2 < 50.0
    assert text.angle_deg == 0.0


def test_an_upright_dimension_is_read_from_the_right() -> None:
    """Turned a quarter counter-clockwise and left of its line, that is above it as one reads."""
    text = figure(dimension(Measured((20.0, 0.0), (20.0, 80.0)), Figure("80"), PAPER))
    assert text.angle_deg == 90.0
    assert text.at[1] == 40.0
    assert text.at[0] + text.height_mm / 2 < 20.0


@pytest.mark.parametrize(("a", "b"), [((0.0, 5.0), (60.0, 5.0)), ((5.0, 0.0), (5.0, 60.0))])
def test_the_order_of_the_ends_does_not_matter(a: XY, b: XY) -> None:
    assert dimension(Measured(a, b), Figure("60"), PAPER) == dimension(
        Measured(b, a), Figure("60"), PAPER
    )


def test_arrows_touch_both_ends_from_inside_a_long_line() -> None:
    assert sorted(heads(dimension(Measured((0.0, 0.0), (50.0, 0.0)), Figure("50"), PAPER))) == [
        (0.0, 0.0),
        (50.0, 0.0),
    ]


def test_arrows_of_a_short_line_stand_outside_and_the_line_reaches_them() -> None:
    found = dimension(Measured((0.0, 0.0), (2.0, 0.0)), Figure("2"), PAPER)
    triangles = [one for one in found.primitives if isinstance(one, Path) and one.closed]
    assert {max(p[0] for p in triangles[0].points), min(p[0] for p in triangles[1].points)} == {
        0.0,
        2.0,
    }
    line = next(one for one in found.primitives if isinstance(one, Path) and not one.closed)
    assert line.points[0][0] < -PAPER.arrow_mm
    assert line.points[1][0] > 2.0 + PAPER.arrow_mm


def test_a_figure_that_does_not_fit_stands_beside_and_the_line_carries_it() -> None:
    found = dimension(Measured((0.0, 0.0), (2.0, 0.0)), Figure("123.4 overlap"), PAPER)
    x0, _, x1, _ = found.box
    assert x0 > 2.0
    carriers = [one for one in found.primitives if isinstance(one, Path) and not one.closed]
    assert max(p[0] for one in carriers for p in one.points) == pytest.approx(x1)


def test_a_figure_gives_way_to_what_is_there_already() -> None:
    free = dimension(Measured((0.0, 0.0), (100.0, 0.0)), Figure("100"), PAPER)
    moved = dimension(
        Measured((0.0, 0.0), (100.0, 0.0)), Figure("100"), PAPER, room=Room((free.box,))
    )
    assert not overlaps(free.box, moved.box)


def test_a_figure_stays_inside_where_it_can() -> None:
    """Beside the short line at the right edge there is no room on the right."""
    within = (0.0, -50.0, 100.0, 50.0)
    found = dimension(Measured((95.0, 0.0), (98.0, 0.0)), Figure("3.0 clear"), PAPER, within=within)
    assert found.box[2] <= 95.0


def test_extension_lines_run_from_the_feature_past_the_line() -> None:
    """8 line widths beyond the dimension line (ISO 129-1): 8 x 0.25 = 2 mm."""
    found = dimension(
        Measured((0.0, 10.0), (50.0, 10.0), ((0.0, 30.0), (50.0, 30.0))), Figure("50"), PAPER
    )
    lines = [one.points for one in found.primitives if isinstance(one, Path) and not one.closed]
    extensions = [points for points in lines if points[0][0] == points[1][0]]
    assert len(extensions) == 2
    for start, end in extensions:
        assert 10.0 < start[1] < 30.0
        assert end[1] == pytest.approx(8.0)


def test_links_of_a_chain_keep_their_arrows_to_themselves() -> None:
    found = dimension(Measured((0.0, 0.0), (3.0, 0.0)), Figure("3"), PAPER, chained=True)
    xs = [p[0] for one in found.primitives if isinstance(one, Path) for p in one.points]
    assert (min(xs), max(xs)) == (0.0, 3.0)


def test_a_slanting_line_is_refused() -> None:
    with pytest.raises(ValueError, match="level or upright"):
        dimension(Measured((0.0, 0.0), (10.0, 5.0)), Figure("11.2"), PAPER)


def test_a_level_that_another_dimension_extends_has_no_line_of_its_own() -> None:
    measured = Measured((0.0, 10.0), (50.0, 10.0), (None, (50.0, 30.0)))
    found = dimension(measured, Figure("50"), PAPER)
    lines = [one for one in found.primitives if isinstance(one, Path) and not one.closed]
    assert [one.points[0][0] for one in lines if one.points[0][0] == one.points[1][0]] == [50.0]


def test_a_figure_far_from_its_line_in_a_chain_is_tied_to_it_by_a_leader() -> None:
    """Its places over and under the line are taken, so it goes farther off."""
    measured, near = Measured((0.0, 0.0), (8.0, 0.0)), Room(((-20.0, -4.0, 3.0, 4.0),))
    found = dimension(measured, Figure("8"), PAPER, chained=True, room=near)
    at = figure(found).at
    assert at[0] == 4.0
    assert abs(at[1]) > 5.0
    uprights = [
        one.points
        for one in found.primitives
        if isinstance(one, Path) and one.points[0][0] == one.points[1][0]
    ]
    ((start, end),) = uprights
    assert start == (4.0, 0.0)
    assert 0.0 < end[1] / at[1] < 1.0
    straight = dimension(measured, Figure("8"), PAPER, chained=True)
    assert len(straight.primitives) == len(found.primitives) - 1
