"""A file is read into the model of its newest version, or refused before or after its text."""

from __future__ import annotations

import gc
import json
import os
import statistics
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal

import pytest
from written_models import OBSTACLE, ROOM, ZONE, faults

from catalog.enclosure import Enclosure
from catalog.errors import DataError
from catalog.files import SIZE_LIMIT_BYTES, parse_json_model, read_json_model
from catalog.migrate import Document, FileFormat
from catalog.model import Model


def test_a_sound_file_becomes_the_model(tmp_path: Path) -> None:
    path = tmp_path / "room.json"
    path.write_text(json.dumps({**ROOM, "zones": [ZONE]}), encoding="utf-8")
    assert read_json_model(path, Enclosure) == Enclosure.model_validate_json(path.read_bytes())


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-32", "utf-16-le"])
def test_a_byte_order_mark_is_read(encoding: str) -> None:
    text = json.dumps({**ROOM, "name": "Größe 3"}, ensure_ascii=False)
    mark = "\ufeff" if encoding == "utf-16-le" else ""
    room = parse_json_model((mark + text).encode(encoding), "room.json", Enclosure)
    assert room.name == "Größe 3"


# Text --------------------------------------------------------------------------------------------

TOO_DEEP = "lists and objects are nested too deep (flatten it)"


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "is not JSON: the file is empty (correct it in a text editor)"),
        (
            b'{"id": "room",\n "name" "Room"}',
            "is not JSON: line 2, column 9: expecting ':' delimiter (correct it in a text editor)",
        ),
        (b'{"id": "room",\n "name": "\xe9"}', "is not UTF-8 text: line 2 (save it as UTF-8)"),
        (b"\xff\xfe{", "is not UTF-16-LE text: line 1 (save it as UTF-8)"),
        (b'{"a":' + b"[" * 500 + b"]" * 500 + b"}", TOO_DEEP),
        (b"[" * 200_000, TOO_DEEP),
    ],
    ids=["empty", "no colon", "latin-1", "half utf-16", "deep", "very deep"],
)  # fmt: skip
def test_text_that_is_no_json_is_refused(data: bytes, told: str) -> None:
    with pytest.raises(DataError) as caught:
        parse_json_model(data, "file.json", Enclosure)
    assert [str(fault) for fault in caught.value.faults] == [told]


def test_half_of_a_sign_pair_is_refused() -> None:
    (told,) = faults(json.dumps({**ROOM, "name": "\ud800"}))
    assert told.startswith("is not JSON: ")


def test_repeated_keys_are_refused_by_name_and_place() -> None:
    text = (
        '{"id": "a", "name": "A", "cavity": [{"shape": "box", "at_mm": [0, 0, 0],'
        ' "at_mm": [1, 1, 1], "size_mm": [1, 1, 1]}], "outer": [], "id": "b"}'
    )
    assert faults(text) == [
        "id: stands there twice (remove one of them)",
        "cavity[0].at_mm: stands there twice (remove one of them)",
    ]


# The file itself ---------------------------------------------------------------------------------


def refusal_of(path: Path) -> str:
    with pytest.raises(DataError) as caught:
        read_json_model(path, Enclosure)
    return str(caught.value).removeprefix(f"{path}: ")


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    assert refusal_of(tmp_path / "none.json") == "is not there (check the name and the folder)"


def test_a_folder_is_refused(tmp_path: Path) -> None:
    assert refusal_of(tmp_path) == "is a folder (name a file in it)"


def test_a_name_that_no_system_can_hold_is_refused(tmp_path: Path) -> None:
    assert refusal_of(tmp_path / "a\0b").startswith("cannot be read: ")
    assert refusal_of(tmp_path / ("a" * 5000)).startswith("cannot be read: ")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no named pipes")
