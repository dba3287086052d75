"""What tolerances leave of a row, in the table, its tips, the comparison and what is exported.

A fan of 25 mm on the rear wall stands 2.3 mm before a post, 2 mm of margin: at worst 1.9 mm are
left (ISO 2768-1 class m, 0.2 mm each).
"""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest
import small_rooms as make
from PySide6.QtCore import Qt

from app.ui.preferences import Preferences
from app.ui.search.compare import comparison
from app.ui.search.export import rows_text
from app.ui.search.filter import FilterBar
from app.ui.search.row_model import RowModel
from app.ui.search.rows import (
    COLUMNS,
    LEFT,
    LEFT_LIKELY,
    LEFT_WORST,
    WORST,
    RowFilter,
    Sorting,
    arranged,
    cell_text,
    head_text,
    head_tip,
    row_tip,
    worst_lines,
)
from app.ui.search.worker import SearchOrder, tellings
from app.ui.skin import Skin
from app.ui.units import Unit
from geometry.layout import Settings
from geometry.search.row_limits import LeftInPlace
from geometry.search.rows_csv import rows_csv
from geometry.search.summary import RowSummary
from geometry.search.wishes import Judging, Wishes, wishes_from

FAN = make.fan(25.0)
TAKING = "Fan 120 x 25, thickness 25 ± 0.2 (50%)"
POST = "post, shape 1 place along x 27.3 ± 0.2 (50%)"


def row_of(judge: Judging, post_x: float = 27.3) -> RowSummary:
    rear = make.zone("rear-zone", "rear", (0, 140, 20), "+z", "-y", make.row(1))
    post = make.block("post", (post_x, 60, 60), (post_x + 10, 100, 100))
    lay = make.layout(
        make.room((200, 180, 200), [rear], [post]), [], settings=Settings(judge=judge)
    )
    wishes = wishes_from([FAN], Wishes(slide_steps=1, tight_allowed=True))
    told = tellings(SearchOrder(lay, wishes, ("fans",), 10.0))
    (row,) = [row for one in told for row in one.rows]
    return row


@pytest.fixture(scope="module")
def tight() -> RowSummary:
    return row_of("worst case")


def test_the_table_has_what_is_left_in_place_as_drawn_and_at_worst(tight: RowSummary) -> None:
    assert cell_text(tight, LEFT, Unit.MM) == "2.3"
    assert cell_text(tight, LEFT_WORST, Unit.MM) == "1.9"
    assert cell_text(tight, WORST, Unit.MM) == "1 tight"
    assert [head_text(c, Unit.MM) for c in (LEFT, LEFT_WORST, WORST)] == [
        "In place\nmm", "At worst\nmm", "Gaps\nat worst",
    ]  # fmt: skip
    assert "once every dimension is off" in head_tip(LEFT_WORST, Unit.MM, ())
    assert "which dimensions take the most" in head_tip(WORST, Unit.MM, ())
    assert cell_text(row_of("nominal"), WORST, Unit.MM) == "not judged"
    assert cell_text(row_of("worst case", 40.0), WORST, Unit.MM) == "clear"


def test_tips_tell_which_dimensions_take_it(tight: RowSummary, qapp: object) -> None:
    tip = " ".join(row_tip(tight, Unit.MM).split())
    left = "Left with all in place: 2.3 mm as drawn, 1.9 mm in the worst case, statistically 2.0 mm"
    assert left in tip
    assert "Tight at worst: Fan 120 x 25" in tip
    assert tip.count(TAKING) == 2, "of what is left, and of the gap that is tight"
    assert tip.count(POST) == 2
    model = RowModel(Skin(Preferences()))
    model.show_rows([tight], ("fans",))
    tips = {
        c: " ".join(
            model.data(
                model.index_of(1).siblingAtColumn(COLUMNS.index(c)), Qt.ItemDataRole.ToolTipRole
            ).split()
        )
        for c in (LEFT, LEFT_WORST, WORST)
    }
    assert tips[LEFT] == tips[LEFT_WORST]
    assert tips[LEFT].startswith(left)
    assert tips[WORST].startswith("Tight at worst: ")
    assert TAKING in tips[WORST]
    assert "Least at worst: rear zone, to post; most is taken by" in tips[LEFT]
    assert worst_lines(row_of("worst case", 40.0)) == [
        "Every gap keeps its margin in the worst case too"
    ]
    assert "not looked at" in worst_lines(row_of("nominal"))[0]


