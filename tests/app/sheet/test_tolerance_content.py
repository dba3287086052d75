"""The table of figures with their tolerances, and the list of the dimensions behind them."""

from __future__ import annotations

import datetime
import re

import pytest
from sheet_looks import words_of

from app.demo import demo_layout
from app.drawing.verdict_words import numbered
from app.sheet.compose import compose_sheets
from app.sheet.content import stack_rows
from app.sheet.table import Cell, Row
from app.sheet.tolerance_content import dimension_rows, figure_rows, told_figures
from app.sheet.words import figure_mm
from catalog.store import load_library
from geometry.checks.finding_figures import depth_figure, finding_figure
from geometry.checks.nearest import nearest_figure, nearest_of
from geometry.checks.runner import Checked, check_layout
from geometry.stackup.stack_ups import Figure


@pytest.fixture(scope="module")
def demo_checked() -> Checked:
    """The demo layout: three stacks, a blocked and a tight finding."""
    return check_layout(demo_layout(load_library()))


def _texts(row: Row) -> list[str]:
    return [cell.text if isinstance(cell, Cell) else cell for cell in row]


def _figure_rows(checked: Checked) -> list[list[str]]:
    """The rows below the line that tells what is assumed."""
    return [_texts(row) for row in figure_rows(told_figures(checked))[1:]]


def _dimensions(checked: Checked) -> dict[str, str]:
    lines = [
        line
        for row in dimension_rows(checked, told_figures(checked))
        for cell in _texts(row)
        for line in cell.splitlines()
    ]
    listed = dict(line.split(" ", 1) for line in lines)
    assert len(listed) == len(lines)
    return listed


def _reported(checked: Checked) -> list[Figure]:
    """Every figure that the report has, asked for one by one."""
    survey = checked.report.survey
    assert survey is not None
    figures = [depth_figure(checked.report, c) for d in checked.report.depths for c in d.cells]
    figures += [finding_figure(checked.report, one) for _, one in numbered(checked.report)]
    for owner in checked.scene.placed:
        figures += [nearest_figure(survey, one) for one in nearest_of(survey, owner)]
    return [one for one in figures if one is not None]


def test_a_row_tells_all_of_a_figure(demo_checked: Checked) -> None:
    # The floor exchanger's port end stands 3 mm before the bend of the supply's cables, which may
    # be touched; 2.75 mm of tolerances lie between them.
    told = next(row for row in _figure_rows(demo_checked) if row[1] == "E2, port end")
    assert told[2:7] == ["supply cables of power supply", "3.0", "0.0", "0.2", "1.8 to 4.2"]
    listed = _dimensions(demo_checked)
    first, *rest = told[7].split("; ")
    share, *codes = first.split()
    assert share == "18%"
    assert [listed[code] for code in codes] == [
        "E2, play of its screws x 0 ± 0.5",
        "floor, zone place x 146 ± 0.5",
    ]
    assert sum(len(one.split()) - 1 for one in (first, *rest)) == 9
    # Both fans of a layer are one part, whose thickness counts once; each fitting is its own.
    assert "F1/F2, thickness 25 ± 0.2" in listed.values()
    assert "P1, port 1 fitting length 24 ± 0.2" in listed.values()


def test_findings_stand_first_by_their_number(demo_checked: Checked) -> None:
    rows = _figure_rows(demo_checked)
    assert [row[0] for row in rows[:3]] == ["1", "2", ""]
    # The tight fitting is what limits its stack, too: one figure, told once.
    assert rows[1][1] == "S1 cell 1, left over\nP1, FT1 on port in"


@pytest.mark.parametrize("name", ["demo_checked", "small_checked", "large_checked"])
def test_every_figure_is_told_with_all_that_contributes(
    name: str, request: pytest.FixtureRequest
) -> None:
    checked: Checked = request.getfixturevalue(name)
    told = told_figures(checked)
    rows = _figure_rows(checked)
    listed = _dimensions(checked)
    reported = _reported(checked)
    assert reported
    for figure in reported:
        own = {(one.owner, one.path) for one in figure.worst.contributors}
        alike = [
            row
            for one, row in zip(told, rows, strict=True)
            if {(c.owner, c.path) for c in one.figure.worst.contributors} == own
            and one.figure.nominal.nominal_mm == pytest.approx(figure.nominal.nominal_mm)
            and one.figure.worst.worst_mm == pytest.approx(figure.worst.worst_mm)
        ]
        assert len(alike) == 1
        gaps = [figure.worst, *([] if figure.beside is None else [figure.beside])]
        for gap, text in zip(gaps, alike[0][7].split("\ncoming in: "), strict=True):
            codes = re.findall(r"\bd\d+\b", text)
            assert len(codes) == len(set(codes)) == len(gap.contributors)
            assert set(codes) <= set(listed)
            shares = [int(share) for share in re.findall(r"(\d+)%", text)]
            assert shares == sorted(shares, reverse=True)
    every = {code for row in rows for code in re.findall(r"\bd\d+\b", row[7])}
    assert every == set(listed)


@pytest.mark.parametrize("name", ["demo_checked", "small_checked"])
def test_each_finding_that_measures_a_gap_has_its_row(
    name: str, request: pytest.FixtureRequest
) -> None:
    checked: Checked = request.getfixturevalue(name)
    wanted = [
        str(number)
        for number, one in numbered(checked.report)
        if finding_figure(checked.report, one) is not None
    ]
    assert wanted
    numbers = [one for row in _figure_rows(checked) for one in row[0].split(", ") if one]
    assert sorted(numbers) == sorted(wanted)


def test_the_sheet_states_the_coverage_and_has_clear_parts(
    demo_checked: Checked, date: datetime.date
) -> None:
    sheets = compose_sheets(demo_checked, paper="A3", date=date)
    assert len(sheets) == 2
    shown = " ".join(words_of(sheets).split())
    assert "which is 3 standard deviations" in shown
    assert "the limits then cover 99.73 % of all assemblies" in shown
    clear = [row for row in _figure_rows(demo_checked) if row[1] == "F7"]
    assert [row[2:7] for row in clear] == [
        ["access-side wall", "14.0", "2.0", "12.9", "13.1 to 14.9"]
    ]


def test_a_stack_is_at_its_worst_over_all_its_cells(demo_checked: Checked) -> None:
    for depth, row in zip(demo_checked.report.depths, stack_rows(demo_checked), strict=True):
        figures = [depth_figure(demo_checked.report, left) for left in depth.cells]
        worst = min(one.worst.worst_mm for one in figures if one is not None)
        assert _texts(row)[5] == figure_mm(worst)
