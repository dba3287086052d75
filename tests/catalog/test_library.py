"""The library: search in the trade's words, the user's own files beside the shipped ones."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from catalog.parts import PartKind
from catalog.store import Library, NotInLibraryError, load_library, user_folder

LIBRARY = Library()

FAN = {
    "kind": "fan", "id": "my-fan", "name": "Fan of mine 120 x 27", "frame_mm": 120,
    "pitch_mm": 105, "thickness_mm": 27, "hub_mm": 42,
}  # fmt: skip
BOX = {"shape": "box", "at_mm": [0, 0, 0], "size_mm": [300, 200, 100]}
ROOM = {"id": "my-room", "name": "My room", "cavity": [BOX], "outer": [BOX]}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a user's folder with one good part and one good enclosure."""
    put(tmp_path, "parts/fan.json", FAN)
    put(tmp_path, "enclosures/room.json", ROOM)
    return tmp_path


def put(folder: Path, name: str, value: object) -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    text = value if isinstance(value, str) else json.dumps(value)
    path.write_text(text, encoding="utf-8")
    return path


# Search ------------------------------------------------------------------------------------------


def ids(text: str, kinds: set[PartKind] | None = None, frame_mm: float | None = None) -> list[str]:
    return [part.id for part in LIBRARY.search(text, kinds, frame_mm)]


@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("radiator", "exchanger"), ("rad", "exchanger"), ("circulator", "pump"),
        ("res", "reservoir"), ("psu", "supply"), ("motherboard", "board"), ("gpu", "card"),
        ("hdd", "drive"), ("blower", "fan"), ("seal", "gasket"), ("converter", "adapter"),
        ("combo", "pump_reservoir"), ("elbow", "fitting"),
    ],
)  # fmt: skip
def test_search_answers_to_the_words_of_the_trade(word: str, kind: PartKind) -> None:
    assert kind in {part.kind for part in LIBRARY.search(word)}


def test_every_word_must_answer() -> None:
    assert ids("radiator 2x120 30mm") == [
        "exchanger-2x120-30", "exchanger-2x120-30-end", "exchanger-2x120-30-side",
        "exchanger-2x120-30-both",
    ]  # fmt: skip
    assert ids("radiator psu") == []
    assert ids("fan 120 25") == ["fan-120-25"]


@pytest.mark.parametrize("written", ["2 x 120, 30 mm", "2x120 30mm", "2 × 120 30", "2X120   30"])
def test_sizes_may_be_written_in_any_way(written: str) -> None:
    assert ids(written)[0] == "exchanger-2x120-30"


def test_whole_words_come_before_beginnings() -> None:
    # "20" begins "200", but the 20 mm fans have it as a word
    found = ids("fan 20")
    assert found.index("fan-120-20") < found.index("fan-200-25")


def test_filters_by_kind_and_frame() -> None:
    assert ids("", {"pump"}) == [
        "pump-compact", "pump-large", "pump-compact-plate-120", "pump-large-plate-120",
        "pump-compact-plate-140", "pump-large-plate-140",
    ]  # fmt: skip
    assert ids("", {"fan"}, 200) == ["fan-200-20", "fan-200-25", "fan-200-30"]
    # an adapter answers to the frames of both its faces
    assert "adapter-1x140-120" in ids("", {"adapter"}, 140)
    assert "adapter-1x140-120" in ids("", {"adapter"}, 120)


def test_an_empty_search_lists_everything_in_order() -> None:
    assert ids("") == list(LIBRARY.parts)


# Looking up --------------------------------------------------------------------------------------


def test_an_unknown_id_names_near_ones() -> None:
    with pytest.raises(NotInLibraryError) as caught:
        LIBRARY.part("fan-120-24")
    assert "fan-120-25" in caught.value.near
    assert str(caught.value).startswith(
        'there is no part "fan-120-24" in the library; did you mean fan-120-2'
    )
    with pytest.raises(KeyError) as missing:
        LIBRARY.enclosure("zzzz")
    assert str(missing.value) == 'there is no enclosure "zzzz" in the library'


