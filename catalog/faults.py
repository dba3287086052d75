"""Errors of the models in plain words: field path, what was found, how to mend it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from difflib import get_close_matches
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, RootModel, ValidationError
from pydantic_core import ErrorDetails

from catalog.errors import Fault
from catalog.model import REFUSAL
from catalog.paths import step_down

MOST_FAULTS = 25
"""More faults than these are counted, not told."""

_TAGS = ("kind", "shape")


def explain(error: ValidationError, expected: Any, document: object) -> tuple[Fault, ...]:
    """Return the faults behind a validation error.

    `expected` is the model (or annotated type) that was asked for, `document` what `json.loads`
    made of the text. Only the first `MOST_FAULTS` are told; one more says how many there are.
    """
    details = _without_echoes(error.errors(include_url=False, include_input=False))
    faults = [_fault(one, expected, document) for one in details[:MOST_FAULTS]]
    if len(details) > MOST_FAULTS:
        faults.append(Fault("", f"{len(details) - MOST_FAULTS} more things are wrong"))
    return tuple(faults)


def _without_echoes(details: list[ErrorDetails]) -> list[ErrorDetails]:
    """Leave out that a list is too short where that is so only because its entries are wrong."""
    at_fault = {one["loc"][:depth] for one in details for depth in range(len(one["loc"]))}
    return [one for one in details if one["type"] != "too_short" or one["loc"] not in at_fault]


def shown(value: object) -> str:
    """Return a value as it would be written in a file, shortened."""
    if isinstance(value, Mapping):
        return "an object"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    if isinstance(value, str):
        short = value if len(value) <= 40 else value[:37] + "..."
        return json.dumps(short, ensure_ascii=not short.isprintable())
    if isinstance(value, float):
        return f"{value:g}"
    text = json.dumps(value, default=str)
    return text if len(text) <= 40 else text[:37] + "..."


def _fault(details: ErrorDetails, expected: Any, document: object) -> Fault:
    place = _Place(expected, document)
    for step in details["loc"]:
        place.step(step)
    kind, context = details["type"], details.get("ctx", {})
    if kind == REFUSAL:
        field = context["field"]
        joint = "." if place.path and field and not field.startswith("[") else ""
        return Fault(f"{place.path}{joint}{field}", context["problem"], context["mend"])
    if kind == "extra_forbidden":
        return _unknown_field(place)
    if kind in _SAID:
        problem, mend = _SAID[kind]
        words = {**context, "found": shown(place.value)}
        return Fault(place.path, problem.format_map(words), mend.format_map(words))
    if kind in ("literal_error", "union_tag_invalid"):
        return _wrong_choice(place, str(context.get("expected") or context["expected_tags"]))
    if kind == "union_tag_not_found":
        tag = str(context["discriminator"]).strip("'")
        return Fault(step_down(place.path, tag), "is missing", f'"{tag}" says which kind it is')
    if kind in _WRONG_TYPE:
        return _wrong_type(place, _WRONG_TYPE[kind])
    return Fault(place.path, f"{details['msg']}; found {shown(place.value)}")


_SAID: Mapping[str, tuple[str, str]] = {
    "missing": ("is missing", "add it"),
    "finite_number": ("is no finite number", "write a number in figures"),
    "greater_than": ("found {found}, expected more than {gt:g}", "check sign and unit"),
    "greater_than_equal": ("found {found}, expected {ge:g} or more", "check sign and unit"),
    "less_than": ("found {found}, expected less than {lt:g}", "check the unit"),
    "less_than_equal": (
        "found {found}, expected {le:g} or less",
        "check the unit: lengths are in mm, and none is over 10 m",
    ),
    "string_pattern_mismatch": (
        "found {found}, which is no id",
        "an id has up to 64 letters, figures and _ . : - and starts with a letter or figure",
    ),
    "string_too_short": (
        "found {found}, which is too short",
        "write {min_length} or more characters",
    ),
    "string_too_long": ("found {found}, which is too long", "keep to {max_length} characters"),
    "too_short": ("has {actual_length} entries, needs {min_length} or more", "add to the list"),
    "too_long": ("has {actual_length} entries, takes {max_length} at most", "shorten the list"),
}  # fmt: skip

_WRONG_TYPE: Mapping[str, str] = {
    "float_type": "a number",
    "int_type": "a whole number",
    "string_type": "text",
    "bool_type": "true or false",
    "tuple_type": "a list",
    "list_type": "a list",
    "dict_type": "an object",
    "model_type": "an object",
    "model_attributes_type": "an object",
}


def _wrong_type(place: _Place, wanted: str) -> Fault:
    problem = f"found {shown(place.value)}, expected {wanted}"
    if isinstance(place.value, str) and "number" in wanted:
        try:
            float(place.value)
        except ValueError:
            return Fault(place.path, problem, "write figures without quotes")
        return Fault(place.path, problem, f"write {place.value.strip()} without quotes")
    return Fault(place.path, problem, f"write {wanted}")


_NEAR_FIELD = 0.7
"""How alike a field must be to be meant: "frame" may be "frame_mm", "colour" is no "enclosure"."""


def _unknown_field(place: _Place) -> Fault:
    model = _plain(place.above)
    known = list(getattr(model, "model_fields", ()))
    name = str(place.last)
    near = get_close_matches(name, known, n=1, cutoff=_NEAR_FIELD)
    mend = f'did you mean "{near[0]}"?' if near else f"known here: {', '.join(known)}"
    return Fault(place.path, "is not a known field", mend)


def _wrong_choice(place: _Place, expected: str) -> Fault:
    """`expected` is pydantic's list, such as "'x', 'y' or 'z'"."""
    choices = [one.strip().strip("'") for one in expected.replace(" or ", ", ").split(", ")]
    value = place.value
    path = place.path
    if isinstance(value, Mapping):
        tag = next((tag for tag in _TAGS if isinstance(value.get(tag), str)), _TAGS[0])
        path, value = step_down(path, tag), value.get(tag)
    problem = f"found {shown(value)}, expected one of {', '.join(choices)}"
    near = get_close_matches(str(value), choices, n=1) if isinstance(value, str) else []
    return Fault(path, problem, f'did you mean "{near[0]}"?' if near else "choose one of them")


