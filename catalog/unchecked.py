"""Builds models from what the program ships, as it stands.

Before it validates its first layout pydantic makes the schema of all that may be in one, which
takes longer than to build and to draw the demo. Whatever a user may have changed is validated, by
`catalog.files`; a shipped file that is read here must be validated by a test.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import repeat
from types import NoneType, UnionType
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel

from catalog.model import FrozenMap

M = TypeVar("M", bound=BaseModel)

AS_THEY_STAND = (str, float, bool, NoneType)
"""What JSON and every field hold alike; a whole number may be meant as one with a fraction."""

TAGS = ("kind", "shape")
"""The fields that tell the models of a union apart; each model has its own tag as the default."""


def unchecked(model: type[M], document: Mapping[str, Any]) -> M:
    """Return the model of a sound JSON document: equal to the validated one, in all its parts."""
    kinds = {name: field.annotation for name, field in model.model_fields.items()}
    return model.model_construct(**{k: _value(kinds[k], found) for k, found in document.items()})


def _value(kind: Any, found: Any) -> Any:
    """Return a JSON value as a field with the annotation `kind` holds it."""
    if isinstance(found, AS_THEY_STAND):
        return found
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return unchecked(kind, found)
    if kind is float:
        return float(found)
    origin, inner = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return _value(inner[0], found)
    if origin is tuple:
        kinds = repeat(inner[0]) if inner[-1] is ... else inner
        return tuple(map(_value, kinds, found))
    if origin is dict:
        return FrozenMap({key: _value(inner[1], one) for key, one in found.items()})
    if origin in (Union, UnionType):
        return _value(_member([one for one in inner if one is not NoneType], found), found)
    return found


def _member(kinds: list[Any], found: Any) -> Any:
    """Return the one of a union's kinds that a value is of: the only one, or that with its tags."""
    if len(kinds) == 1:
        return kinds[0]
    return next(
        kind
        for kind in kinds
        if all(found[tag] == kind.model_fields[tag].default for tag in TAGS if tag in found)
    )
