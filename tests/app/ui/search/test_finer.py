"""Two zones may be chosen to read what excludes what by thickness and fans."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtWidgets import QAbstractButton, QApplication
from pytestqt.qtbot import QtBot

from app.ui.preferences import Preferences
from app.ui.search.excludes import ExclusionMatrix
from app.ui.search.finer_exclusions import (
    ALL_ZONES,
    EXCLUDE_NOTHING,
    EXCLUDE_PUMPS,
    HINT,
    ExclusionViews,
    often_words,
)
from app.ui.skin import Skin
from app.ui.widgets import NO_BREAK, TIP_LETTERS
from geometry.search.finer_exclusions import Choice, FinerExclusions

CORE = "exchanger 2 fans long"
FINER = FinerExclusions(
    ("front", "floor"),
    (
        (Choice("empty"), Choice(CORE, (45.0,), ("push-pull",)), Choice(CORE, (30.0,), ("pull",))),
        (Choice("1 fan alone"), Choice(CORE, (30.0,), ("no fans",))),
    ),
    (np.array([1, 4, 4]), np.array([3, 5])),
    np.array([[0, 0], [0, 20], [0, 1]]),
)


def test_two_zones_are_told_by_thickness_and_fans(qtbot: QtBot) -> None:
    skin = Skin(Preferences())
    views = ExclusionViews(ExclusionMatrix(skin))
    qtbot.addWidget(views)
    assert views.choice.isHidden()
    views.show_finer((FINER,), {"front": "front wall", "floor": "floor"})
    assert [views.choice.itemText(k) for k in range(views.choice.count())] == [
        ALL_ZONES, "front wall with floor, by thickness and fans",
    ]  # fmt: skip
    views.choice.setCurrentIndex(1)
    # What excludes nothing is left out: an empty front, and one fan alone on the floor.
    model = views.model
    assert (model.rowCount(), model.columnCount()) == (2, 1)
    heads = [
        model.headerData(k, Qt.Orientation.Vertical, Qt.ItemDataRole.DisplayRole) for k in (0, 1)
    ]
    assert heads == [f"{CORE}, 45 mm, push-pull", f"{CORE}, 30 mm, pull"]
    assert [model.data(model.index(k, 0)) for k in (0, 1)] == ["never", "not in 5.0 % of ways"]
    assert views.sentence.text() == HINT
    views.table.setCurrentIndex(model.index(0, 0))
    assert views.sentence.text() == (
        f"front wall: {CORE}, 45 mm, push-pull with floor: {CORE}, 30 mm, no fans never go "
        "together, in none of 20 ways."
    )
    # What is chosen stays chosen as long as there is such a pair of zones.
    views.show_finer((FINER, FINER), {"front": "front wall", "floor": "floor"})
    assert views.choice.currentIndex() == 1
    views.show_finer((), {})
    assert views.choice.currentIndex() == 0


def test_the_same_choices_stay_marked_when_more_is_counted(qtbot: QtBot) -> None:
    views = ExclusionViews(ExclusionMatrix(Skin(Preferences())))
    qtbot.addWidget(views)
    names = {"front": "front wall", "floor": "floor"}
    views.show_finer((FINER,), names)
    views.choice.setCurrentIndex(1)
    views.table.setCurrentIndex(views.model.index(0, 0))
    told = views.sentence.text()
    (empty, thick, slim), floor = FINER.choices
    more = FinerExclusions(
        FINER.zones,
        ((empty, Choice("1 fan alone"), thick, slim), floor),
        (np.array([1, 2, 4, 4]), FINER.sizes[1]),
        np.array([[0, 0], [0, 1], [0, 20], [0, 1]]),
    )
    views.show_finer((more,), names)
    assert [(at.row(), at.column()) for at in views.table.selectedIndexes()] == [(1, 0)]
    assert views.sentence.text() == told
    # What is marked of two zones is nothing of two others.
    views.show_finer((replace(FINER, zones=("rear", "floor")),), {"rear": "front wall", **names})
    assert not views.table.selectedIndexes()
    assert views.sentence.text() == HINT


def test_the_tip_of_a_cell_is_told_in_lines(qtbot: QtBot) -> None:
    views = ExclusionViews(ExclusionMatrix(Skin(Preferences())))
    qtbot.addWidget(views)
    views.show_finer((FINER,), {"front": "front wall", "floor": "floor"})
    views.choice.setCurrentIndex(1)
    cell = views.model.index(0, 0)
    tip = cell.data(Qt.ItemDataRole.ToolTipRole)
    assert max(map(len, tip.split("\n"))) <= TIP_LETTERS
    spoken = cell.data(Qt.ItemDataRole.AccessibleTextRole)
    assert tip.replace("\n", " ").replace(NO_BREAK, " ") == spoken


def test_the_table_says_at_both_axes_which_zone_stands_there(qtbot: QtBot) -> None:
    views = ExclusionViews(ExclusionMatrix(Skin(Preferences())))
    qtbot.addWidget(views)
    views.resize(900, 400)
    views.show()
    # Heads of rows are no wider than their words: a name longer than these has room all the same.
    short = (Choice("a"),)
    names = {"front": "wall behind the front filter", "floor": "floor"}
    one = FinerExclusions(
        ("front", "floor"), (short, short), (np.array([4]), np.array([4])), np.array([[1]])
    )
    views.show_finer((one,), names)
    views.choice.setCurrentIndex(1)
    QApplication.processEvents()
    axes, table = views.axes, views.table
    assert (axes.rows.text(), axes.columns.text()) == ("wall behind the front filter ↓", "floor →")
    assert table.accessibleDescription() == "In rows wall behind the front filter, in columns floor"
    corner = table.findChild(QAbstractButton)
    head = table.horizontalHeader().mapTo(table, QPoint(0, 0))
    assert corner.geometry().right() < head.x(), "the corner lies over no head"
    for label in (axes.rows, axes.columns):
        assert label.isVisible()
        place = QRect(label.mapTo(table, QPoint(0, 0)), label.size())
        assert corner.geometry().contains(place)
        assert label.width() >= label.fontMetrics().horizontalAdvance(label.text())
    assert axes.rows.y() >= axes.columns.y() + axes.columns.height()


def test_what_a_second_pump_excludes_is_told_as_a_rule() -> None:
    pumps = (Choice("pump alone", pump=True),)
    finer = FinerExclusions(
        ("front", "floor"), (pumps, pumps), (np.array([4]), np.array([4])), np.array([[16]])
    )
    assert often_words(finer, 0, 0) == "one pump at most"


def test_what_excludes_but_a_second_pump_is_left_out_and_what_holds_one_is_last(
    qtbot: QtBot,
) -> None:
    pump = Choice("pump alone", pump=True)
    both = Choice(f"{CORE} + pump", (30.0,), ("pull",), pump=True)
    core = Choice(CORE, (45.0,), ("push-pull",))
    # By hand: a pump alone excludes what holds a pump too, and nothing else.
    finer = FinerExclusions(
        ("front", "floor"),
        ((pump, both, core), (both, core)),
        (np.array([2, 3, 4]), np.array([3, 4])),
        np.array([[6, 0], [9, 1], [2, 16]]),
    )
    views = ExclusionViews(ExclusionMatrix(Skin(Preferences())))
    qtbot.addWidget(views)
    views.show_finer((finer,), {"front": "front wall", "floor": "floor"})
    views.choice.setCurrentIndex(1)
    model = views.model
    ways = Qt.Orientation.Vertical, Qt.Orientation.Horizontal
    heads = [
        [str(model.headerData(k, way)).replace("\n", " ") for k in range(count)]
        for way, count in zip(ways, (model.rowCount(), model.columnCount()), strict=True)
    ]
    assert heads == [[core.words, both.words]] * 2
    told = [[model.data(model.index(row, k)) for k in (0, 1)] for row in (0, 1)]
    assert told == [
        ["never", "not in 16.7 % of ways"],
        ["not in 8.3 % of ways", "one pump at most"],
    ]
    assert "nothing but a second pump" in views.sentence.text()


def test_two_zones_that_exclude_nothing_but_a_second_pump_are_told_so(qtbot: QtBot) -> None:
    pumps = (Choice("pump alone", pump=True),)
    finer = FinerExclusions(
        ("front", "floor"), (pumps, pumps), (np.array([4]), np.array([4])), np.array([[16]])
    )
    views = ExclusionViews(ExclusionMatrix(Skin(Preferences())))
    qtbot.addWidget(views)
    views.show_finer((finer,), {"front": "front wall", "floor": "floor"})
    views.choice.setCurrentIndex(1)
    assert (views.sentence.text(), views.table.isHidden()) == (EXCLUDE_PUMPS, True)


def test_two_zones_that_exclude_nothing_are_told_so(qtbot: QtBot) -> None:
    views = ExclusionViews(ExclusionMatrix(Skin(Preferences())))
    qtbot.addWidget(views)
    alone = (Choice("1 fan alone"),)
    nothing = FinerExclusions(
        ("front", "floor"), (alone, alone), (np.array([4]), np.array([4])), np.array([[0]])
    )
    views.show_finer((nothing, FINER), {"front": "front wall", "floor": "floor"})
    views.choice.setCurrentIndex(1)
    assert (views.sentence.text(), views.table.isHidden()) == (EXCLUDE_NOTHING, True)
    views.choice.setCurrentIndex(2)
    assert (views.sentence.text(), views.table.isHidden()) == (HINT, False)


def test_what_goes_together_in_some_way_never_reads_as_never() -> None:
    some = (Choice("1 fan alone"),)
    finer = FinerExclusions(
        ("front", "floor"), (some, some), (np.array([5000]), np.array([5000])),
        np.array([[24_999_999]]),
    )  # fmt: skip
    assert often_words(finer, 0, 0) == "not in 99.9 % of ways"
