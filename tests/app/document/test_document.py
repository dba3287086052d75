"""The document: edits with names, undo and redo, tentative checks, its file."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from edit_rooms import FAN_25, PARTS, SLIM_2, empty_layout

from app.document.document import Document, FileChangedError, FileTroubleError
from geometry.checks.runner import check_layout
from geometry.edits import (
    EditError,
    add_free,
    fill_fans,
    insert_item,
    next_thickness,
    nudge,
    set_locked,
    set_name,
)
from geometry.layout import Layout
from geometry.layout_file import layout_text, read_layout, write_layout


def cooled() -> Layout:
    return insert_item(empty_layout(), "floor-zone", "inner", 0, SLIM_2, "f1")[0]


def push(layout: Layout) -> Layout:
    return fill_fans(layout, "S1", "inner", "push", FAN_25)


def thicker(layout: Layout) -> Layout:
    return next_thickness(layout, "E1", PARTS)


def test_a_new_document_has_nothing_to_undo_and_is_not_dirty() -> None:
    document = Document.new(cooled())
    state = (document.dirty, document.can_undo, document.can_redo, document.path, document.name)
    assert state == (False, False, False, None, "Edit room")
    assert (document.undo_name, document.redo_name) == (None, None)
    assert document.undo() is None
    assert document.redo() is None


def test_edits_are_undone_and_redone_by_name() -> None:
    start = cooled()
    document = Document.new(start)
    assert document.apply("Push", push)
    assert document.apply("Next thickness", thicker)
    end = document.layout
    assert document.history_names == ("Push", "Next thickness")
    assert (document.undo_name, document.dirty) == ("Next thickness", True)
    assert document.undo() == "Next thickness"
    assert (document.undo_name, document.redo_name) == ("Push", "Next thickness")
    assert document.undo() == "Push"
    assert document.layout is start
    assert (document.dirty, document.can_undo, document.can_redo) == (False, False, True)
    assert (document.redo(), document.redo()) == ("Push", "Next thickness")
    assert document.layout is end


def test_a_new_edit_drops_what_was_undone() -> None:
    document = Document.new(cooled())
    document.apply("Push", push)
    document.undo()
    document.apply("Next thickness", thicker)
    assert (document.can_redo, document.history_names) == (False, ("Next thickness",))


def test_an_edit_that_changes_nothing_is_no_step() -> None:
    document = Document.new(push(cooled()))
    calls: list[int] = []
    document.subscribe(lambda: calls.append(1))
    assert not document.apply("Push", push)
    assert (document.can_undo, calls) == (False, [])


def test_an_edit_that_is_refused_leaves_the_document_as_it_was() -> None:
    layout = set_locked(cooled(), "E1", True)
    document = Document.new(layout)
    document.apply("Push side name", lambda one: set_name(one, "A"))
    document.undo()
    with pytest.raises(EditError, match="is locked"):
        document.apply("Next thickness", thicker)
    assert (document.layout, document.redo_name) == (layout, "Push side name")


def test_a_run_of_nudges_is_one_step_until_something_else_happens() -> None:
    layout, _ = add_free(cooled(), FAN_25, (250, 100, 250))
    document = Document.new(layout)

    def step(_: int = 0) -> None:
        document.apply("Nudge", lambda one: nudge(one, "F1", (1, 0, 0)), merge_key="nudge F1")

    for k in range(3):
        step(k)
    document.undo()
    document.redo()
    step()
    document.apply("Push", push)
    step()
    assert document.history_names == ("Nudge", "Nudge", "Push", "Nudge")
    document.undo()
    document.undo()
    assert document.layout.free[0].at_mm == (254, 100, 250)
    document.undo()
    assert document.layout.free[0].at_mm == (253, 100, 250)
    document.undo()
    assert document.layout == layout


def test_undo_parts_the_nudges_before_it_from_those_after_it() -> None:
    layout, _ = add_free(cooled(), FAN_25, (250, 100, 250))
    document = Document.new(layout)

    def step() -> None:
        document.apply("Nudge", lambda one: nudge(one, "F1", (1, 0, 0)), merge_key="nudge F1")

    step()
    document.apply("Push", push)
    document.undo()
    step()
    assert document.history_names == ("Nudge", "Nudge")
    document.undo()
    assert document.layout.free[0].at_mm == (251, 100, 250)


class PlantedError(Exception):
    """A fault of the program in who listens."""


def test_a_change_that_a_listener_cannot_take_is_not_made() -> None:
    document = Document.new(cooled())
    document.apply("Push side name", lambda one: set_name(one, "A"))
    document.undo()
    told: list[Layout] = []

    def listen() -> None:
        told.append(document.layout)
        raise PlantedError

    before = (document.layout, document.history_names, document.redo_names, document.dirty)
    document.subscribe(listen)
    for change in (lambda: document.apply("Push", push), document.redo):
        with pytest.raises(PlantedError):
            change()
        assert told[-1] is not document.layout
        after = (document.layout, document.history_names, document.redo_names, document.dirty)
        assert after == before
    assert len(told) == 2


def test_nudges_there_and_back_leave_no_step() -> None:
    layout, _ = add_free(cooled(), FAN_25, (250, 100, 250))
    document = Document.new(layout)
    for by in (1, -1):
        document.apply("Nudge", lambda one, by=by: nudge(one, "F1", (by, 0, 0)), merge_key="n")
    assert (document.can_undo, document.dirty, document.layout) == (False, False, layout)


def test_the_report_is_that_of_the_present_layout() -> None:
    document = Document.new(cooled())
    for act in (
        lambda: document.apply("Push", push),
        lambda: document.apply("Next thickness", thicker),
        document.undo,
        document.redo,
    ):
        act()
        afresh = check_layout(document.layout)
        assert document.checked.report == afresh.report
        assert document.checked.scene.layout is document.layout
    assert document.checked is document.checked


def test_listeners_hear_of_every_change_until_they_leave(tmp_path: Path) -> None:
    document = Document.new(cooled())
    heard: list[str] = []
    leave = document.subscribe(lambda: heard.append(document.undo_name or "start"))
    document.apply("Push", push)
    document.undo()
    document.redo()
    document.save_as(tmp_path / "a.json")
    document.save()
    assert heard == ["Push", "start", "Push", "Push", "Push"]
    leave()
    leave()
    document.undo()
    assert len(heard) == 5


def test_saving_and_opening_again(tmp_path: Path) -> None:
    path = tmp_path / "post 3.json"
    document = Document.new(cooled())
    with pytest.raises(FileTroubleError, match="has no file yet"):
        document.save()
    document.save_as(path)
    assert (document.path, document.name, document.dirty) == (path, "post 3", False)
    document.apply("Push", push)
    assert document.dirty
    document.save()
    assert not document.dirty
    document.undo()
    assert document.dirty
    document.redo()
    assert not document.dirty
    opened = Document.open(path)
    assert (opened.layout, opened.path, opened.dirty, opened.can_undo) == (
        document.layout,
        path,
        False,
        False,
    )


def test_a_change_while_the_file_is_read_is_one_made_since(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "box.json"
    write_layout(path, cooled())

    def read_as_somebody_writes(wanted: Path) -> Layout:
        found = read_layout(wanted)
        write_layout(wanted, set_name(cooled(), "Of somebody else"))
        return found

    monkeypatch.setattr("geometry.layout_file.read_layout", read_as_somebody_writes)
    document = Document.open(path)
    with pytest.raises(FileChangedError):
        document.save()


def test_a_file_changed_by_somebody_else_is_not_overwritten_unasked(tmp_path: Path) -> None:
    path = tmp_path / "room.json"
    write_layout(path, cooled())
    document = Document.open(path)
    document.apply("Push", push)
    theirs = set_name(cooled(), "Changed by somebody else")
    write_layout(path, theirs)
    with pytest.raises(FileChangedError, match="was changed by another program since"):
        document.save()
    assert (read_layout(path), document.dirty) == (theirs, True)
    document.save(overwrite=True)
    assert read_layout(path) == document.layout
    document.undo()
    document.save()
    assert read_layout(path) == cooled()


def test_a_file_that_was_deleted_is_written_again(tmp_path: Path) -> None:
    path = tmp_path / "room.json"
    write_layout(path, cooled())
    document = Document.open(path)
    path.unlink()
    document.save()
    assert read_layout(path) == cooled()


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (None, "is not there"),
        (b"{", "is not JSON"),
        (b"[]", "expected an object"),
        (layout_text(cooled()).replace('"f1"', '"q"', 1).encode(), "is no cell of zone"),
    ],
)
def test_a_file_that_cannot_be_opened_is_named_with_the_reason(tmp_path, content, message) -> None:
    path = tmp_path / "room.json"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(FileTroubleError) as trouble:
        Document.open(path)
    assert str(path) in str(trouble.value)
    assert message in str(trouble.value)


def test_saving_into_a_folder_that_is_not_there_or_onto_a_folder(tmp_path: Path) -> None:
    document = Document.new(cooled())
    for path in (tmp_path / "none" / "a.json", tmp_path):
        with pytest.raises(FileTroubleError, match=r"folder"):
            document.save_as(path)
        assert document.path is None


FILE_CALLS = ("open", "write", "fsync", "close", "replace", "chmod", "stat", "lstat", "access")


class _Faults:
    """Lets the file calls of the system fail: the Nth only, or from the Nth on."""

    def __init__(self, patch: pytest.MonkeyPatch, at: int, lasting: bool) -> None:
        self.count = 0
        self.struck = False
        self._at = at
        self._lasting = lasting
        for name in FILE_CALLS:
            patch.setattr(os, name, self._failing(getattr(os, name)))

    def _failing(self, real):
        def call(*args, **options):
            self.count += 1
            if self.count == self._at or (self._lasting and self.count > self._at):
                self.struck = True
                if real.__name__ == "close":
                    real(*args, **options)
                raise OSError(28, "No space left on device")
            return real(*args, **options)

        return call


def _fault_numbers() -> Iterator[tuple[int, bool]]:
    for lasting in (False, True):
        for number in range(1, 40):
            yield number, lasting


def test_whatever_file_call_fails_the_old_or_the_new_layout_is_in_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    struck = 0
    for number, lasting in _fault_numbers():
        path = tmp_path / f"{number}-{lasting}.json"
        document = Document.new(cooled())
        document.save_as(path)
        document.apply("Push", push)
        with monkeypatch.context() as patch:
            faults = _Faults(patch, number, lasting)
            try:
                document.save()
                said = ""
            except FileTroubleError as trouble:
                said = str(trouble)
        struck += faults.struck
        found = read_layout(path)
        assert document.layout == push(cooled())
        if not said:
            assert found == document.layout
            assert not document.dirty
        else:
            assert str(path) in said
            assert found in (cooled(), document.layout)
            assert document.dirty
            document.save()
            assert (read_layout(path), document.dirty) == (document.layout, False)
        assert [one for one in tmp_path.iterdir() if not one.name.endswith(".json")] == []
    assert struck > 10