def test_a_pipe_is_refused_unread(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    assert refusal_of(pipe) == "is no ordinary file (name a file)"


def test_a_closed_file_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "room.json"
    path.write_text("{}", encoding="utf-8")

    def closed(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", closed)
    told = "may not be read: no permission (ask its owner, or take a copy)"
    assert refusal_of(path) == told


def test_a_200_mb_file_is_refused_unread(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "huge.json"
    with path.open("wb") as file:
        file.truncate(200 * 2**20)

    def read(*_: object, **__: object) -> None:
        raise AssertionError("it was opened")

    monkeypatch.setattr(Path, "open", read)
    told = "has 200 MB; files of up to 64 MB are read (check that it is the file meant)"
    assert refusal_of(path) == told


def test_a_file_that_grows_while_it_is_read_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "grows.json"
    path.write_bytes(b" ")
    monkeypatch.setattr("catalog.files.SIZE_LIMIT_BYTES", 100)
    whole = Path.stat

    def small(self: Path, **options: Any) -> os.stat_result:
        found = whole(self, **options)
        path.write_bytes(b" " * 101)
        return found

    monkeypatch.setattr(Path, "stat", small)
    assert "files of up to" in refusal_of(path)


def test_the_size_limit_holds_the_largest_layouts() -> None:
    assert 16 * 2**20 <= SIZE_LIMIT_BYTES <= 100 * 2**20


# Formats -----------------------------------------------------------------------------------------


class Note(Model):
    format: Literal["note"]
    version: Literal[3]
    text: str
    lines: int


def _text_from_body(document: Document) -> Document:
    return {("text" if key == "body" else key): value for key, value in document.items()}


def _count_lines(document: Document) -> Document:
    return {**document, "lines": document["text"].count("\n") + 1}


NOTES = FileFormat("note", (_text_from_body, _count_lines))


def note(document: Any) -> Note:
    return parse_json_model(json.dumps(document).encode(), "note.json", Note, NOTES)


def test_older_versions_are_brought_up_step_by_step() -> None:
    newest = Note(format="note", version=3, text="a\nb", lines=2)
    assert note({"format": "note", "version": 1, "body": "a\nb"}) == newest
    assert note({"format": "note", "version": 2, "text": "a\nb"}) == newest
    assert note({"format": "note", "version": 3, "text": "a\nb", "lines": 2}) == newest


@pytest.mark.parametrize(
    ("document", "told"),
    [
        ([], "found a list of 0, expected an object (check the file)"),
        ({}, 'format: is missing (a file of this kind has "note")'),
        (
            {"format": "memo", "version": 1},
            'format: found "memo", expected "note" (check the file)',
        ),
        ({"format": 7}, 'format: found another format, expected "note" (check the file)'),
        ({"format": "note"}, "version: is missing (the newest version is 3)"),
        (
            {"format": "note", "version": 4},
            "version: is 4; this program reads versions up to 3 "
            "(open the file with a newer Gapwright)",
        ),
        *(
            (
                {"format": "note", "version": wrong},
                "version: is no whole number from 1 up (write a number such as 1)",
            )
            for wrong in (0, -1, True, "1", 1.5)
        ),
    ],
)
def test_another_format_or_a_newer_version_is_refused(document: Any, told: str) -> None:
    with pytest.raises(DataError) as caught:
        note(document)
    assert [str(fault) for fault in caught.value.faults] == [told]


# Speed -------------------------------------------------------------------------------------------


def test_the_collector_runs_again_after_good_and_bad_files() -> None:
    parse_json_model(json.dumps(ROOM).encode(), "room.json", Enclosure)
    assert gc.isenabled()
    faults({})
    assert gc.isenabled()


def test_reading_takes_at_most_three_times_the_bare_validation() -> None:
    obstacles = [{**OBSTACLE, "id": f"peg-{k}"} for k in range(5000)]
    text = json.dumps({**ROOM, "obstacles": obstacles}).encode()

    def median_s(job: Callable[[], object]) -> float:
        taken = []
        for _ in range(7):
            start = time.perf_counter()
            job()
            taken.append(time.perf_counter() - start)
        return statistics.median(taken)

    bare = median_s(lambda: Enclosure.model_validate_json(text))
    read = median_s(lambda: parse_json_model(text, "room.json", Enclosure))
    assert read <= 3 * bare
