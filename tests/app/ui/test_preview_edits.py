"""Edits made while an offer is previewed build on the document, not on what the board shows."""

from __future__ import annotations

import pytest
from large_rooms import hall
from ui_hand import Hand, layer_rows

from app.ui.window import MainWindow
from geometry.edits import remove_layer, set_locked, set_slide
from geometry.layout import Layout


@pytest.fixture
def window(open_window) -> MainWindow:
    """A window on one stack of three layers in slots 10 mm long, and four free blocks."""
    opened: MainWindow = open_window(hall(10))
    return opened


def preview(window: MainWindow, layout: Layout) -> None:
    window.session.preview(layout)
    assert window.session.previewing
    assert window.session.layout is layout


def test_an_arrow_key_slides_the_stack_that_the_document_has(window, qtbot) -> None:
    document, me = window.session.document, Hand(window, qtbot)
    window.session.select("s0.E")
    said: list[str] = []
    window.board.whispered.connect(said.append)
    me.focus_board()
    # In the preview it stands elsewhere and is locked there.
    preview(window, set_locked(set_slide(document.layout, "s0", 4.0, 0.0), "s0", True))
    me.key("Right")
    assert said == []
    assert not window.session.previewing
    assert document.layout.stack("s0").slide_u_mm == 1.0


def test_a_layer_is_added_on_top_of_what_the_document_has(window) -> None:
    document = window.session.document
    window.session.take_zone("z0")
    before = document.layout.stack("s0").inner
    bare = document.layout
    for layer in before:
        bare = remove_layer(bare, layer.id)
    assert bare.stacks == ()
    preview(window, bare)
    # The panel goes on showing the stack that it edits.
    assert len(layer_rows(window)) == len(before)
    blower = document.layout.part(before[0].items[0].part)
    window.stack.add_layer(blower)
    after = document.layout.stack("s0").inner
    assert after[: len(before)] == before
    assert len(after) == len(before) + 1


def test_a_part_is_locked_by_what_the_document_has(window) -> None:
    document = window.session.document
    window.session.select("b1")
    preview(window, set_locked(document.layout, "b1", True))
    window.actions_by_name["lock"].trigger()
    assert {one.id: one for one in document.layout.free}["b1"].locked
    assert document.history_names[-1].startswith("Lock ")


def test_a_part_that_the_preview_leaves_out_is_still_the_one_at_hand(window) -> None:
    document = window.session.document
    window.session.select("b1")
    without = document.layout.but(free=tuple(f for f in document.layout.free if f.id != "b1"))
    preview(window, without)
    assert window.session.selected_part == "b1"
    window.actions_by_name["delete"].trigger()
    assert [free.id for free in document.layout.free] == [free.id for free in without.free]
    assert not window.session.previewing


def test_each_panel_says_which_layout_its_figures_are_of(window) -> None:
    session, status = window.session, window.statusBar()
    session.select("b1")
    window.tabs.setCurrentIndex(0)
    titles = (window.stack.title, window.part._title)
    usual = [title.text() for title in titles]
    slid = set_slide(session.document.layout, "s0", 40.0, 0.0)
    preview(window, slid)
    # The board and the status line are of the preview, the panels of the document.
    own = session.settled.report
    assert window.findings._counts.text() == f"{own.blocked} blocked   {own.tight} tight"
    assert status.of_preview.isVisible()
    assert window.findings.as_now.isVisible()
    assert window.findings.as_now.text() == "without the preview"
    assert [title.text() for title in titles] == [f"{one}, without the preview" for one in usual]
    session.end_preview()
    assert not status.of_preview.isVisible()
    assert not window.findings.as_now.isVisible()
    assert [title.text() for title in titles] == usual
    # A drag is no preview: panels follow it.
    session.try_layout(slid)
    assert not status.of_preview.isVisible()
    assert not window.findings.as_now.isVisible()
    session.end_trial()
