"""A number, field, shape or whole model that makes no sense is refused with its place and mend."""

from __future__ import annotations

import json
from typing import Annotated, Any, Literal

import pytest
from written_models import BOX, FAN, OBSTACLE, POLYGON, ROOM, ZONE, faults

from catalog.enclosure import Enclosure
from catalog.files import parse_json_model
from catalog.model import Model, WholeNumber
from catalog.part_file import PartFile

# Numbers -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ('"25"', 'thickness_mm: found "25", expected a number (write 25 without quotes)'),
        ('"thin"', 'thickness_mm: found "thin", expected a number (write figures without quotes)'),
        ("true", "thickness_mm: found true, expected a number (write a number)"),
        ("null", "thickness_mm: found null, expected a number (write a number)"),
        ("[25]", "thickness_mm: found a list of 1, expected a number (write a number)"),
        ("{}", "thickness_mm: found an object, expected a number (write a number)"),
        ("NaN", "thickness_mm: found NaN, expected a number (write it in figures)"),
        ("Infinity", "thickness_mm: found Infinity, expected a number (write it in figures)"),
        ("-Infinity", "thickness_mm: found -Infinity, expected a number (write it in figures)"),
        ("1e999", "thickness_mm: is no finite number (write a number in figures)"),
        ("-25", "thickness_mm: found -25, expected more than 0 (check sign and unit)"),
        ("0", "thickness_mm: found 0, expected more than 0 (check sign and unit)"),
        (
            "10000.5",
            "thickness_mm: found 10000.5, expected 10000 or less "
            "(check the unit: lengths are in mm, and none is over 10 m)",
        ),
    ],
)
def test_a_number_that_is_none_is_refused(written: str, told: str) -> None:
    text = json.dumps(FAN).replace('"thickness_mm": 25', f'"thickness_mm": {written}')
    assert faults(text, PartFile) == [told]


def test_whole_numbers_and_ten_metres_are_numbers() -> None:
    fan = parse_json_model(json.dumps({**FAN, "thickness_mm": 10_000}).encode(), "f", PartFile).root
    assert fan.thickness_mm == 10_000.0  # type: ignore[union-attr]


def test_a_number_with_thousands_of_figures_is_refused() -> None:
    text = json.dumps(FAN).replace('"thickness_mm": 25', '"thickness_mm": ' + "9" * 5000)
    assert faults(text, PartFile) == [
        "is not JSON: a number has thousands of figures (correct it in a text editor)"
    ]


# Fields ------------------------------------------------------------------------------------------


def test_an_unknown_field_is_refused_with_the_nearest_known_one() -> None:
    assert faults({**FAN, "frame": 120}, PartFile) == [
        'frame: is not a known field (did you mean "frame_mm"?)'
    ]
    (told,) = faults({**ROOM, "zones": [{**ZONE, "zzz": 1}]})
    assert told.startswith("zones[0].zzz: is not a known field (known here: id, name, owner, ")


def test_a_missing_field_is_named() -> None:
    broken = {**ZONE, "cells": [{"id": "1", "u_mm": 65, "v_mm": 60}]}
    assert faults({**ROOM, "zones": [broken]}) == ["zones[0].cells[0].accepts: is missing (add it)"]


def test_every_fault_is_told_at_once() -> None:
    broken = {**ROOM, "name": "", "cavity": [{**BOX, "size_mm": [300, "200", -1]}]}
    assert faults(broken) == [
        'name: found "", which is too short (write 1 or more characters)',
        'cavity[0].size_mm[1]: found "200", expected a number (write 200 without quotes)',
        "cavity[0].size_mm[2]: found -1, expected more than 0 (check sign and unit)",
    ]


def test_of_very_many_faults_the_rest_is_counted() -> None:
    told = faults(
        {**ROOM, "obstacles": [{**OBSTACLE, "shape": 1, "id": f"o{k}"} for k in range(40)]}
    )
    assert len(told) == 26
    assert told[24] == 'obstacles[24].shape: is not a known field (did you mean "shapes"?)'
    assert told[25] == "15 more things are wrong"


