"""Saving: at any moment the old document or the new one is there, whole."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import Any

import pytest

from catalog.errors import DataError
from catalog.files import refuse_unsavable, write_text_atomic

OLD = "old " * 1000
NEW = "new " * 2000

OPERATIONS = ("open", "write", "fsync", "close", "chmod", "replace", "unlink")


class Faults:
    """Lets the Nth file operation fail, once or from then on."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, nth: int, *, lasting: bool) -> None:
        self.left = nth
        self.lasting = lasting
        self.failed = False
        for name in OPERATIONS:
            monkeypatch.setattr(os, name, self._wrapped(getattr(os, name), name))

    def _wrapped(self, real: Any, name: str) -> Any:
        def call(*args: Any, **options: Any) -> Any:
            self.left -= 1
            if self.left == 0 or (self.lasting and self.left < 0):
                self.failed = True
                if name == "close":
                    real(*args, **options)
                raise OSError(errno.ENOSPC, "No space left on device")
            return real(*args, **options)

        return call


@pytest.mark.parametrize("lasting", [False, True], ids=["once", "lastingly"])
@pytest.mark.parametrize("before", [OLD, None], ids=["over a file", "as a new file"])
def test_the_nth_file_operation_fails_and_nothing_is_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, before: str | None, lasting: bool
) -> None:
    tried = 0
    for nth in range(1, 50):
        folder = tmp_path / f"{nth}"
        folder.mkdir()
        path = folder / "layout.json"
        if before is not None:
            path.write_text(before, encoding="utf-8")
        with monkeypatch.context() as patch:
            faults = Faults(patch, nth, lasting=lasting)
            try:
                write_text_atomic(path, NEW)
                saved = True
            except DataError:
                saved = False
        if not faults.failed:
            assert saved
            break
        tried += 1
        found = path.read_text(encoding="utf-8") if path.exists() else None
        assert found == (NEW if saved else before)
        left = [p.name for p in folder.iterdir() if p != path]
        if not lasting:
            assert left == []
    # open, write, fsync, close, (chmod,) replace, and the folder's open, fsync, close
    assert tried == (9 if before is not None else 8)


def test_a_full_disk_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Faults(monkeypatch, 2, lasting=True)
    assert refusal_of(tmp_path / "a.json") == (
        "cannot be saved: no space left on device "
        "(free some room or save elsewhere; the old file is unharmed)"
    )


def test_a_short_write_is_carried_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.write
    monkeypatch.setattr(os, "write", lambda handle, data: real(handle, data[:100]))
    write_text_atomic(tmp_path / "a.json", NEW)
    assert (tmp_path / "a.json").read_text(encoding="utf-8") == NEW


def test_a_break_by_the_user_leaves_the_old_file_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.json"
    path.write_text(OLD, encoding="utf-8")

    def broken_off(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", broken_off)
    with pytest.raises(KeyboardInterrupt):
        write_text_atomic(path, NEW)
    assert path.read_text(encoding="utf-8") == OLD
    assert [p.name for p in tmp_path.iterdir()] == ["a.json"]


def test_text_is_written_as_utf_8_with_its_line_ends(tmp_path: Path) -> None:
    write_text_atomic(tmp_path / "a.json", "Maß\n\u2300 5\n")
    assert (tmp_path / "a.json").read_bytes() == "Maß\n\u2300 5\n".encode()


@pytest.mark.skipif(os.name != "posix", reason="permissions and links as POSIX has them")
def test_permissions_are_kept_and_new_files_follow_the_mask(tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    path.write_text(OLD, encoding="utf-8")
    path.chmod(0o640)
    write_text_atomic(path, NEW)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    before = os.umask(0o027)
    try:
        write_text_atomic(tmp_path / "b.json", NEW)
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "b.json").stat().st_mode) == 0o640


@pytest.mark.skipif(os.name != "posix", reason="permissions and links as POSIX has them")
def test_a_link_stays_a_link_to_the_new_text(tmp_path: Path) -> None:
    (tmp_path / "store").mkdir()
    target = tmp_path / "store" / "real.json"
    target.write_text(OLD, encoding="utf-8")
    link = tmp_path / "link.json"
    link.symlink_to(target)
    write_text_atomic(link, NEW)
    assert link.is_symlink()
    assert target.read_text(encoding="utf-8") == NEW


@pytest.mark.skipif(os.name != "posix", reason="permissions and links as POSIX has them")
def test_a_link_that_leads_nowhere_but_to_itself_is_refused(tmp_path: Path) -> None:
    one, other = tmp_path / "one.json", tmp_path / "other.json"
    one.symlink_to(other)
    other.symlink_to(one)
    assert refusal_of(one) == (
        "cannot be saved: a link on the way to it leads back to itself "
        "(save under another name or folder)"
    )
    assert "cannot be saved" in refusal_of(one / "a.json")
    assert one.is_symlink()
    assert {each.name for each in tmp_path.iterdir()} == {"one.json", "other.json"}


def refusal_of(path: Path, text: str = NEW) -> str:
    with pytest.raises(DataError) as caught:
        write_text_atomic(path, text)
    return str(caught.value).removeprefix(f"{path}: ")


def test_what_cannot_be_saved_says_why(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert refusal_of(tmp_path) == "is a folder (name a file in it)"
    assert refusal_of(tmp_path / "none" / "a.json") == (
        "cannot be saved: its folder is not there (choose another folder)"
    )
    assert "cannot be saved" in refusal_of(tmp_path / "a\0b")
    assert "contains an invalid character" in refusal_of(tmp_path / "a.json", "\ud800")
    path = tmp_path / "closed.json"
    path.write_text(OLD, encoding="utf-8")
    monkeypatch.setattr(os, "access", lambda *_: False)
    assert refusal_of(path) == (
        "cannot be saved: no permission (save under another name or folder)"
    )
    assert path.read_text(encoding="utf-8") == OLD


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no named pipes")
def test_a_device_or_pipe_is_never_replaced(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    assert refusal_of(pipe) == "is no ordinary file (name a file)"
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_what_will_be_refused_can_be_told_before_and_leaves_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    refuse_unsavable(path)
    path.write_text(OLD, encoding="utf-8")
    refuse_unsavable(path)
    assert [(one.name, one.read_text(encoding="utf-8")) for one in tmp_path.iterdir()] == [
        ("a.json", OLD)
    ]
    for wrong in (tmp_path, tmp_path / "none" / "a.json", tmp_path / "a\0b"):
        with pytest.raises(DataError) as refusal:
            refuse_unsavable(wrong)
        assert str(refusal.value).split(": ", 1)[1] == refusal_of(wrong)
