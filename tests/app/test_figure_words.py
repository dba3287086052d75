"""A figure with its tolerance in words: the same for table, sheet and window."""

from __future__ import annotations

import pytest
from small_rooms import block, exchanger, layout, one, room, row, stack, zone

from app.cli.figure_lines import figure_lines
from app.cli.report_table import report_lines
from app.sheet.table import Cell
from app.sheet.tolerance_content import dimension_rows, figure_rows, told_figures
from app.ui.panels.tolerance_texts import contributors_tip, tolerance_line
from app.ui.units import Unit
from geometry.checks.finding_figures import depth_figure
from geometry.checks.nearest import nearest_figure, nearest_of
from geometry.checks.runner import Checked, check_layout
from geometry.stackup.figure_words import (
    beside_words,
    limits_sentence,
    limits_words,
    share_words,
)
from geometry.stackup.stack_ups import Figure


def tenths(mm: float) -> str:
    return f"{mm:.1f}"


@pytest.fixture
def checked() -> Checked:
    """An exchanger whose port end stands 12 mm before a post."""
    core = exchanger(1, 30, port_facing="+z").but(id="x", name="Exchanger", ports=())
    post = block("post", (202, 40, 0), (220, 160, 100))
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    enclosure = room((400, 200, 300), [floor], [post])
    return check_layout(layout(enclosure, [core], [stack("S", "floor-zone", one("E1", core))]))


@pytest.fixture
def figure(checked: Checked) -> Figure:
    survey = checked.report.survey
    assert survey is not None
    port_end = nearest_of(survey, "E1")[0]
    assert port_end.word == "port end"
    found = nearest_figure(survey, port_end)
    assert found is not None
    return found


def test_limits_and_shares_are_told(figure: Figure) -> None:
    # Off may be the post's place 0.5, the screws 0.5, the zone 0.3, its cell 0.3, half the core
    # 0.15, the end tank 0.2: 1.95; 1.1147 by root sum square, the play as three times its square.
    assert limits_words(figure, tenths, "mm") == "worst case 10.0 mm, statistical 10.9 to 13.1 mm"
    sentence = "Worst case 10.0 mm, statistical 10.9 to 13.1 mm."
    assert limits_sentence(figure, tenths, "mm") == sentence
    first, *rest = share_words(figure)
    assert first == "26% Exchanger, play of its screws along x 0 ± 0.5"
    assert share_words(figure, 1) == [first]
    assert len(rest) == 5


def test_table_sheet_and_window_use_the_same_words(checked: Checked, figure: Figure) -> None:
    limits, shares = limits_words(figure, tenths, "mm"), share_words(figure)
    assert tolerance_line(figure, Unit.MM) == limits
    assert contributors_tip(figure).split("\n")[1:7] == shares
    every = " ".join(" ".join(report_lines("f.json", checked, 200, contributors=True)).split())
    assert f"{limits[1:]}. {' '.join(shares)}" in every
    (told,) = (one for one in told_figures(checked) if one.figure == figure)
    (row,) = (row for row in figure_rows([told]) if len(row) > 1)
    worst, statistical, by_share = (c.text if isinstance(c, Cell) else c for c in row[5:])
    assert f"worst case {worst} mm, statistical {statistical} mm" == limits
    # The sheet calls placed parts by their references, and dimensions by their number in a list.
    ((*columns,),) = dimension_rows(checked, [told])
    listed = "\n".join(str(column) for column in columns).split("\n")
    assert by_share == "26% d1 d2; 15% d3 d4; 10% d5; 8% d6"
    assert [one.split(" ", 1)[1] for one in listed] == [
        one.split(" ", 1)[1].replace("Exchanger,", "E1,").replace(" along ", " ") for one in shares
    ]


def test_what_comes_in_from_beside_the_way_is_told_with_what_brings_it_in() -> None:
    # A bar 1.52 mm beside the exchanger's port end, which may be off by 1.45 and the bar by 0.5.
    core = exchanger(1, 30, port_facing="+z").but(id="x", name="Exchanger", ports=())
    bar = block("bar", (191.52, 40, 100), (220, 160, 120))
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    enclosure = room((400, 200, 300), [floor], [bar])
    report = check_layout(
        layout(enclosure, [core], [stack("S", "floor-zone", one("E1", core))])
    ).report
    figure = depth_figure(report, report.depths[0].least)
    assert figure is not None
    # The bar's underside is at 100 and the exchanger 30 high: 70 ahead.
    of = "By share of the 70.0 mm there as drawn: "
    assert any(line.startswith(of) for line in figure_lines(figure, contributors=False))
    assert "by share of the 70.00 mm there as drawn, in mm:" in contributors_tip(figure)
    assert figure.worst.worst_mm == pytest.approx(
        70.0 - sum(one.loss_mm for one in figure.worst.contributors)
    )
    told, *shares = beside_words(figure, tenths, "mm")
    assert told == "the 1.5 mm beside the way as drawn can be lost, 0.4 mm more than that"
    assert shares[:2] == [
        "26% Exchanger, play of its screws along x 0 ± 0.5",
        "26% bar, shape 1 place along x 191.52 ± 0.5",
    ]
    assert len(shares) == 6
    assert f"{told[0].upper()}{told[1:]}, by share: {shares[0]};" in " ".join(
        figure_lines(figure, contributors=False)
    )
    assert figure_lines(figure, contributors=True)[-1] == f"  {shares[-1]}"
    tip = contributors_tip(figure).split("\n")
    assert tip[-2 - len(shares) : -2] == shares


def test_nothing_beside_the_way_is_not_told(checked: Checked) -> None:
    survey = checked.report.survey
    assert survey is not None
    (near, _) = nearest_of(survey, "E1")
    assert beside_words(nearest_figure(survey, near), tenths, "mm") == []
