"""Small sound documents as one writes them by hand, and the faults of unsound ones."""

from __future__ import annotations

import json
from typing import Any

import pytest

from catalog.enclosure import Enclosure
from catalog.errors import DataError
from catalog.files import parse_json_model
from catalog.model import Model
from catalog.part_file import PartFile

BOX = {"shape": "box", "at_mm": [0, 0, 0], "size_mm": [300, 200, 100]}
ROOM: dict[str, Any] = {"id": "room", "name": "Room", "cavity": [BOX], "outer": [BOX]}
FAN: dict[str, Any] = {
    "kind": "fan", "id": "fan", "name": "Fan", "frame_mm": 120, "pitch_mm": 105,
    "thickness_mm": 25, "hub_mm": 42,
}  # fmt: skip
ZONE: dict[str, Any] = {
    "id": "zone", "name": "Front", "owner": "front", "origin_mm": [300, 40, 10],
    "u": "+z", "v": "+y", "length_mm": 130, "width_mm": 120,
    "cells": [{"id": "1", "u_mm": 65, "v_mm": 60, "accepts": [{"frame_mm": 120, "pitch_mm": 105}]}],
}  # fmt: skip
OBSTACLE: dict[str, Any] = {"id": "peg", "name": "Peg", "shapes": [BOX]}
POLYGON: dict[str, Any] = {
    "shape": "extrusion", "axis": "x", "from_mm": 0, "to_mm": 300,
    "outline_mm": [[0, 0], [200, 0], [200, 100], [0, 100]],
}  # fmt: skip


def faults(document: Any, model: type[Model] | type[PartFile] = Enclosure) -> list[str]:
    """Return the faults of a document, given as values or as text."""
    text = document if isinstance(document, str) else json.dumps(document)
    with pytest.raises(DataError) as caught:
        parse_json_model(text.encode(), "file.json", model)
    assert caught.value.file == "file.json"
    return [str(fault) for fault in caught.value.faults]
