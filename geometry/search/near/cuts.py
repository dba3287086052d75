"""Whether any change that is told cuts the enclosure, so that the caution is due."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol


class _Change(Protocol):
    @property
    def cuts(self) -> bool: ...


class _Told(Protocol):
    @property
    def relaxations(self) -> Iterable[_Change]: ...


def any_cut(found: Iterable[_Told]) -> bool:
    """Whether any relaxation of some near misses cuts the enclosure."""
    return any(one.cuts for miss in found for one in miss.relaxations)
