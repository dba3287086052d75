"""The published schema says what the models take."""

from __future__ import annotations

import re
from typing import Any

import pytest

from catalog.generate import lean, shipped_enclosures, shipped_parts
from catalog.schema import json_schema

PART = json_schema("part")
ENCLOSURE = json_schema("enclosure")


KNOWN = {
    "$ref", "$defs", "$schema", "title", "description", "default", "type", "const", "enum",
    "properties", "required", "additionalProperties", "propertyNames", "items", "prefixItems",
    "minItems", "maxItems", "minimum", "maximum", "exclusiveMinimum", "minLength", "maxLength",
    "pattern", "anyOf", "oneOf", "discriminator",
}  # fmt: skip

PYTHON: dict[str, Any] = {
    "number": (int, float), "integer": int, "string": str, "boolean": bool, "null": type(None),
}  # fmt: skip


def problems(value: Any, schema: dict[str, Any], root: dict[str, Any]) -> list[str]:
    """Return what of `value` breaks `schema`, by those keywords of JSON Schema that occur here.

    Fails on a keyword that it does not know, so that none is passed over.
    """
    assert set(schema) <= KNOWN, set(schema) - KNOWN
    if "$ref" in schema:
        return problems(value, root["$defs"][schema["$ref"].rsplit("/", 1)[1]], root)
    for either in ("anyOf", "oneOf"):
        if either in schema:
            fits = [one for one in schema[either] if not problems(value, one, root)]
            enough = len(fits) == 1 if either == "oneOf" else bool(fits)
            return [] if enough else [f"{value!r} fits {len(fits)} of {either}"]
    if "const" in schema and value != schema["const"]:
        return [f"{value!r} is not {schema['const']!r}"]
    if "enum" in schema and value not in schema["enum"]:
        return [f"{value!r} is none of {schema['enum']}"]
    if schema.get("type") == "object":
        return object_problems(value, schema, root)
    if schema.get("type") == "array":
        return array_problems(value, schema, root)
    return scalar_problems(value, schema)


def scalar_problems(value: Any, schema: dict[str, Any]) -> list[str]:
    kind = schema.get("type", "")
    is_number = kind in ("number", "integer")
    if not isinstance(value, PYTHON[kind]) or (isinstance(value, bool) and is_number):
        return [f"{value!r} is no {kind}"]
    if is_number and (
        value < schema.get("minimum", value)
        or value > schema.get("maximum", value)
        or ("exclusiveMinimum" in schema and value <= schema["exclusiveMinimum"])
    ):
        return [f"{value} is out of range"]
    if kind == "string" and not re.search(schema.get("pattern", ""), value):
        return [f"{value!r} does not match"]
    return []


def object_problems(value: Any, schema: dict[str, Any], root: dict[str, Any]) -> list[str]:
    if not isinstance(value, dict):
        return [f"{value!r} is no object"]
    properties = schema.get("properties", {})
    rest = schema.get("additionalProperties")
    found = [f"{name} is missing" for name in schema.get("required", ()) if name not in value]
    for name, inner in value.items():
        if name in properties:
            found += problems(inner, properties[name], root)
        elif rest is False:
            found.append(f"{name} is not known")
        elif isinstance(rest, dict):
            found += problems(inner, rest, root)
    return found


def array_problems(value: Any, schema: dict[str, Any], root: dict[str, Any]) -> list[str]:
    if not isinstance(value, list):
        return [f"{value!r} is no list"]
    found = []
    if not schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", len(value)):
        found.append(f"{len(value)} entries")
    fixed = schema.get("prefixItems", [])
    for inner, one in zip(value, fixed, strict=False):
        found += problems(inner, one, root)
    for inner in value[len(fixed) :]:
        found += problems(inner, schema.get("items", {}), root)
    return found


def test_every_shipped_part_fits_the_published_schema() -> None:
    for parts in shipped_parts().values():
        for part in parts:
            assert problems(lean(part), PART, PART) == [], part.id


def test_every_shipped_enclosure_fits_the_published_schema() -> None:
    for room in shipped_enclosures():
        assert problems(lean(room), ENCLOSURE, ENCLOSURE) == [], room.id


@pytest.mark.parametrize(
    "change",
    [
        {"thickness_mm": "25"}, {"thickness_mm": -1}, {"thickness_mm": 20_000},
        {"thickness": 25}, {"kind": "propeller"}, {"plugs": [{"id": "a"}]}, {"frame_mm": True},
    ],
    ids=str,
)  # fmt: skip
def test_the_schema_refuses_what_the_models_refuse(change: dict[str, Any]) -> None:
    fan = lean(next(iter(shipped_parts()["fans"])))
    assert problems({**fan, **change}, PART, PART)


def test_a_file_cannot_leave_out_what_tells_its_kind() -> None:
    fan = lean(next(iter(shipped_parts()["fans"])))
    del fan["kind"]
    assert problems(fan, PART, PART)
    assert PART["$defs"]["Fan"]["required"][0] == "kind"
    assert ENCLOSURE["$defs"]["Box"]["required"][0] == "shape"


@pytest.mark.parametrize("schema", [PART, ENCLOSURE], ids=["part", "enclosure"])
def test_every_number_names_its_unit(schema: dict[str, Any]) -> None:
    """A number's field ends in a unit, or counts something."""
    units = ("_mm", "_m3_h_pa", "_l_min_m", "_per_cm")
    counts = {"loss_k", "tube_rows"}
    for name, model in {**schema["$defs"], "": schema}.items():
        for field, told in model.get("properties", {}).items():
            if "number" in str(told) and "$ref" not in str(told):
                assert field.endswith(units) or field in counts, f"{name}.{field}"


def test_the_schema_names_its_dialect() -> None:
    assert PART["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert (PART["title"], ENCLOSURE["title"]) == ("Gapwright part", "Gapwright enclosure")
