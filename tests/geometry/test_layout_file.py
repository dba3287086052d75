"""Layout files: text, round trip, fingerprint, and references that lead nowhere."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from edit_rooms import (
    BOARD,
    BRACKET,
    FAN_25,
    FITTING,
    MEDIUM_2,
    PUMP,
    ROOM,
    empty_layout,
)

from catalog.errors import DataError, Fault
from geometry.edits import (
    add_free,
    fill_fans,
    insert_item,
    set_fitting,
    set_held,
    set_margin,
    set_state,
    trim_obstacle,
)
from geometry.layout import VERSION, FreePart, Held, Item, Layer, Layout, PortUse, Stack
from geometry.layout_file import (
    LAYOUT_FORMAT,
    fingerprint,
    layout_schema,
    layout_text,
    parse_layout,
    read_layout,
    write_layout,
)
from geometry.references import reference_faults


def full_layout() -> Layout:
    layout, _ = insert_item(empty_layout(), "front-zone", "inner", 0, MEDIUM_2, "b1", 2)
    layout = fill_fans(layout, "S1", "inner", "push-pull", FAN_25)
    layout = set_fitting(layout, "E1", "p1", FITTING)
    layout, _ = add_free(layout, PUMP, (250.25, 80, 1 / 3), "-x", "+y")
    layout, _ = add_free(layout, BOARD, (100, 100, 100))
    layout = set_held(layout, "P1", Held(by="zone cells", on="floor-zone", cells=("f1",)))
    layout = set_held(layout, "B1", Held(by="adhesive", on="rear"))
    return set_margin(set_state(layout, "bracket", "back"), 3, ("fitting", "body"))


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
        ("colour", "red", "colour: is not a known field"),
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


# ---- references ----


def stack(zone: str = "floor-zone", **item: object) -> Layout:
    """Return a layout of one fan in one stack, with some fields of the fan replaced."""
    one = Item(**{"id": "F1", "part": FAN_25.id, "cell": "f1", **item})
    layer = Layer(id="L1", items=(one,))
    parts = {part.id: part for part in (FAN_25, MEDIUM_2, BOARD, FITTING)}
    return Layout(
        name="Room",
        enclosure=ROOM,
        parts=parts,
        stacks=(Stack(id="S1", zone=zone, inner=(layer,)),),
    )


def free(**fields: object) -> Layout:
    """Return a layout of one free board, with some fields of it replaced."""
    one = FreePart(**{"id": "B1", "part": BOARD.id, "at_mm": (0, 0, 0), **fields})
    return Layout(name="Room", enclosure=ROOM, parts={BOARD.id: BOARD}, free=(one,))


ITEM = "stacks[0].inner[0].items[0]"
PARTS_KNOWN = "there is fan-120x25, exchanger-2x120-45, board-170x170, fitting-16x18"
HOLDERS = (
    "there is rear, front, access, far, floor, roof, floor-zone, front-zone, roof-zone, "
    "bracket, lid"
)


@pytest.mark.parametrize(
    ("layout", "faults"),
    [
        (
            stack(zone="floor-zon"),
            [
                Fault(
                    "stacks[0].zone",
                    'found "floor-zon", which is no zone of the enclosure',
                    'did you mean "floor-zone"?',
                )
            ],
        ),
        (
            stack(zone="loft-zone"),
            [
                Fault(
                    "stacks[0].zone",
                    'found "loft-zone", which is no zone of the enclosure',
                    "there is floor-zone, front-zone, roof-zone",
                )
            ],
        ),
        (
            stack(cell="q"),
            [
                Fault(
                    f"{ITEM}.cell",
                    'found "q", which is no cell of zone "floor-zone"',
                    "there is f1, f2, f3",
                )
            ],
        ),
        (
            stack(part="q"),
            [Fault(f"{ITEM}.part", 'found "q", which is no part of this layout', PARTS_KNOWN)],
        ),
        (
            stack(part=BOARD.id),
            [
                Fault(
                    f"{ITEM}.part",
                    '"board-170x170" (board) has no hole pattern, so it cannot be in a stack',
                    'place it under "free"',
                )
            ],
        ),
        (
            stack(part=MEDIUM_2.id, ports={"q": PortUse()}),
            [
                Fault(
                    f"{ITEM}.ports[q]",
                    'found "q", which is no port of "exchanger-2x120-45"',
                    "there is p1, p2",
                )
            ],
        ),
        (
            stack(part=MEDIUM_2.id, ports={"p1": PortUse(fitting="q")}),
            [
                Fault(
                    f"{ITEM}.ports[p1].fitting",
                    'found "q", which is no fitting of this layout',
                    "there is fitting-16x18",
                )
            ],
        ),
        (
            stack(part=MEDIUM_2.id, ports={"p1": PortUse(fitting=FAN_25.id)}),
            [
                Fault(
                    f"{ITEM}.ports[p1].fitting",
                    '"fan-120x25" is of kind fan, no fitting',
                    "choose one of fitting-16x18",
                )
            ],
        ),
        (
            stack().but(stacks=(Stack(id="S1", zone="floor-zone", outer=stack().stacks[0].inner),)),
            [
                Fault(
                    "stacks[0].outer",
                    'has layers, but zone "floor-zone" takes nothing on its outer side',
                    "move them, or give the zone that side",
                )
            ],
        ),
        (
            stack(id="L1"),
            [
                Fault(
                    f"{ITEM}.id",
                    'the id "L1" is used twice, first in stacks[0].inner[0].id',
                    "give each its own id",
                )
            ],
        ),
        (
            stack(id="bracket"),
            [
                Fault(
                    f"{ITEM}.id",
                    'the id "bracket" is used twice, first in enclosure.obstacles[0].id',
                    "give each its own id",
                )
            ],
        ),
        (
            stack(id="floor"),
            [
                Fault(
                    f"{ITEM}.id",
                    'the id "floor" is used twice, first in the walls',
                    "give each its own id",
                )
            ],
        ),
        (
            free(part="board"),
            [
                Fault(
                    "free[0].part",
                    'found "board", which is no part of this layout',
                    "there is board-170x170",
                )
            ],
        ),
        (
            free(held=Held(by="clamp", on="q")),
            [
                Fault(
                    "free[0].held.on",
                    'found "q", which is no wall, obstacle, zone or placed part',
                    HOLDERS,
                )
            ],
        ),
        (
            free(held=Held(by="clamp", on="B1")),
            [
                Fault(
                    "free[0].held.on",
                    'found "B1", which is no wall, obstacle, zone or placed part',
                    HOLDERS,
                )
            ],
        ),
        (
            free(held=Held(by="zone cells", on="front-zone", cells=("b1", "b7"))),
            [
                Fault(
                    "free[0].held.cells[1]",
                    'found "b7", which is no cell of zone "front-zone"',
                    "there is b1, b2",
                )
            ],
        ),
        (
            free(held=Held(by="zone cells", on="bracket", cells=("b1",))),
            [
                Fault(
                    "free[0].held.on",
                    'found "bracket", which is no zone of the enclosure',
                    "there is floor-zone, front-zone, roof-zone",
                )
            ],
        ),
        (
            free(held=Held(by="zone cells", cells=("b1",))),
            [
                Fault(
                    "free[0].held.on",
                    'found "", which is no zone of the enclosure',
                    "there is floor-zone, front-zone, roof-zone",
                )
            ],
        ),
        (
            empty_layout().but(states={"shelf": "out"}),
            [
                Fault(
                    "states[shelf]",
                    'found "shelf", which is no obstacle of the enclosure',
                    "there is bracket",
                )
            ],
        ),
        (
            empty_layout().but(states={"bracket": "up"}),
            [
                Fault(
                    "states[bracket]",
                    'found "up", which is no state of obstacle "bracket"',
                    "there is in-place, back, out",
                )
            ],
        ),
        (
            empty_layout().but(parts={"fan": FAN_25}),
            [
                Fault(
                    "parts[fan].id", 'found "fan-120x25" under the key "fan"', "make both the same"
                )
            ],
        ),
    ],
)
def test_a_reference_that_leads_nowhere_is_named_with_what_there_is(layout, faults) -> None:
    assert list(reference_faults(layout)) == faults


def test_all_faults_are_told_at_once_with_the_file(tmp_path: Path) -> None:
    path = tmp_path / "room.json"
    write_layout(path, stack(cell="q", part="w"))
    with pytest.raises(DataError) as refused:
        read_layout(path)
    assert refused.value.file == str(path)
    assert [fault.field for fault in refused.value.faults] == [f"{ITEM}.cell", f"{ITEM}.part"]


def test_a_sound_layout_has_no_faults() -> None:
    assert reference_faults(full_layout()) == ()
    assert BRACKET in full_layout().enclosure.obstacles
