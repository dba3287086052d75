"""What is built without validating is what validating would have built."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from odd_rooms import odd_case

from catalog.enclosure import Enclosure
from catalog.files import parse_json_model
from catalog.generate import DATA
from catalog.model import Model, frozen
from catalog.store import Library
from catalog.unchecked import unchecked
from geometry.layout import Layout
from geometry.layout_file import layout_text, parse_layout

DEMO = Path(__file__).parents[2] / "assets" / "demo.json"


def assert_built_alike(built: Model, validated: Model) -> None:
    """Equal, and of the same types: 20 equals 20.0, and a tuple of models their list."""
    assert built == validated
    assert repr(built) == repr(validated)
    assert hash(built) == hash(validated)
    assert built.model_fields_set == validated.model_fields_set


def test_the_shipped_demo_is_sound_and_built_as_its_file_says() -> None:
    text = DEMO.read_bytes()
    assert_built_alike(unchecked(Layout, json.loads(text)), parse_layout(text, "demo.json"))


@pytest.mark.parametrize("path", sorted((DATA / "enclosures").glob("*.json")), ids=lambda p: p.stem)
def test_enclosures_are_built_alike(path: Path) -> None:
    text = path.read_bytes()
    validated = parse_json_model(text, path.name, Enclosure)
    assert_built_alike(unchecked(Enclosure, json.loads(text)), validated)


def test_parts_of_all_kinds_are_built_alike() -> None:
    library = Library()
    room = library.enclosure("bench-box")
    text = layout_text(Layout(name="all", enclosure=room, parts=frozen(library.parts)))
    assert_built_alike(unchecked(Layout, json.loads(text)), parse_layout(text.encode(), "all.json"))


@pytest.mark.parametrize("seed", range(4))
def test_layouts_of_all_kinds_are_built_alike(seed: int) -> None:
    text = layout_text(odd_case(seed).case.layout)
    validated = parse_layout(text.encode(), "odd.json")
    assert_built_alike(unchecked(Layout, json.loads(text)), validated)
