"""What holds for every test: no screen, no file of the user's, random tests that repeat."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# Tables are as wide as this, whatever terminal, pipe or worker the tests run in.
os.environ["COLUMNS"] = "110"

# Two slow cores share a run, so no example is judged by the clock; a failure prints how to
# repeat it, and an ordinary run tries the same examples every time.
settings.register_profile("ordinary", deadline=None, derandomize=True, print_blob=True)
settings.register_profile("searching", deadline=None, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ordinary"))


def _move_home(monkeypatch: pytest.MonkeyPatch, home: Path) -> None:
    for name in ("HOME", "USERPROFILE", "APPDATA", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(home))
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(name, str(home / name.lower()))


@pytest.fixture(scope="session", autouse=True)
def _nobodys_home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep what lasts longer than one test out of the user's home too."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        _move_home(monkeypatch, tmp_path_factory.mktemp("nobodys-home"))
        yield


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give every test an empty home, so that no user part or setting gets in or is harmed."""
    home = tmp_path_factory.mktemp("home")
    _move_home(monkeypatch, home)
    return home
