"""What excludes what, in the panel: a matrix with what meets there, and how much is looked at."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics
from search_hand import answer_of

from app.ui.search.excludes import SHORT, cell_words, exclusion_words
from app.ui.units import Unit
from app.ui.widgets import NO_BREAK, TIP_LETTERS
from geometry.search.excludes import ONE_PUMP

if TYPE_CHECKING:
    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow


def test_what_excludes_what_is_a_matrix_with_the_solids_and_the_mm(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    exclusions = answer_of(panel).exclusions
    assert exclusions, "thick stacks on both zones do not go together in this room"
    matrix = panel.results.matrix
    texts = {
        matrix.table.item(a, b).text()
        for a in range(matrix.table.rowCount())
        for b in range(matrix.table.columnCount())
        if matrix.table.item(a, b) is not None
    }
    one = exclusions[0]
    assert any(f"{one.short_mm:.1f} mm short" in text for text in texts)
    for a in range(matrix.table.rowCount()):
        for b in range(matrix.table.columnCount()):
            item = matrix.table.item(a, b)
            if item is not None and " short" in item.text():
                matrix.table.setCurrentCell(a, b)
                assert "is in the way of" in matrix.sentence.text()
                return
    raise AssertionError("no cell tells an exclusion")


def test_the_tip_of_a_cell_is_told_in_lines(searched: tuple[MainWindow, SearchPanel]) -> None:
    _, panel = searched
    matrix = panel.results.matrix
    (row, column), one = next(iter(matrix._told.items()))
    tip = matrix.table.item(row, column).toolTip()
    assert max(map(len, tip.split("\n"))) <= TIP_LETTERS
    names = {zone.zone: zone.name for zone in answer_of(panel).zones}
    assert tip.replace("\n", " ").replace(NO_BREAK, " ") == exclusion_words(one, names, Unit.MM)
    assert f"{one.short_mm:.1f}{NO_BREAK}mm missing" in tip.replace("\n", " ")


def test_the_heads_of_the_matrix_have_room_for_their_words_in_bold(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    table = panel.results.matrix.table
    font = table.horizontalHeader().font()
    font.setBold(True)
    metrics = QFontMetrics(font)
    texts = [table.horizontalHeaderItem(k).text() for k in range(table.columnCount())]
    assert texts
    for k, text in enumerate(texts):
        longest = max(metrics.horizontalAdvance(line) for line in text.split("\n"))
        assert table.columnWidth(k) >= longest + 24, "the head of the chosen cell is bold"


def test_a_cell_of_the_matrix_has_room_for_what_is_missing(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    matrix = panel.results.matrix
    one = replace(answer_of(panel).exclusions[0], short_mm=0.001, judged="worst case")
    matrix.show_exclusions((one,), 1.0, {zone.zone: zone.name for zone in answer_of(panel).zones})
    table = matrix.table
    text = "under 0.1 mm short, worst case"
    item = table.findItems(text, Qt.MatchFlag.MatchContains)[0]
    font = table.font()
    font.setBold(True)
    assert table.columnWidth(item.column()) >= QFontMetrics(font).horizontalAdvance(text) + 24


def test_a_matrix_that_was_cut_short_says_so(searched: tuple[MainWindow, SearchPanel]) -> None:
    _, panel = searched
    matrix, answer = panel.results.matrix, answer_of(panel)
    assert answer is not None
    names = {zone.zone: zone.name for zone in answer.zones}
    matrix.show_exclusions((), 0.5, names)
    assert matrix.sentence.text() == "Cut short: 50% looked at, nothing found so far."
    matrix.show_exclusions(answer.exclusions, 0.5, names)
    assert "Cut short: 50% looked at" in matrix.sentence.text()
    # What is not all of it is not rounded up to all of it.
    matrix.show_exclusions((), 0.998, names)
    assert matrix.sentence.text() == "Cut short: 99% looked at, nothing found so far."
    matrix.show_exclusions((), 1.0, names)
    assert "No two zones exclude each other" in matrix.sentence.text()


def test_the_matrix_tells_of_dashes_and_of_empty_cells_where_there_are_some(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    matrix, answer = panel.results.matrix, answer_of(panel)
    assert answer is not None
    names = {zone.zone: zone.name for zone in answer.zones}
    one = answer.exclusions[0]
    matrix.show_exclusions((one,), 1.0, names)
    told = f"Choose a cell to read which solids meet. {SHORT}"
    assert matrix.sentence.text() == told, "the one cell tells something"
    other = replace(one, patterns=("another", "yet another"))
    matrix.show_exclusions((one, other), 1.0, names)
    assert matrix.sentence.text() == f"{told} Empty: they go together in all ways."
    third = replace(one, zones=(one.zones[1], "third"), patterns=("a", "b"))
    matrix.show_exclusions((one, third), 1.0, {**names, "third": "third zone"})
    dashed = f"{told} –: both stand on the same zone."
    assert matrix.sentence.text().startswith(dashed), "the second zone is in rows and in columns"


def test_with_two_zones_one_is_in_rows_and_the_other_in_columns(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    table, answer = panel.results.matrix.table, answer_of(panel)
    assert answer is not None
    first, second = (f"{zone.name}:" for zone in answer.zones)
    rows, columns = range(table.rowCount()), range(table.columnCount())
    assert {table.verticalHeaderItem(k).text().split("\n")[0] for k in rows} == {first}
    assert {table.horizontalHeaderItem(k).text().split("\n")[0] for k in columns} == {second}
    texts = [table.item(a, b).text() for a in rows for b in columns if table.item(a, b)]
    assert len(texts) == len(answer.exclusions), "each is told in one cell"
    assert "–" not in texts


def test_a_second_pump_is_told_by_its_rule(searched: tuple[MainWindow, SearchPanel]) -> None:
    _, panel = searched
    one = replace(answer_of(panel).exclusions[0], excluded=4, pairs=4, judged="rule")
    first, second = ONE_PUMP
    pumps = replace(one, first=first, second=second)
    assert cell_words(pumps, Unit.MM) == "one pump at most"
    assert cell_words(one, Unit.MM) == "never:\nby rule"


def test_what_excludes_but_a_second_pump_is_folded_into_a_line_and_what_holds_one_is_last(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    matrix, answer = panel.results.matrix, answer_of(panel)
    names = {zone.zone: zone.name for zone in answer.zones}
    one = replace(answer.exclusions[0], patterns=("core", "core"), judged="as drawn")
    first, second = ONE_PUMP
    rule = replace(one, excluded=4, pairs=4, judged="rule", first=first, second=second)
    pumps = ("pump alone", "core + pump")
    by_rule = [replace(rule, patterns=(a, b)) for a in pumps for b in pumps]
    by_core = [
        replace(one, patterns=ab) for ab in (("core + pump", "core"), ("core", "core + pump"))
    ]
    matrix.show_exclusions((*by_rule, *by_core, one), 1.0, names)
    table = matrix.table
    heads = [
        [head(k).text().split("\n")[1] for k in range(count)]
        for head, count in (
            (table.verticalHeaderItem, table.rowCount()),
            (table.horizontalHeaderItem, table.columnCount()),
        )
    ]
    assert heads == [["core", "core + pump"]] * 2
    assert table.item(1, 1).text() == "one pump at most"
    assert not table.item(1, 1).font().bold(), "what holds by rule does not stand out"
    mine, theirs = (names[zone] for zone in one.zones)
    assert matrix.sentence.text().startswith(
        "Left out, for they exclude only each other (one pump at most): "
        f"{mine}: pump alone; {theirs}: pump alone."
    )
    matrix.show_exclusions(by_rule[:1], 1.0, names)
    assert table.isHidden()
    assert matrix.sentence.text().endswith(f"{mine}: pump alone; {theirs}: pump alone.")


def test_what_is_short_at_worst_alone_says_so_in_words(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    answer = answer_of(panel)
    one = replace(answer.exclusions[0], excluded=1, pairs=53, short_mm=0.3, judged="worst case")
    assert cell_words(one, Unit.MM) == "not in 1.9 % of ways\n0.3 mm short, worst case"
    names = {zone.zone: zone.name for zone in answer.zones}
    told = exclusion_words(one, names, Unit.MM)
    assert "0.3 mm missing to the margin once every dimension is off" in told
