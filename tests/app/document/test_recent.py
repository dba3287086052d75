"""The list of recent files: kept in the user's folder, lost without harm."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.document.recent import KEPT, RecentFiles, recent_list_path


def test_the_last_file_comes_first_and_each_stands_once(tmp_path: Path) -> None:
    recent = RecentFiles()
    assert recent.paths == ()
    a, b = tmp_path / "a.json", tmp_path / "Größe b.json"
    for path in (a, b, a):
        recent.add(path)
    assert recent.paths == (a, b) == RecentFiles().paths
    recent.remove(a)
    assert RecentFiles().paths == (b,)


def test_the_list_lies_in_the_users_own_config_folder(own_home: Path) -> None:
    assert recent_list_path().is_relative_to(own_home)
    assert not recent_list_path().exists()
    RecentFiles().add(Path("a.json"))
    assert recent_list_path().exists()


def test_relative_paths_are_kept_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    recent = RecentFiles()
    recent.add(Path("a.json"))
    assert recent.paths == (tmp_path / "a.json",)


def test_only_so_many_are_kept(tmp_path: Path) -> None:
    recent = RecentFiles()
    for k in range(KEPT + 3):
        recent.add(tmp_path / f"{k}.json")
    assert [path.stem for path in RecentFiles().paths] == [str(k) for k in range(KEPT + 2, 2, -1)]


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"", ()),
        (b"{", ()),
        (b"\xff\xfe\x00", ()),
        (b'{"a": 1}', ()),
        (b"[" * 100_000, ()),
        (b'["/a.json", 3, null, "", "/a.json"]', (Path("/a.json"),)),
    ],
)
def test_a_list_that_is_not_sound_is_taken_as_far_as_it_goes(content, expected) -> None:
    path = recent_list_path()
    path.parent.mkdir(parents=True)
    path.write_bytes(content)
    assert RecentFiles().paths == expected


def test_a_list_that_cannot_be_written_holds_until_the_end(tmp_path: Path) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder")
    recent = RecentFiles(in_the_way / "recent.json")
    recent.add(tmp_path / "a.json")
    assert recent.paths == (tmp_path / "a.json",)
    assert in_the_way.read_text() == "not a folder"
