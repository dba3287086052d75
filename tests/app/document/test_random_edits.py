"""Any sequence of edits undone equals the start, and redone equals the end."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from random_edits import OTHER_ROOM, filled_layout, random_edit

from app.document.document import Document
from geometry.checks.runner import check_layout
from geometry.edits import EditError, nudge, replace_enclosure
from geometry.layout import Layout


@settings(max_examples=60)
@given(st.data())
def test_undone_is_the_start_and_redone_is_the_end(data) -> None:
    start = filled_layout()
    document = Document.new(start)
    seen: list[Layout] = [start]
    names: list[str] = []
    for _ in range(data.draw(st.integers(1, 12))):
        name, edit = data.draw(random_edit(document.layout))
        try:
            changed = document.apply(name, edit)
        except EditError:
            changed = False
        if changed:
            seen.append(document.layout)
            names.append(name)
    assert document.history_names == tuple(names)
    assert document.dirty == (document.layout != start)
    for layout, name in zip(reversed(seen[:-1]), reversed(names), strict=True):
        assert document.undo() == name
        assert document.layout == layout
    assert (document.undo(), document.dirty) == (None, False)
    for layout, name in zip(seen[1:], names, strict=True):
        assert document.redo() == name
        assert document.layout == layout
    assert document.redo() is None


@settings(max_examples=15)
@given(st.data())
def test_the_report_kept_from_edit_to_edit_is_that_of_a_check_from_nothing(data) -> None:
    document = Document.new(filled_layout())
    for _ in range(data.draw(st.integers(1, 8))):
        name, edit = data.draw(random_edit(document.layout))
        try:
            document.apply(name, edit)
        except EditError:
            continue
        assert document.checked.report == check_layout(document.layout).report


def test_what_lies_beyond_the_walls_of_another_enclosure_is_checked_afresh() -> None:
    # The stack is slid through the far wall, so its parts lie outside in either enclosure.
    document = Document.new(nudge(filled_layout(), "E1", (0.0, 182.0, 0.0)))
    outside = [f.ids[0] for f in document.checked.report.findings if f.kind == "outside_cavity"]
    assert outside == ["F1", "F2", "E1"]
    document.apply("Another enclosure", lambda one: replace_enclosure(one, OTHER_ROOM))
    assert document.checked.report == check_layout(document.layout).report
