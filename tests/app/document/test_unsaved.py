"""What was not saved when the program was ended: kept whole, found again, and let go of."""

from __future__ import annotations

import json
import os
import time
from pathlib import Path

import pytest
from kept_unsaved import last_unsaved

from app.demo import demo_layout
from app.document import unsaved as kept
from app.document.document import Document, FileChangedError
from app.document.unsaved import (
    all_unsaved,
    keep_unsaved,
    let_go,
    unsaved_folder,
    write_unsaved,
)
from catalog.errors import DataError
from catalog.store import Library
from geometry.layout import Layout


@pytest.fixture
def layout() -> Layout:
    return demo_layout(Library())


def renamed(layout: Layout) -> Layout:
    return layout.but(name="Another name")


def test_a_layout_without_a_file_is_kept_and_comes_back_not_saved(layout: Layout) -> None:
    document = Document.new(layout)
    document.apply("Rename", renamed)
    kept_in = keep_unsaved(document).kept_in
    found = last_unsaved()
    assert found is not None
    assert (found.kept_in, found.path, found.name) == (kept_in, None, "Another name")
    assert found.file_since == "same"
    back = found.document()
    assert back.layout == document.layout
    assert back.dirty
    assert back.path is None
    let_go(found)
    assert last_unsaved() is None
    let_go(found)


def test_one_with_a_file_comes_back_as_a_change_of_it(layout: Layout, tmp_path: Path) -> None:
    document = Document.new(layout)
    document.save_as(tmp_path / "bench.json")
    document.apply("Rename", renamed)
    keep_unsaved(document)
    found = last_unsaved()
    assert found is not None
    assert found.name == "bench"
    back = found.document()
    assert (back.layout.name, back.path, back.dirty) == (
        "Another name", tmp_path / "bench.json", True,
    )  # fmt: skip
    assert back.undo() == kept.RECOVER
    assert back.layout == layout
    assert not back.dirty
    (tmp_path / "bench.json").unlink()
    without = found.document()
    assert (without.layout.name, without.path, without.dirty) == ("Another name", None, True)


def test_none_is_written_over_by_another(layout: Layout, monkeypatch: pytest.MonkeyPatch) -> None:
    document = Document.new(layout)
    monkeypatch.setattr(time, "time_ns", lambda: 1)
    monkeypatch.setattr(os, "getpid", lambda: 1)
    keep_unsaved(document)
    document.apply("Rename", renamed)
    keep_unsaved(document)
    assert {one.layout.name for one in all_unsaved()} == {layout.name, "Another name"}


def test_the_last_one_is_found_and_what_is_no_such_file_is_passed_over(layout: Layout) -> None:
    document = Document.new(layout)
    first = keep_unsaved(document).kept_in
    os.utime(first, ns=(1, 1))
    document.apply("Rename", renamed)
    second = keep_unsaved(document).kept_in
    assert first != second
    for name, text in (
        ("a", ""),
        ("b", "[]"),
        ("c", '{"format": "gapwright-unsaved"}'),
    ):
        (unsaved_folder() / f"{name}.json").write_text(text)
    found = last_unsaved()
    assert found is not None
    assert found.layout.name == "Another name"
    let_go(found)
    found = last_unsaved()
    assert found is not None
    assert found.kept_in == first


def test_a_file_that_was_changed_since_is_known_and_not_overwritten_unasked(
    layout: Layout, tmp_path: Path
) -> None:
    path = tmp_path / "bench.json"
    document = Document.new(layout)
    document.save_as(path)
    document.apply("Rename", renamed)
    keep_unsaved(document)
    found = last_unsaved()
    assert found is not None
    assert found.file_since == "same"
    other = Document.open(path)
    other.apply("Rename", lambda one: one.but(name="Saved by somebody else"))
    other.save()
    assert found.file_since == "changed"
    back = found.document()
    with pytest.raises(FileChangedError):
        back.save()
    assert Document.open(path).layout.name == "Saved by somebody else"
    assert [one.name for one in back.earlier()] == ["Saved by somebody else"]
    back.save(overwrite=True)
    assert Document.open(path).layout.name == "Another name"
    path.unlink()
    assert found.file_since == "gone"


def test_one_whose_file_is_as_it_was_is_saved_without_a_question(
    layout: Layout, tmp_path: Path
) -> None:
    path = tmp_path / "bench.json"
    document = Document.new(layout)
    document.save_as(path)
    document.apply("Rename", renamed)
    keep_unsaved(document)
    found = last_unsaved()
    assert found is not None
    found.document().save()
    assert Document.open(path).layout.name == "Another name"


def test_one_without_a_word_on_its_file_is_taken_over_all_the_same(
    layout: Layout, tmp_path: Path
) -> None:
    document = Document.new(layout)
    document.save_as(tmp_path / "bench.json")
    document.apply("Rename", renamed)
    kept_in = keep_unsaved(document).kept_in
    told = json.loads(kept_in.read_text())
    for stamp in (None, {"age": 1}, {"size": "large", "changed_ns": 0}):
        kept_in.write_text(json.dumps(told | {"stamp": stamp}))
        found = last_unsaved()
        assert found is not None
        assert (found.stamp, found.file_since) == (None, "same")
        assert found.document().layout.name == "Another name"


def test_what_was_let_go_of_can_be_put_back(layout: Layout) -> None:
    unsaved = keep_unsaved(Document.new(layout))
    let_go(unsaved)
    write_unsaved(unsaved)
    assert last_unsaved() == unsaved


def test_what_cannot_be_taken_away_is_told(layout: Layout) -> None:
    unsaved = keep_unsaved(Document.new(layout))
    unsaved.kept_in.unlink()
    unsaved.kept_in.mkdir()
    with pytest.raises(DataError, match="cannot be deleted"):
        let_go(unsaved)


def test_a_folder_that_cannot_be_made_is_told(layout: Layout) -> None:
    folder = unsaved_folder()
    folder.parent.mkdir(parents=True)
    folder.write_text("in the way")
    with pytest.raises(DataError, match="cannot be made"):
        keep_unsaved(Document.new(layout))
    assert last_unsaved() is None