@pytest.mark.parametrize(
    ("shape", "told"),
    [
        (
            {**BOX, "shape": "cylindre"},
            'cavity[0].shape: found "cylindre", expected one of box, cylinder, stadium, extrusion '
            '(did you mean "cylinder"?)',
        ),
        (
            {"at_mm": [0, 0, 0]},
            'cavity[0].shape: is missing ("shape" says which kind it is)',
        ),
        (
            {**BOX, "size_mm": [300, 200]},
            "cavity[0].size_mm[2]: is missing (add it)",
        ),
        (
            {**BOX, "size_mm": [300, 200, 100, 50]},
            "cavity[0].size_mm: has 4 entries, takes 3 at most (shorten the list)",
        ),
        (
            "box",
            'cavity[0]: found "box", expected an object (write an object)',
        ),
    ],
)
def test_a_shape_that_is_none_is_refused(shape: Any, told: str) -> None:
    assert faults({**ROOM, "cavity": [shape]}) == [told]


def test_an_id_with_a_blank_is_refused() -> None:
    (told,) = faults({**ROOM, "id": "my room"})
    assert told.startswith('id: found "my room", which is no id (an id has ')


class Turned(Model):
    turn: Annotated[Literal[0, 1, 2, 3], WholeNumber]


def test_true_is_no_whole_number_in_a_choice() -> None:
    assert faults({"turn": True}, Turned) == [
        "turn: found true, expected a whole number (write a number)"
    ]
    assert faults({"turn": 4}, Turned) == [
        "turn: found 4, expected one of 0, 1, 2, 3 (choose one of them)"
    ]


# Sense -------------------------------------------------------------------------------------------

ROUND = {"shape": "cylinder", "axis": "z", "at_mm": [50, 50, 0], "diameter_mm": 20, "length_mm": 50}
LONG = {**ROUND, "shape": "stadium", "along": "x", "overall_mm": 40}


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            {"cavity": [{**POLYGON, "outline_mm": [[0, 0], [10, 10], [10, 0], [0, 10]]}]},
            "cavity[0].outline_mm: crosses or touches itself: the edge from point 0 and the edge "
            "from point 2 meet (list the points in the order in which one walks round)",
        ),
        (
            {"cavity": [{**POLYGON, "from_mm": 300, "to_mm": 300}]},
            "cavity[0].to_mm: is 300, not more than from_mm, 300 "
            "(give the lesser coordinate as from_mm)",
        ),
        (
            {"cavity": [{**POLYGON, "holes_mm": [[[10, 10], [20, 10], [10, 20]] * 100] * 4}]},
            "cavity[0].holes_mm: has 1204 points with outline_mm (keep to 1000 in all)",
        ),
        (
            {"cavity": [{**LONG, "overall_mm": 19}]},
            "cavity[0].overall_mm: is 19, less than diameter_mm, 20 "
            "(overall_mm is the long side with both rounds)",
        ),
        (
            {"cavity": [{**LONG, "along": "z"}]},
            'cavity[0].along: is "z", as axis is (name one of the other two)',
        ),
        (
            {"cavity": [ROUND, POLYGON]},
            'cavity[1].axis: is "x", but cavity[0].axis is "z" '
            "(all round and polygon shapes of cavity and outer lie along one axis)",
        ),
        (
            {"cavity": [{**BOX, "size_mm": [301, 200, 100]}]},
            "cavity[0]: runs along x from 0 to 301, beyond the outer shape, 0 to 300 "
            "(the cavity lies inside the outer shape)",
        ),
        (
            {"zones": [{**ZONE, "v": "-z"}]},
            'zones[0].v: "-z" lies along u, "+z" (name another axis)',
        ),
        (
            {"zones": [{**ZONE, "owner": "door"}]},
            'zones[0].owner: "door" is no wall, panel or obstacle of this enclosure '
            "(name one of rear, front, access, far, floor, roof)",
        ),
        (
            {"zones": [{**ZONE, "length_mm": 60}]},
            "zones[0].cells[0]: its centre (65, 60) lies outside the zone, 60 x 120 "
            "(u_mm and v_mm are taken from the corner origin_mm)",
        ),
        (
            {"zones": [{**ZONE, "cells": ZONE["cells"] * 2}]},
            'zones[0].cells[1].id: the id "1" is used twice (give each its own id)',
        ),
        (
            {"zones": [{**ZONE, "cells": [{**ZONE["cells"][0], "slot_u_mm": [5, -5]}]}]},
            "zones[0].cells[0].slot_u_mm: runs from 5 to -5 (give the lesser first)",
        ),
        (
            {"zones": [{**ZONE, "inner": None}]},
            "zones[0].inner: the zone takes layers on neither side (give inner or outer)",
        ),
        (
            {"obstacles": [OBSTACLE], "zones": [{**ZONE, "id": "peg"}]},
            'zones[0].id: the id "peg" is used for obstacles[0] too (give each its own id)',
        ),
        (
            {"zones": [{**ZONE, "id": "front"}]},
            'zones[0].id: "front" is the name of a wall ("front-1" will do)',
        ),
        (
            {"obstacles": [{**OBSTACLE, "owner": "bracket"}]},
            'obstacles[0].owner: "bracket" is no obstacle or panel of this enclosure '
            "(name one of peg)",
        ),
        (
            {
                "obstacles": [
                    {**OBSTACLE, "id": "a", "owner": "b"},
                    {**OBSTACLE, "id": "b", "owner": "a"},
                ]
            },
            'obstacles[0].owner: "a" is owned by itself in a circle (cut the circle)',
        ),
        (
            {"dimensions": {"cavity[0].length_mm": {"origin": "measured"}}},
            "dimensions[cavity[0].length_mm]: leads to no number of this model "
            '(write paths like "port_tank.length_mm" or "cells[0].u_mm")',
        ),
        (
            {"dimensions": {"cavity[0].size_mm[1]": {"minus_mm": 200.0}}},
            "dimensions[cavity[0].size_mm[1]].minus_mm: 200 mm less would leave nothing of the "
            "200 mm there (write a tolerance smaller than the size)",
        ),
    ],
)
def test_an_enclosure_without_sense_is_refused(change: dict[str, Any], told: str) -> None:
    assert faults({**ROOM, **change}) == [told]