def test_a_gap_tight_as_drawn_is_told_wherever_gaps_tight_at_worst_are() -> None:
    # 1.5 mm before the post, where 2 mm are asked for.
    row = row_of("worst case", 26.5)
    assert cell_text(row, WORST, Unit.MM) == "1 tight"
    (line,) = worst_lines(row)
    assert line.startswith("Tight as drawn already: ")
    assert f"at worst most is taken by {TAKING}" in line
    assert "Tight as drawn already: " in row_tip(row, Unit.MM)
    lines = {line.what: line.texts for line in comparison([row], Unit.MM)}
    assert lines["What is tight at worst"][0].startswith("tight as drawn already: ")
    (of_csv,) = csv.DictReader(io.StringIO(rows_csv([row])))
    assert (of_csv["tight_at_worst"], of_csv["short_before"]) == ("1", "0")
    assert of_csv["tight_at_worst_what"].startswith("tight as drawn already: ")


def test_what_fell_short_before_the_search_is_not_counted_and_said_so(tight: RowSummary) -> None:
    short = replace(tight, short_before=2)
    assert worst_lines(short)[1:] == ["Not counted: 2 gaps that fell short before the search"]
    clear = replace(row_of("worst case", 40.0), short_before=1)
    assert worst_lines(clear) == [
        "Every gap keeps its margin in the worst case too, but for 1 gap that fell short before "
        "the search"
    ]
    lines = {line.what: line.texts for line in comparison([short, clear], Unit.MM)}
    first, second = lines["What is tight at worst"]
    assert first.endswith("\nnot counted: 2 gaps that fell short before the search")
    assert second == "not counted: 1 gap that fell short before the search"
    of_csv = csv.DictReader(io.StringIO(rows_csv([short, clear])))
    assert [line["short_before"] for line in of_csv] == ["2", "1"]
    unjudged = replace(row_of("nominal"), short_before=1)
    assert "not counted" not in " ".join(worst_lines(unjudged))
    assert "Not counted: what fell short before the search" in head_tip(WORST, Unit.MM, ())


def test_two_rows_are_compared_at_worst_with_what_takes_it(tight: RowSummary) -> None:
    clear = replace(row_of("worst case", 40.0), number=2)
    lines = {line.what: line for line in comparison([tight, clear], Unit.MM)}
    assert lines["Left in place, as drawn (mm)"].texts == ("2.3", "15.0")
    worst = lines["Left in place, at worst (mm)"]
    assert worst.texts == ("1.9", "14.5")
    assert worst.difference.endswith(", better")
    assert lines["Left in place, statistically (mm)"].texts == ("2.0", "14.6")
    assert TAKING in lines["At worst, most is taken"].texts[0]
    what = lines["What is tight at worst"]
    assert TAKING in what.texts[0]
    assert what.texts[1] == "–"
    assert lines["Gaps at worst"].texts == ("1 tight", "clear")


def test_rows_are_sorted_by_what_is_left_at_worst(tight: RowSummary) -> None:
    clear = replace(row_of("worst case", 40.0), number=2)
    groups = arranged([tight, clear], RowFilter(), Sorting(LEFT_WORST))
    assert [row.number for group in groups for row in group.rows] == [2, 1]
    groups = arranged([tight, clear], RowFilter(), Sorting(WORST))
    assert [row.number for group in groups for row in group.rows] == [1, 2]


@pytest.mark.parametrize(
    ("field", "least_mm", "most_mm"),
    [(LEFT, 2.2, 2.4), (LEFT_WORST, 1.8, 2.0), (LEFT_LIKELY, 2, 2.1)],
)
def test_rows_are_filtered_by_what_is_left_in_place(
    tight: RowSummary, qapp: object, field: str, least_mm: float, most_mm: float
) -> None:
    # 2.3 mm as drawn, 1.9 at worst, 2.3 - sqrt(0.08) = 2.02 statistically; before the post at
    # 40 mm 15.0, 14.5 and 14.6.
    rows = [tight, replace(row_of("worst case", 40.0), number=2)]
    bar = FilterBar(Skin(Preferences()))
    least, most = bar.limits[field]

    def listed() -> list[int]:
        return [row.number for group in arranged(rows, bar.wanted, Sorting()) for row in group.rows]

    assert listed() == [1, 2]
    least.setText(str(most_mm))
    assert listed() == [2]
    least.setText(str(least_mm))
    most.setText(str(most_mm))
    assert listed() == [1]
    bar.reset()
    assert listed() == [1, 2]


