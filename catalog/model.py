"""The base of every stored model, and the field types they share.

Files of models do without `from __future__ import annotations`: of annotations that are texts
pydantic compiles every one when the program starts.
"""

from collections.abc import Iterable, Mapping
from typing import Annotated, Any, Literal, NoReturn, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import PydanticCustomError

LIMIT_MM = 10_000.0
"""No dimension or coordinate may pass ten metres; a larger figure is a slip of the keyboard."""


class Model(BaseModel):
    """Frozen and strict: unknown fields, text for numbers, NaN and infinity are refused."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, defer_build=True
    )

    def but(self, **changes: Any) -> Self:
        """Return a copy with some fields replaced by values of the right types (not validated)."""
        return self.model_copy(update=changes)


class FrozenMap(dict[str, Any]):
    """A read-only mapping with string keys, hashable so that models stay values."""

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(frozenset(self.items()))

    def _refuse(self, *_: object, **__: object) -> NoReturn:
        raise TypeError("this mapping is part of a frozen value; make a new one")

    __setitem__ = __delitem__ = _refuse
    clear = pop = popitem = setdefault = update = _refuse

    def __reduce__(self) -> tuple[type[dict[str, Any]], tuple[dict[str, Any]]]:
        """Come out of another process whole: the usual way would set item after item."""
        return (FrozenMap, (dict(self),))


def frozen(value: Mapping[str, Any]) -> FrozenMap:
    """Return `value` as a read-only map (used as a pydantic validator)."""
    return FrozenMap(value)


REFUSAL = "refused"
"""The type of the errors that `refusal` makes."""


def refusal(field: str, problem: str, mend: str) -> PydanticCustomError:
    """Return the error for a validator to raise: `field` is the path below the value it checks."""
    context = {"field": field, "problem": problem, "mend": mend}
    return PydanticCustomError(REFUSAL, "{problem} ({mend})", context)


def first_repeated(ids: Iterable[str]) -> tuple[int, str] | None:
    """Return the place and the text of the first id that was there before; None when all differ."""
    seen: set[str] = set()
    for index, one in enumerate(ids):
        if one in seen:
            return index, one
        seen.add(one)
    return None


def require_unique_ids(field: str, ids: Iterable[str]) -> None:
    """Raise a refusal at `field` where an id is given twice."""
    repeated = first_repeated(ids)
    if repeated is not None:
        index, one = repeated
        raise refusal(
            f"{field}[{index}].id", f'the id "{one}" is used twice', "give each its own id"
        )


def _no_truth_value(value: object) -> object:
    if isinstance(value, bool):
        raise refusal("", f"found {str(value).lower()}, expected a whole number", "write a number")
    return value


WholeNumber = BeforeValidator(_no_truth_value)
"""Put beside a Literal of whole numbers, for which `true` would pass as 1."""

Mm = Annotated[float, Field(ge=-LIMIT_MM, le=LIMIT_MM, description="mm")]
Length = Annotated[float, Field(gt=0, le=LIMIT_MM, description="mm, more than 0")]
Room = Annotated[float, Field(ge=0, le=LIMIT_MM, description="mm, 0 or more")]
Id = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.:-]{0,63}$")]
Label = Annotated[str, Field(min_length=1, max_length=80)]

Axis = Literal["x", "y", "z"]
Direction = Literal["+x", "-x", "+y", "-y", "+z", "-z"]

Point = tuple[Mm, Mm, Mm]
PlanePoint = tuple[Mm, Mm]


class Dimension(Model):
    """Where one number comes from and how far it may be off."""

    minus_mm: Room | None = None
    plus_mm: Room | None = None
    origin: Literal["measured", "drawing", "assumed"] = "assumed"


Dimensions = Annotated[dict[str, Dimension], AfterValidator(frozen)]
"""Tolerance and origin by field path ("port_tank.length_mm").

Where a dimension is missing here, ISO 2768-1 class m holds and its origin is unknown.
"""
