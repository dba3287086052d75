"""The published JSON Schema of parts and enclosures."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import TypeAdapter

from catalog.enclosure import Enclosure
from catalog.parts import Part

DIALECT = "https://json-schema.org/draft/2020-12/schema"

_TAGS = ("kind", "shape")


def json_schema(of: Literal["part", "enclosure"]) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a part or an enclosure file."""
    adapter: TypeAdapter[Any] = TypeAdapter(Part if of == "part" else Enclosure)
    return published(adapter, f"Gapwright {of}")


def published(adapter: TypeAdapter[Any], title: str) -> dict[str, Any]:
    """Return the schema of an adapter's type with dialect and title, its tags required.

    A value that is one of several kinds is told by its tag, so a file cannot leave the tag out
    although the model has a default for it.
    """
    schema = adapter.json_schema()
    for model in schema.get("$defs", {}).values():
        tags = [tag for tag in _TAGS if "const" in model.get("properties", {}).get(tag, {})]
        if tags:
            model["required"] = [*tags, *model.get("required", ())]
    return {"$schema": DIALECT, **schema, "title": title}
