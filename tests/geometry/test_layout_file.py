"""Layout files: text, round trip, fingerprint, and older versions."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from edit_rooms import empty_layout, full_layout

from catalog.errors import DataError
from geometry.edits import set_margin, trim_obstacle
from geometry.layout import VERSION
from geometry.layout_file import (
    LAYOUT_FORMAT,
    fingerprint,
    layout_schema,
    layout_text,
    parse_layout,
    read_layout,
    write_layout,
)


def test_a_layout_read_back_is_equal(tmp_path: Path) -> None:
    path = tmp_path / "Außenstelle 3.json"
    layout = full_layout()
    write_layout(path, layout)
    again = read_layout(path)
    assert again == layout
    assert layout_text(again) == layout_text(layout) == path.read_text(encoding="utf-8")
    assert fingerprint(again) == fingerprint(layout)


def test_the_text_is_plain_json_ends_with_a_newline_and_sorts_maps_only() -> None:
    layout = full_layout()
    text = layout_text(layout)
    assert text.endswith("}\n")
    found = json.loads(text)
    assert list(found)[:4] == ["format", "version", "name", "revision"]
    assert list(found["parts"]) == sorted(layout.parts)
    assert found["free"][0] == {
        "id": "P1",
        "part": "pump-compact",
        "at_mm": [250.25, 80, 0.333333],
        "x_to": "-x",
        "z_to": "+y",
        "held": {"by": "zone cells", "on": "floor-zone", "cells": ["f1"]},
        "ports": {},
        "locked": False,
    }
    assert '"at_mm": [250.25, 80, 0.333333]' in text


def test_equal_layouts_have_equal_texts_whatever_the_order_of_their_maps() -> None:
    layout = full_layout()
    shuffled = layout.but(parts=type(layout.parts)(reversed(layout.parts.items())))
    assert list(shuffled.parts) != list(layout.parts)
    assert layout_text(shuffled) == layout_text(layout)


def test_the_fingerprint_is_short_and_tells_any_change() -> None:
    layout = full_layout()
    assert len(fingerprint(layout)) == 12
    assert int(fingerprint(layout), 16) >= 0
    assert fingerprint(layout) != fingerprint(set_margin(layout, 2.0001))


def test_names_in_other_scripts_are_kept_readable(tmp_path: Path) -> None:
    layout = empty_layout().but(name="Sonde „Süd“ 測点")
    assert "Sonde „Süd“ 測点" in layout_text(layout)
    write_layout(tmp_path / "a.json", layout)
    assert read_layout(tmp_path / "a.json") == layout


def test_a_layout_meets_the_published_schema_and_a_changed_one_does_not() -> None:
    schema = layout_schema()
    found = json.loads(layout_text(full_layout()))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(found, schema)
    for field in ("format", "version", "name", "enclosure"):
        less = {key: value for key, value in found.items() if key != field}
        with pytest.raises(jsonschema.ValidationError, match=field):
            jsonschema.validate(less, schema)


def test_the_format_knows_the_version_that_layouts_are_written_in() -> None:
    assert LAYOUT_FORMAT.version == VERSION == empty_layout().version


@pytest.mark.parametrize(
    ("field", "value", "fault"),
    [
        ("format", "other", 'format: found "other", expected "gapwright-layout" (check the file)'),
        (
            "version",
            3,
            "version: is 3; this program reads versions up to 2 "
            "(open the file with a newer Gapwright)",
        ),
        ("colour", "red", "colour: is not a known field (known here: format, version, "),
    ],
)
def test_other_formats_newer_versions_and_unknown_fields_are_named(field, value, fault) -> None:
    found = {**json.loads(layout_text(empty_layout())), field: value}
    with pytest.raises(DataError) as refused:
        parse_layout(json.dumps(found).encode(), "room.json")
    assert str(refused.value).startswith(f"room.json: {fault}")


# ---- older versions ----

VERSION_1 = Path(__file__).parent / "layouts" / "version-1.json"
"""The demo as the first version of the format had it: nothing of cuts, nor of what judges."""


def told_again(old: object, new: object, where: str = "") -> set[str]:
    """Return the fields that only a new document has; what the old one has must be in it."""
    if isinstance(old, dict) and isinstance(new, dict):
        assert set(old) <= set(new), where
        inner = [told_again(value, new[key], f"{where}.{key}") for key, value in old.items()]
        return {f"{where}.{key}" for key in set(new) - set(old)}.union(*inner)
    if isinstance(old, list) and isinstance(new, list):
        assert len(old) == len(new), where
        return set().union(*(told_again(a, b, f"{where}[]") for a, b in zip(old, new, strict=True)))
    assert old == new, where
    return set()


def test_a_file_of_the_first_version_says_the_same_in_the_newest() -> None:
    old = json.loads(VERSION_1.read_text(encoding="utf-8"))
    layout = read_layout(VERSION_1)
    new = json.loads(layout_text(layout))
    assert (old.pop("version"), new.pop("version")) == (1, VERSION)
    assert told_again(old, new) == {".enclosure.obstacles[].cuts", ".settings.judge"}
    assert all(one.cuts == () for one in layout.enclosure.obstacles)


def test_cuts_that_a_file_of_the_first_version_tells_of_are_kept() -> None:
    cut = trim_obstacle(read_layout(VERSION_1), "bracket-duct", "+z", 20.0)
    old = {**json.loads(layout_text(cut)), "version": 1}
    assert parse_layout(json.dumps(old).encode(), "room.json") == cut
