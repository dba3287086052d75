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


@dataclass
class Memory(Generic[T]):
    """Results by key, each with what it was made from.

    A result is used again when its key is asked for with equal ingredients; solids compare by
    identity, so a part that did not move costs nothing. One of which little changed may be made
    from the `last`. `forget_unused` drops what the drawing just made did not ask for. `remade`
    counts what has been made since.
    """

    remade: int = 0
    _kept: dict[str, tuple[object, T]] = field(default_factory=dict)
    _used: dict[str, tuple[object, T]] = field(default_factory=dict)
    _past: dict[str, tuple[object, T]] = field(default_factory=dict)

    def get(self, key: str, made_from: object, make: Callable[[], T]) -> T:
        """Return the result for a key, made anew only when its ingredients differ."""
        known = self._used.get(key) or self._kept.get(key)
        if known is None or known[0] != made_from:
            known = (made_from, make())
            self.remade += 1
        self._used[key] = known
        return known[1]

    def last(self, key: str) -> T | None:
        """Return the last result for a key, whatever it was made from; None without one."""
        known = self._used.get(key) or self._kept.get(key)
        return known[1] if known is not None else None

    def keep(self, key: str, result: T) -> None:
        """Keep a result from which the next one is made."""
        self._used[key] = (None, result)

    def forget_unused(self) -> None:
        """Use again only what was asked for since the last call."""
        self._past, self._kept, self._used = self._kept, self._used, {}

    def let_go(self) -> None:
        """Free what is used no more, which takes a while, when there is time for it."""
        self._past = {}
