"""The files opened last, kept in the user's config folder. A list that is lost is no loss."""

from __future__ import annotations

import json
from pathlib import Path

from catalog.errors import DataError
from catalog.files import write_text_atomic

KEPT = 10


def recent_list_path() -> Path:
    """Return where the list is kept."""
    # Loaded here: the window is there sooner.
    from platformdirs import user_config_path

    return user_config_path("gapwright", appauthor=False) / "recent.json"


class RecentFiles:
    """Paths of layout files, the last one opened first."""

    def __init__(self, list_path: Path | None = None) -> None:
        self._list_path = list_path or recent_list_path()
        self._paths = _read(self._list_path)

    @property
    def paths(self) -> tuple[Path, ...]:
        """The files, the last one opened first; some may be gone by now."""
        return self._paths

    def add(self, path: Path) -> None:
        """Put a file at the top of the list."""
        path = path.absolute()
        self._keep((path, *(known for known in self._paths if known != path)))

    def remove(self, path: Path) -> None:
        """Take a file off the list (it is not there any more)."""
        path = path.absolute()
        self._keep(tuple(known for known in self._paths if known != path))

    def _keep(self, paths: tuple[Path, ...]) -> None:
        """Note the list and write it; where it cannot be written it holds until the end."""
        self._paths = paths[:KEPT]
        try:
            self._list_path.parent.mkdir(parents=True, exist_ok=True)
            texts = [str(path) for path in self._paths]
            write_text_atomic(self._list_path, json.dumps(texts, indent=1) + "\n")
        except (OSError, DataError):
            return


def _read(list_path: Path) -> tuple[Path, ...]:
    try:
        found = json.loads(list_path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return ()
    if not isinstance(found, list):
        return ()
    texts = dict.fromkeys(text for text in found if isinstance(text, str) and text)
    return tuple(Path(text) for text in texts)[:KEPT]
