"""Writes the shipped parts and enclosures from their rules: `python -m catalog.generate`."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from catalog.enclosure import Enclosure
from catalog.files import write_text_atomic
from catalog.model import Model
from catalog.parts import Part
from catalog.recipes.bench_box import bench_box
from catalog.recipes.boards import boards
from catalog.recipes.boxed_parts import cards, drives, supplies
from catalog.recipes.exchangers import exchangers
from catalog.recipes.fans import adapters, fans, gaskets
from catalog.recipes.loop_parts import fittings, pump_reservoirs, pumps, reservoirs
from catalog.recipes.rack_chassis import rack_chassis
from catalog.recipes.small_cube import small_cube
from catalog.recipes.tall_tower import tall_tower
from catalog.recipes.wall_cabinet import wall_cabinet

DATA = Path(__file__).parent / "data"

_TAGS = ("kind", "shape")
_WIDTH = 100


def shipped_parts() -> dict[str, tuple[Part, ...]]:
    """Return the shipped parts by the name of their file."""
    return {
        "exchangers": tuple(exchangers()),
        "fans": tuple(fans()),
        "gaskets": tuple(gaskets()),
        "adapters": tuple(adapters()),
        "pumps": tuple(pumps()),
        "reservoirs": tuple(reservoirs()),
        "pump_reservoirs": tuple(pump_reservoirs()),
        "fittings": tuple(fittings()),
        "boards": tuple(boards()),
        "cards": tuple(cards()),
        "supplies": tuple(supplies()),
        "drives": tuple(drives()),
    }


def shipped_enclosures() -> tuple[Enclosure, ...]:
    """Return the shipped enclosures."""
    return (bench_box(), tall_tower(), rack_chassis(), small_cube(), wall_cabinet())


def files() -> Iterator[tuple[str, str]]:
    """Yield name (below the data folder) and text of every shipped file."""
    for name, parts in shipped_parts().items():
        yield f"parts/{name}.json", file_text([lean(part) for part in parts])
    for enclosure in shipped_enclosures():
        yield f"enclosures/{enclosure.id}.json", file_text(lean(enclosure))


def lean(value: Any) -> Any:
    """Return a model as plain values, without the fields that have their defaults."""
    if isinstance(value, Model):
        found = {}
        for name, field in type(value).model_fields.items():
            inner = getattr(value, name)
            if name in _TAGS or inner != field.get_default(call_default_factory=True):
                found[name] = lean(inner)
        return found
    if isinstance(value, dict):
        return {key: lean(inner) for key, inner in value.items()}
    if isinstance(value, tuple):
        return [lean(inner) for inner in value]
    if isinstance(value, float):
        rounded = round(value, 4)
        return int(rounded) if rounded.is_integer() else rounded
    return value


def file_text(value: Any) -> str:
    """Return plain values as JSON in which whatever fits stands on one line."""
    return _text(value, 0) + "\n"


def _text(value: Any, indent: int) -> str:
    flat = json.dumps(value, ensure_ascii=False)
    if len(flat) + indent <= _WIDTH or not isinstance(value, dict | list):
        return flat
    pad = " " * (indent + 1)
    if isinstance(value, dict):
        lines = [f"{pad}{json.dumps(k)}: {_text(v, indent + 1)}" for k, v in value.items()]
        return "{\n" + ",\n".join(lines) + "\n" + " " * indent + "}"
    lines = [pad + _text(inner, indent + 1) for inner in value]
    return "[\n" + ",\n".join(lines) + "\n" + " " * indent + "]"


def main() -> None:
    """Write every file of the data folder."""
    for name, text in files():
        write_text_atomic(DATA / name, text)


if __name__ == "__main__":
    main()
