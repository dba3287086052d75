"""Near misses in the panel: why each is refused, and the changes that let it in."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.ui.search.near_misses import ROLE
from app.ui.search.worker import Told
from geometry.edits import set_margin
from geometry.search.near.summary import LetIn, NearFound, NearSummary
from geometry.search.near.words import NO_CHANGE

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow


def test_a_change_that_lets_a_near_miss_in_is_previewed_and_applied(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    before = window.session.document.layout
    layout = before.but(settings=before.settings.but(margin_mm=1.5))
    change = LetIn("ask for a margin of 1.5 mm", cuts=False, layout=layout.but(name="Other"))
    cut = LetIn("trim the peg by 3 mm", cuts=True, layout=layout)
    miss = NearSummary(
        "row 1 with a thick core", "front-zone", "+432 cm3 core volume", {"volume": 432.0},
        ("Core is 0.5 mm too deep",), 0.5, (change, cut), before,
    )  # fmt: skip
    near = NearFound((miss,), cutting=True, done=True)
    panel.job.told.emit(Told("done", near=near, ended=True))
    panel.job.finished.emit()
    view = panel.results.near
    assert panel.results.tabs.tabText(4) == "Near misses (1)"
    top = view.tree.topLevelItem(0)
    texts = [top.child(k).text(0) for k in range(top.childCount())]
    refused = "Refused: Core is 0.5 mm too deep"
    assert texts == [refused, change.name, f"CUTS THE ENCLOSURE: {cut.name}"]
    assert not view.caution.isHidden()
    view.tree.itemEntered.emit(top.child(1), 0)
    qtbot.waitUntil(lambda: panel.preview.shown is change, timeout=3_000)
    assert window.session.layout.settings.margin_mm == 1.5
    assert window.session.document.layout is before
    view.tree.setCurrentItem(top.child(1))
    QTest.keyClick(view.tree, Qt.Key.Key_Return)
    now = window.session.document.layout
    assert (now.settings.margin_mm, now.name) == (1.5, before.name)
    name = "Apply row 1 with a thick core, and ask for a margin of 1.5 mm"
    assert window.session.document.undo_name == name
    assert f"{name}: done" in window.notice.text
    panel.apply_change(miss, cut)
    assert window.session.document.undo_name == name, "the ground is another one now"
    assert "search again" in panel.changed.text.text()
    window.session.undo()
    assert window.session.document.layout is before


def test_the_button_applies_the_change_that_is_chosen_among_the_near_misses(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = searched
    results, layout = panel.results, window.session.document.layout
    margin = layout.but(settings=layout.settings.but(margin_mm=1.5))
    cut = LetIn("Trim the peg by 3 mm", cuts=True, layout=margin)
    miss = NearSummary(
        "row 1 with a core", "front-zone", "+1 fan", {"fans": 1.0}, ("Short",), 0.5, (cut,), layout
    )  # fmt: skip
    results.show_near(NearFound((miss,), cutting=True, done=True), running=False)
    tree = results.near.tree
    top = tree.topLevelItem(0)
    results.tabs.setCurrentWidget(results.near)
    for k, enabled in ((0, False), (1, True)):
        tree.setCurrentItem(top.child(k))
        assert results.apply.isEnabled() is enabled
    results.tabs.setCurrentIndex(0)
    assert not results.apply.isEnabled(), "no row is selected"
    results.tabs.setCurrentWidget(results.near)
    results.apply.click()
    name = "Cut enclosure: apply row 1 with a core, and trim the peg by 3 mm"
    assert window.session.document.undo_name == name
    assert window.session.document.layout.settings.margin_mm == 1.5


def test_why_a_near_miss_is_refused_is_told_in_as_many_lines_as_it_needs(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = searched
    layout, results = window.session.document.layout, panel.results
    reasons = ("Short",), ("Port end of the exchanger is stopped by cable peg " * 9,)
    found = tuple(
        NearSummary("a core", "front-zone", "+1 fan", {"fans": 1.0}, why, 0.5, (), layout)
        for why in reasons
    )
    results.show_near(NearFound(found, cutting=False, done=True), running=False)
    tree = results.near.tree
    results.tabs.setCurrentWidget(results.near)
    QApplication.processEvents()
    short, long = (tree.visualItemRect(tree.topLevelItem(k).child(0)) for k in (0, 1))
    text = tree.topLevelItem(1).child(0).text(0)
    needed = QFontMetrics(tree.font()).horizontalAdvance(text) / tree.viewport().width()
    assert needed > 1
    assert long.height() >= short.height() + int(needed) * tree.fontMetrics().height()


def test_why_a_near_miss_is_refused_is_in_sight_below_a_long_name(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = searched
    window.resize(1024, 640)
    miss = NearSummary(
        "row 1 with 3 x Fan 120 x 25 + Exchanger 3 x 120, 60 mm + 3 x Fan 120 x 25 on side wall",
        "front-zone", "+144 cm2 face area", {"area": 144.0}, ("Fan is in the way",), 3.0, (),
        window.session.document.layout,
    )  # fmt: skip
    panel.results.show_near(NearFound((miss,), cutting=False, done=True), running=False)
    panel.results.tabs.setCurrentWidget(panel.results.near)
    tree = panel.results.near.tree
    item = tree.topLevelItem(0)
    assert tree.visualItemRect(item).isValid()
    gain_at, short_at = map(tree.header().sectionViewportPosition, (1, 2))
    assert gain_at + 40 < short_at < tree.viewport().width() - 40
    why = item.child(0)
    none = f"{NO_CHANGE[:1].lower()}{NO_CHANGE[1:]}"
    assert why.text(0) == f"Refused, and {none}: Fan is in the way"
    assert why.isFirstColumnSpanned()
    assert tree.visualItemRect(why).width() > 0.9 * tree.viewport().width() - 60
    assert item.text(1) == "+144 cm² face area"
    assert miss.what in item.toolTip(0)


def test_a_near_miss_that_differs_in_anything_is_shown_anew_and_the_same_one_is_left(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = searched
    layout = window.session.document.layout
    other = set_margin(layout, 1.25)
    change = LetIn("slide it", cuts=False, layout=layout)
    miss = NearSummary(
        "a thick core", "front-zone", "+1 fan", {"fans": 1.0}, ("Short",), 0.5, (change,), layout
    )
    view = panel.results.near

    def show(one: NearSummary) -> None:
        view.show_near(NearFound((one,), cutting=False, done=True), running=False)

    def same_is_left() -> bool:
        show(miss)
        item = view.tree.topLevelItem(0)
        show(replace(miss, relaxations=(replace(change),)))
        return view.tree.topLevelItem(0) is item

    assert same_is_left(), "what the pointer is on stays"
    for field, value in (
        ("what", "a thicker core"),
        ("zone", "roof-zone"),
        ("gain", "+2 fans"),
        ("gains", {"fans": 2.0}),
        ("refused_for", ("Shorter",)),
        ("short_mm", 1.5),
        ("layout", other),
        ("takes_out", ("Pump",)),
    ):
        show(miss)
        show(replace(miss, **{field: value}))
        shown = view.tree.topLevelItem(0).data(0, ROLE)
        assert getattr(shown, field) == value, field
    for field, value in (("name", "turn it"), ("cuts", True), ("layout", other),
                         ("takes_out", ("Pump",))):  # fmt: skip
        show(miss)
        show(replace(miss, relaxations=(replace(change, **{field: value}),)))
        shown = view.tree.topLevelItem(0).child(1).data(0, ROLE)
        assert getattr(shown, field) == value, field


def test_that_there_is_no_near_miss_is_said_plainly(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    near = panel.results.near
    panel.results.show_near(NearFound((), cutting=False, done=True), running=False)
    assert near.hint.text() == (
        "There is no near miss (no cutting). Looked for was what would be more of what counts "
        "than every row, and is kept out by 3 things at most. What stands in each other's way is "
        "told under What excludes what."
    )
    assert near.tree.isHidden()
    assert panel.results.tabs.tabText(4) == "Near misses (none)"
    panel.results.show_near(NearFound((), cutting=False, done=False), running=True)
    assert panel.results.tabs.tabText(4) == "Near misses"
