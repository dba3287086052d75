"""What the last drawing was made of, so that the next one remakes only what differs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Generic, TypeVar

T = TypeVar("T")


class Same:
    """An ingredient compared by identity, and kept alive so that its identity is not reused."""

    def __init__(self, value: object) -> None:
        self._value = value

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self._value is other._value

    def __hash__(self) -> int:
        return id(self._value)


@dataclass(slots=True)
class _Made(Generic[T]):
    """A result, what it was made from, and the results that were asked for while making it."""

    made_from: object
    result: T
    within: dict[str, _Made[T]]


@dataclass
class Memory(Generic[T]):
    """Results by key, each with what it was made from.

    A result is used again when its key is asked for with equal ingredients; solids compare by
    identity, so a part that did not move costs nothing. Results may be made of others: asking for
    the whole then counts as asking for those in it. `forget_unused` drops what the drawing
    just made did not ask for. `remade` counts the results made since.
    """

    remade: int = 0
    _kept: dict[str, _Made[T]] = field(default_factory=dict)
    _used: dict[str, _Made[T]] = field(default_factory=dict)
    _within: dict[str, _Made[T]] | None = None

    def get(self, key: str, made_from: object, make: Callable[[], T]) -> T:
        """Return the result for a key, made anew only when its ingredients differ."""
        known = self._kept.get(key)
        if known is None or known.made_from != made_from:
            known = self._make(made_from, make)
        (self._used if self._within is None else self._within)[key] = known
        return known.result

    def _make(self, made_from: object, make: Callable[[], T]) -> _Made[T]:
        outer, self._within = self._within, {}
        try:
            made = _Made(made_from, make(), self._within)
        finally:
            self._within = outer
        self.remade += 1
        return made

    def forget_unused(self) -> None:
        """Keep only what was asked for since the last call."""
        self._kept = {}
        due = [self._used]
        while due:
            used = due.pop()
            self._kept.update(used)
            due.extend(made.within for made in used.values() if made.within)
        self._used = {}
