"""Field paths in models: "port_tank.length_mm", "ports[0].at_mm[2]"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel

from catalog.model import Dimension, refusal

_PATH = re.compile(r"[a-z_0-9]+(\[\d{1,6}\])*(\.[a-z_0-9]+(\[\d{1,6}\])*)*")
_STEP = re.compile(r"\[(\d+)\]|([a-z_0-9]+)")


def step_down(path: str, step: str | int, *, in_map: bool = False) -> str:
    """Return the path one step further: a list place, a map key, or a field name."""
    if isinstance(step, int) or in_map:
        return f"{path}[{step}]"
    return f"{path}.{step}" if path else step


def value_at(model: BaseModel, path: str) -> object:
    """Return the value at a field path of `model`; KeyError when there is none."""
    if not _PATH.fullmatch(path):
        raise KeyError(path)
    value: object = model
    for place, name in _STEP.findall(path):
        if place:
            if not isinstance(value, Sequence) or isinstance(value, str):
                raise KeyError(path)
            if int(place) >= len(value):
                raise KeyError(path)
            value = value[int(place)]
        elif isinstance(value, BaseModel) and name in type(value).model_fields:
            value = getattr(value, name)
        else:
            raise KeyError(path)
    return value


def length_at(model: BaseModel, path: str) -> float:
    """Return the length (mm) at a field path of `model`; KeyError when no number stands there."""
    value = value_at(model, path)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise KeyError(path)
    return float(value)


def require_known_paths(model: BaseModel, paths: Iterable[str]) -> None:
    """Raise a refusal where a path of the map `dimensions` leads to no number of `model`."""
    for path in paths:
        try:
            length_at(model, path)
        except KeyError:
            raise refusal(
                f"dimensions[{path}]",
                "leads to no number of this model",
                'write paths like "port_tank.length_mm" or "cells[0].u_mm"',
            ) from None


def is_size_at(model: BaseModel, path: str) -> bool:
    """Whether the number at a field path of `model` must be more than 0; KeyError when none is."""
    length_at(model, path)
    value: Any = model
    kind: Any = None
    limits: Sequence[object] = ()
    for place, name in _STEP.findall(path):
        if place:
            value, kinds = value[int(place)], get_args(kind)
            kind = kinds[0] if kinds[-1] is Ellipsis else kinds[int(place)]
        else:
            field = type(value).model_fields[name]
            value, kind, limits = getattr(value, name), field.annotation, field.metadata
        while get_origin(kind) is Annotated:
            kind, *told = get_args(kind)
            limits = [limit for one in told for limit in getattr(one, "metadata", (one,))]
    return any(getattr(limit, "gt", None) == 0 for limit in limits)


def too_loose(model: BaseModel, dimensions: Mapping[str, Dimension]) -> Iterator[str]:
    """Yield the paths of sizes of which nothing may be left by the tolerance given for them."""
    for path, dimension in dimensions.items():
        minus_mm = dimension.minus_mm or 0.0
        if minus_mm >= length_at(model, path) and is_size_at(model, path):
            yield path


def require_sizes_left(model: BaseModel, dimensions: Mapping[str, Dimension]) -> None:
    """Raise a refusal where a tolerance may leave nothing of a size of `model`."""
    for path in too_loose(model, dimensions):
        raise refusal(
            f"dimensions[{path}].minus_mm",
            f"{dimensions[path].minus_mm:g} mm less would leave nothing of the "
            f"{length_at(model, path):g} mm there",
            "write a tolerance smaller than the size",
        )