# The user's own ----------------------------------------------------------------------------------


def test_good_files_of_the_user_stand_beside_the_shipped_ones(folder: Path) -> None:
    library = load_library(folder)
    assert library.part("my-fan").name == "Fan of mine 120 x 27"
    assert library.enclosure("my-room").name == "My room"
    assert library.part("fan-120-25") == LIBRARY.part("fan-120-25")
    assert [part.id for part in library.search("mine 120x27")] == ["my-fan"]
    assert {*library.parts, *library.enclosures} - {*LIBRARY.parts, *LIBRARY.enclosures} == {
        "my-fan", "my-room",
    }  # fmt: skip
    assert library.problems == ()


def test_a_bad_file_is_reported_by_name_and_left_out(folder: Path) -> None:
    put(folder, "parts/a-broken.json", "{")
    put(folder, "parts/b-wrong.json", {**FAN, "id": "wrong", "thickness_mm": "27"})
    put(folder, "enclosures/c-empty.json", {})
    library = load_library(folder)
    assert "my-fan" in library.parts
    assert "wrong" not in library.parts
    assert "my-room" in library.enclosures
    assert [Path(problem.file).name for problem in library.problems] == [
        "a-broken.json", "b-wrong.json", "c-empty.json",
    ]  # fmt: skip
    assert [str(fault) for fault in library.problems[1].faults] == [
        'thickness_mm: found "27", expected a number (write 27 without quotes)'
    ]


def test_an_id_that_is_taken_is_reported(folder: Path) -> None:
    put(folder, "parts/shipped.json", {**FAN, "id": "fan-120-25"})
    put(folder, "parts/twice.json", FAN)
    library = load_library(folder)
    assert library.part("fan-120-25") == LIBRARY.part("fan-120-25")
    assert [str(fault) for problem in library.problems for fault in problem.faults] == [
        'id: "fan-120-25" is taken by a shipped one (choose another id)',
        'id: "my-fan" is taken by fan.json (choose another id)',
    ]


def test_other_files_are_not_looked_at(folder: Path) -> None:
    put(folder, "parts/notes.txt", "no part")
    put(folder, "parts/.hidden.json", "{")
    put(folder, "parts/more/deep.json", "{")
    put(folder, "parts/LOUD.JSON", {**FAN, "id": "loud"})
    library = load_library(folder)
    assert library.problems == ()
    assert "loud" in library.parts


def test_a_folder_that_cannot_be_read_is_reported(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = Path.iterdir

    def closed(self: Path) -> object:
        if self.name == "parts":
            raise PermissionError(13, "Permission denied")
        return real(self)

    monkeypatch.setattr(Path, "iterdir", closed)
    library = load_library(folder)
    assert [str(problem) for problem in library.problems] == [
        f"{folder / 'parts'}: cannot be read: permission denied (ask its owner)"
    ]
    assert "my-room" in library.enclosures


def test_no_folder_of_the_user_is_no_fault(tmp_path: Path) -> None:
    library = load_library(tmp_path / "none")
    assert library.problems == ()
    assert list(library.parts) == list(LIBRARY.parts)


@pytest.mark.skipif(os.name != "posix", reason="the place that the XDG base directories name")
def test_the_users_folder_follows_the_desktop_standard(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    if sys.platform != "linux":
        pytest.skip("XDG base directories are for Linux")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert user_folder() == tmp_path / "gapwright"
    put(user_folder(), "parts/fan.json", FAN)
    assert "my-fan" in load_library().parts


def test_library_is_a_frozen_value() -> None:
    with pytest.raises(AttributeError):
        LIBRARY.user_dir = Path()  # type: ignore[misc]
    with pytest.raises(TypeError):
        LIBRARY.parts["x"] = LIBRARY.part("fan-120-25")  # type: ignore[index]
