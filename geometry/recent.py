"""What was worked out for the last few values, kept for the next time."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

T = TypeVar("T")


class Recent(Generic[T]):
    """Keeps what was found for the values last asked for, at most so many; threads may ask at once.

    A value is known again by being the same one, which is quicker than comparing what it holds. It
    is held as long as what was found for it, so that no other can come to have its identity.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._found: dict[Hashable, tuple[tuple[object, ...], T]] = {}
        self._lock = Lock()

    def of(self, *values: object, beside: Hashable = None, find: Callable[[], T]) -> T:
        """Return what `find` found for these very values and for what equals `beside`.

        Threads that ask for the same at once may both look, but get the same.
        """
        key = (*map(id, values), beside)
        with self._lock:
            known = self._found.pop(key, None)
            if known is not None:
                self._found[key] = known
        if known is None:
            found = (values, find())
            with self._lock:
                known = self._found.setdefault(key, found)
                if len(self._found) > self._most:
                    del self._found[next(iter(self._found))]
        return known[1]
