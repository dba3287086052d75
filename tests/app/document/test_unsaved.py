"""What was not saved when the program was ended: kept whole, found again, and let go of."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from app.demo import demo_layout
from app.document import unsaved as kept
from app.document.document import Document
from app.document.unsaved import keep_unsaved, last_unsaved, let_go, unsaved_folder
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
    kept_in = keep_unsaved(document)
    found = last_unsaved()
    assert found is not None
    assert (found.kept_in, found.path, found.name) == (kept_in, None, "Another name")
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


def test_the_last_one_is_found_and_what_is_no_such_file_is_passed_over(
    layout: Layout, monkeypatch: pytest.MonkeyPatch
) -> None:
    document = Document.new(layout)
    monkeypatch.setattr(os, "getpid", lambda: 1)
    first = keep_unsaved(document)
    os.utime(first, ns=(1, 1))
    document.apply("Rename", renamed)
    monkeypatch.setattr(os, "getpid", lambda: 2)
    second = keep_unsaved(document)
    assert first != second
    for name, text in (("a", ""), ("b", "[]"), ("c", '{"format": "gapwright-unsaved"}')):
        (unsaved_folder() / f"{name}.json").write_text(text)
    found = last_unsaved()
    assert found is not None
    assert found.layout.name == "Another name"
    let_go(found)
    found = last_unsaved()
    assert found is not None
    assert found.kept_in == first


def test_a_folder_that_cannot_be_made_is_told(layout: Layout) -> None:
    folder = unsaved_folder()
    folder.parent.mkdir(parents=True)
    folder.write_text("in the way")
    with pytest.raises(DataError, match="cannot be made"):
        keep_unsaved(Document.new(layout))
    assert last_unsaved() is None