class _Place:
    """Walks from the top of a document along the steps of a pydantic error.

    The steps name the tag of a union's chosen kind, which is no place in the document; the
    expected type tells which those are.
    """

    def __init__(self, expected: Any, document: object) -> None:
        self.path = ""
        self.value = document
        self.above: Any = None
        self.last: str | int = ""
        self._expected = expected

    def step(self, step: str | int) -> None:
        expected = _plain(self._expected)
        if get_origin(expected) in (Union, UnionType):
            self._expected = _kind_of(expected, step)
            return
        self.above, self.last = expected, step
        in_map = get_origin(expected) is dict
        if step != "[key]":
            self.path = step_down(self.path, step, in_map=in_map)
            self.value = _child(self.value, step)
        self._expected = _child_type(expected, step)


def _plain(expected: Any) -> Any:
    """Return a type without its annotations, its None and its wrapping as a whole file."""
    while True:
        if isinstance(expected, type) and issubclass(expected, RootModel):
            expected = expected.model_fields["root"].annotation
        elif get_origin(expected) is Annotated:
            expected = get_args(expected)[0]
        elif get_origin(expected) in (Union, UnionType):
            kinds = [one for one in get_args(expected) if one is not NoneType]
            if len(kinds) > 1:
                return expected
            expected = kinds[0]
        else:
            return expected


def _kind_of(union: Any, tag: str | int) -> Any:
    """Return the model of a union whose tag field is a Literal of `tag`."""
    for one in get_args(union):
        model = _plain(one)
        fields = getattr(model, "model_fields", {})
        for name in _TAGS:
            if name in fields and fields[name].annotation == Literal[tag]:
                return model
    return None


def _child(value: object, step: str | int) -> object:
    if isinstance(value, Mapping) and step in value:
        return value[step]
    if isinstance(value, list) and isinstance(step, int) and 0 <= step < len(value):
        return value[step]
    return None


def _child_type(expected: Any, step: str | int) -> Any:
    if isinstance(expected, type) and issubclass(expected, BaseModel):
        field = expected.model_fields.get(str(step))
        return field.annotation if field is not None else None
    inner = get_args(expected)
    if get_origin(expected) is dict:
        return inner[1]
    if get_origin(expected) is tuple and isinstance(step, int):
        if Ellipsis in inner:
            return inner[0]
        return inner[step] if step < len(inner) else None
    return None
