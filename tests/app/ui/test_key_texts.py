"""Keys that texts speak of are those of the commands, as this system writes them."""

from __future__ import annotations

import ast
import importlib.metadata
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt

import app.ui
from app import __version__
from app.ui import help_text
from app.ui.actions import SNAP_OFF, SPECS, key_of
from catalog.store import Library
from geometry.layout import Layout

UI = Path(app.ui.__path__[0])
TABLE = UI / "actions.py"
SPELLED = re.compile(r"\b(Ctrl|Shift|Alt)\+(Shift\+)?([A-Z]|F\d+|Del)\b|\bF\d+\b|\([A-Z]\)")
NONE = Qt.KeyboardModifier.NoModifier


def texts(source: Path) -> Iterator[str]:
    """Yield all strings of a module but the docstrings."""
    tree = ast.parse(source.read_text(encoding="utf-8"))
    bare = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in bare:
            yield node.value


def test_no_text_spells_a_command_s_key_out() -> None:
    found = {
        f"{source.relative_to(UI)}: {text}"
        for source in UI.rglob("*.py")
        if source != TABLE
        for text in texts(source)
        if SPELLED.search(text)
    }
    assert found == set()
    assert any(SPELLED.search(text) for text in texts(TABLE)), "it would find them"


@pytest.mark.parametrize("name", ["undo", "redo", "search", "mend", "what_fits", "next_view"])
def test_a_command_s_key_is_the_first_of_the_table(name: str) -> None:
    (spec,) = (spec for spec in SPECS if spec.name == name)
    assert key_of(name) == spec.keys[0]


def test_tips_of_undo_and_redo_name_the_step_and_all_keys(open_window) -> None:
    window = open_window()
    window.session.apply("Rename", lambda layout: layout.but(name="Another"))
    assert window.actions_by_name["undo"].toolTip() == "Undo Rename (Ctrl+Z)"
    window.session.undo()
    assert window.actions_by_name["redo"].toolTip() == "Redo Rename (Ctrl+Shift+Z, Ctrl+Y)"


def test_the_version_is_told_where_nothing_is_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(name: str) -> None:
        raise importlib.metadata.PackageNotFoundError(name)

    monkeypatch.setattr(importlib.metadata, "distribution", none)
    assert f"<h2>Gapwright {__version__}</h2>" in help_text.about_html()


def test_snapping_is_told_alike_everywhere(open_window) -> None:
    window = open_window()
    (tip,) = (spec.tip for spec in SPECS if spec.name == "snap")
    assert f"hold {SNAP_OFF} while dragging" in tip
    assert f"{SNAP_OFF} while dragging" in help_text.keys_html()
    assert f"hold {SNAP_OFF} while dragging" in window.statusBar().settings.toolTip()
    readme = (UI.parents[1] / "README.md").read_text(encoding="utf-8")
    keys = " or ".join(f"`{key}`" for key in SNAP_OFF.split(" or "))
    assert f"hold {keys} to snap to nothing" in " ".join(readme.split())


def test_either_key_snaps_to_nothing(open_window, hand, shipped: Library) -> None:
    window = open_window(Layout(name="Empty", enclosure=shipped.enclosure("bench-box")))
    me = hand(window)
    me.take_from_panel("fan-80-25")
    place = me.at((201.3, 60.0, 200.7))
    stood = {}
    for keys in (NONE, Qt.KeyboardModifier.AltModifier, Qt.KeyboardModifier.ControlModifier):
        me.carry_to(place, keys)
        stood[keys] = window.session.layout.free[0].at_mm
    me.carry_off()
    snapped, *others = stood.values()
    assert others == [others[0]] * 2
    assert SNAP_OFF == "Alt or Ctrl"
    assert snapped != others[0]
