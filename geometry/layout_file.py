"""Layout files: one JSON document with copies of every part and of the enclosure that it uses.

Reading goes through the door of all JSON files and then checks what only a whole layout can tell:
that whatever is named is there. Writing is deterministic, so that equal layouts are equal files.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel, TypeAdapter

from catalog.errors import DataError
from catalog.files import parse_json_model, read_json_model, write_text_atomic
from catalog.migrate import Document, FileFormat
from catalog.schema import published
from geometry.layout import FORMAT, Layout
from geometry.references import reference_faults


def _with_cuts(document: Document) -> Document:
    """Version 2 tells what was cut off obstacles; of what says nothing of it, nothing was.

    It tells too by what a layout is judged; version 1 may have told both, and keeps them.
    """
    return document


LAYOUT_FORMAT = FileFormat(FORMAT, (_with_cuts,))
"""The numbered format; a later version adds its step here."""

FINGERPRINT_FIGURES = 12

_LINE = 96


def read_layout(path: Path) -> Layout:
    """Return the layout in a file.

    Raises DataError, which names every fault with its field and mend, when the file cannot be
    read, is not sound, or names something that is not in it.
    """
    return _with_references(read_json_model(path, Layout, LAYOUT_FORMAT), str(path))


def parse_layout(data: bytes, name: str) -> Layout:
    """Return the layout in the bytes of a file that errors call `name`; DataError as above."""
    return _with_references(parse_json_model(data, name, Layout, LAYOUT_FORMAT), name)


def _with_references(layout: Layout, name: str) -> Layout:
    faults = reference_faults(layout)
    if faults:
        raise DataError(name, *faults)
    return layout


def write_layout(path: Path, layout: Layout) -> None:
    """Write a layout so that at any moment the old or the new file is there, whole.

    Raises DataError when it cannot be saved; the old file is then as it was.
    """
    write_text_atomic(path, layout_text(layout))


def layout_text(layout: Layout) -> str:
    """Return the text of a layout's file; equal layouts give equal texts.

    Fields stand in the order of the model, the keys of maps in alphabetical order, whole numbers
    without a point.
    """
    return "".join(_written(layout, 0)) + "\n"


def fingerprint(layout: Layout) -> str:
    """Return the first figures of the SHA-256 of a layout's file text, for sheet and report."""
    text = layout_text(layout).encode("utf-8")
    return hashlib.sha256(text).hexdigest()[:FINGERPRINT_FIGURES]


def layout_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a layout file."""
    schema = published(TypeAdapter(Layout), "Gapwright layout")
    schema["required"] = ["format", "version", *schema.get("required", ())]
    return schema


def _written(value: object, depth: int) -> Iterator[str]:
    """Yield a value as JSON; what is short and holds no objects stands on one line."""
    if isinstance(value, BaseModel):
        yield from _object({k: getattr(value, k) for k in type(value).model_fields}, depth)
    elif isinstance(value, Mapping):
        yield from _object({key: value[key] for key in sorted(value)}, depth)
    elif isinstance(value, tuple | list):
        yield from _list(value, depth)
    else:
        yield _scalar(value)


def _object(fields: Mapping[str, object], depth: int) -> Iterator[str]:
    if not fields:
        yield "{}"
        return
    joint = "{\n"
    for key, value in fields.items():
        yield f"{joint}{' ' * (depth + 1)}{json.dumps(key, ensure_ascii=False)}: "
        yield from _written(value, depth + 1)
        joint = ",\n"
    yield f"\n{' ' * depth}}}"


def _list(values: tuple[object, ...] | list[object], depth: int) -> Iterator[str]:
    if not any(isinstance(value, BaseModel | Mapping) for value in values):
        line = "[" + ", ".join("".join(_written(value, 0)) for value in values) + "]"
        if "\n" not in line and len(line) <= _LINE:
            yield line
            return
    joint = "[\n"
    for value in values:
        yield f"{joint}{' ' * (depth + 1)}"
        yield from _written(value, depth + 1)
        joint = ",\n"
    yield f"\n{' ' * depth}]"


def _scalar(value: object) -> str:
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
