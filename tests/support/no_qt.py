"""Importing this hides Qt from the process: whoever imports Qt later, however late, fails.

As a plugin it hides Qt from tests: `python -m pytest -p no:pytest-qt -p no_qt tests/geometry`.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib.machinery import ModuleSpec
from types import ModuleType

HIDDEN = ("PySide6", "shiboken6")


class HideQt:
    """An import finder that finds no Qt."""

    def find_spec(
        self, name: str, path: Sequence[str] | None = None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """Refuse every module of Qt and leave all others to the finders after this one."""
        if name.partition(".")[0] in HIDDEN:
            raise ModuleNotFoundError(f"{name} is hidden from these tests", name=name)
        return None


def hide_qt() -> None:
    """Hide Qt from this process, once and for all."""
    sys.meta_path.insert(0, HideQt())


hide_qt()
