"""The library's parts as the panels hold them: read when one of them first looks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import overload

from catalog.parts import Part
from catalog.store import Library


class LibraryParts(Sequence[Part]):
    """All parts of a library in its order."""

    def __init__(self, library: Library) -> None:
        self._library = library

    @cached_property
    def _parts(self) -> tuple[Part, ...]:
        return tuple(self._library.parts.values())

    def part(self, part_id: str) -> Part | None:
        """Return a part by its id; None when there is none."""
        return self._library.parts.get(part_id)

    def __len__(self) -> int:
        return len(self._parts)

    def __iter__(self) -> Iterator[Part]:
        return iter(self._parts)

    @overload
    def __getitem__(self, index: int) -> Part: ...

    @overload
    def __getitem__(self, index: slice) -> Sequence[Part]: ...

    def __getitem__(self, index: int | slice) -> Part | Sequence[Part]:
        return self._parts[index]