@pytest.mark.parametrize(
    ("path", "minus_mm"), [("cavity[0].size_mm[1]", 199.9), ("cavity[0].at_mm[1]", 200.0)]
)
def test_only_of_a_size_something_must_be_left(path: str, minus_mm: float) -> None:
    document = {**ROOM, "dimensions": {path: {"minus_mm": minus_mm}}}
    assert Enclosure.model_validate_json(json.dumps(document)).dimensions[path].minus_mm == minus_mm


CELL = ZONE["cells"][0]
GASKET = {
    "kind": "gasket", "id": "g", "name": "G", "length_mm": 120, "width_mm": 120,
    "free_mm": 2, "compressed_mm": 3, "cells": [{**CELL, "u_mm": 0, "v_mm": 0}],
}  # fmt: skip
ADAPTER = {
    "kind": "adapter", "id": "a", "name": "A", "length_mm": 120, "width_mm": 120,
    "thickness_mm": 3, "cells": [CELL], "top": [CELL, {**CELL, "id": "2"}],
}  # fmt: skip


@pytest.mark.parametrize(
    ("part", "told"),
    [
        (
            {**FAN, "pitch_mm": 120},
            "pitch_mm: is 120, not less than frame_mm, 120 "
            "(the pitch is taken from hole to hole along one side)",
        ),
        (
            {**FAN, "hub_mm": 130},
            "hub_mm: is 130, not less than frame_mm, 120 (the hub is the closed middle of the fan)",
        ),
        (
            GASKET,
            "compressed_mm: is 3, more than free_mm, 2 "
            "(a gasket gets thinner when it is screwed down)",
        ),
        (
            ADAPTER,
            "top: has 2 cells and cells has 1 "
            "(give one cell above for each below, in the same order)",
        ),
    ],
)
def test_a_part_without_sense_is_refused(part: dict[str, Any], told: str) -> None:
    assert faults(part, PartFile) == [told]
