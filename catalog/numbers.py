"""The numbers of a model by field path, and a model with one of them replaced."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, TypeVar

from pydantic import BaseModel

M = TypeVar("M", bound=BaseModel)

_STEP = re.compile(r"\[(\d+)\]|([a-z_0-9]+)")


def number_paths(model: BaseModel, path: str = "") -> Iterator[str]:
    """Yield the field path of every decimal number in `model`, as in "ports[0].at_mm[2]"."""
    for name in type(model).model_fields:
        yield from _paths_in(getattr(model, name), f"{path}.{name}" if path else name)


def _paths_in(value: object, path: str) -> Iterator[str]:
    if isinstance(value, BaseModel):
        yield from number_paths(value, path)
    elif isinstance(value, tuple):
        for place, one in enumerate(value):
            yield from _paths_in(one, f"{path}[{place}]")
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield path


def with_number(model: M, path: str, number: float) -> M:
    """Return `model` with the number at a field path replaced; not validated.

    Raises KeyError or IndexError where nothing stands at the path.
    """
    steps = [int(place) if place else name for place, name in _STEP.findall(path)]
    changed: M = _replaced(model, steps, number)
    return changed


def _replaced(value: Any, steps: list[int | str], number: float) -> Any:
    if not steps:
        return number
    first, rest = steps[0], steps[1:]
    if isinstance(first, int):
        return (*value[:first], _replaced(value[first], rest, number), *value[first + 1 :])
    if first not in type(value).model_fields:
        raise KeyError(first)
    inner = _replaced(getattr(value, first), rest, number)
    return value.model_copy(update={first: inner})