def test_open_depth_passes_every_least_and_no_most(tight: RowSummary) -> None:
    free = replace(tight, in_place=LeftInPlace())
    assert RowFilter(limits={LEFT_WORST: (1e6, None)}).passes(free)
    assert not RowFilter(limits={LEFT_WORST: (None, 1e6)}).passes(free)


def test_what_is_exported_has_it_too(tight: RowSummary) -> None:
    (line,) = csv.DictReader(io.StringIO(rows_csv([tight])))
    figures = ("left_in_place_mm", "left_in_place_worst_mm", "left_in_place_statistical_mm")
    assert [round(float(line[key]), 2) for key in figures] == [2.3, 1.9, 2.02]
    assert line["left_in_place_worst_at"] == "rear zone, to post"
    assert TAKING in line["left_in_place_taken_by"]
    assert line["tight_at_worst"] == "1"
    assert TAKING in line["tight_at_worst_what"]
    heads, told = (text.split("\t") for text in rows_text([tight], Unit.MM).split("\n"))
    assert told[heads.index("At worst mm")] == "1.9"
    assert told[heads.index("Gaps at worst")] == "1 tight"
    assert "2.3 mm as drawn, 1.9 mm in the worst case" in told[heads.index("Left at worst")]
    assert TAKING in told[heads.index("What is tight at worst")]


def test_rows_are_compared_in_inches_and_what_keeps_to_mm_says_so(tight: RowSummary) -> None:
    zone = tight.zones[0]
    facts = {**zone.facts, "exchanger": "Exchanger 1 x 120, 30 mm", "free to slide": "12.7 mm up"}
    name = "Exchanger 1 x 120, 30 mm"
    named = {**tight.layout.parts, "x": make.exchanger(1, 30.0).but(id="x", name=name)}
    row = replace(
        tight,
        layout=tight.layout.but(parts=named),
        zones=(replace(zone, facts=facts), *tight.zones[1:]),
    )
    lines = {line.what: line.texts[0] for line in comparison([row], Unit.INCH)}
    assert lines[f"{zone.name}: free to slide"] == "0.500 in up"
    assert lines[f"{zone.name}: exchanger"] == name
    assert "At worst, most is taken (dimensions of parts in mm)" in lines
    told = lines["What is tight at worst (dimensions of parts in mm)"]
    assert "0.079 in margin" in told
    assert " mm" not in told.replace(TAKING, "")


def test_what_is_left_beside_the_way_is_told_so_at_the_number(tight: RowSummary) -> None:
    model = RowModel(Skin(Preferences()))
    left = replace(tight.in_place, worst_mm=1.7, beside_mm=0.4, bringing=("a pin, place 3 ± 0.5",))
    row = replace(tight, in_place=left, tight=())
    model.show_rows([row], ())
    index = model.index_of(row.number).siblingAtColumn(COLUMNS.index(LEFT_WORST))
    assert index.data() == "1.7 beside"
    tip = index.data(Qt.ItemDataRole.ToolTipRole).replace("\n", " ")
    assert "to post, 0.4 mm beside the way as drawn" in tip
    assert tip.count("±") == 2, "the tip lies over the board: Compare has all dimensions"
    assert "Every gap keeps its margin in the worst case too" in tip
    assert "only tolerances bring it in" in head_tip(LEFT_WORST, Unit.MM, ())
    lines = {line.what: line.texts[0] for line in comparison([row], Unit.MM)}
    told = lines["At worst, most is taken"].split("\n")
    assert told[0] == "rear zone, to post, 0.4 mm beside the way as drawn:"
    assert cell_text(tight, LEFT_WORST, Unit.MM) == "1.9", "the post stands in the way"
