"""Long work as a generator: it yields wherever it may be left, and returns what it found.

Work in steps yields how far it has come, work with pauses nothing. Both do so at least as often as
a user who wants to stop should be heard. Who drives it may leave it at any yield, tell of it in
other words, or run through it all at once.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from typing import TypeVar

T = TypeVar("T")
Far = TypeVar("Far")
Told = TypeVar("Told")

Steps = Generator[float, None, T]
"""Yields the share that is done, from 0 to 1."""

Pauses = Generator[None, None, T]
"""Yields nothing, where it cannot be known how much is left to do."""


def told_as(work: Generator[Far, None, T], tell: Callable[[Far], Told]) -> Generator[Told, None, T]:
    """Do long work, telling in other words how far it has come."""
    while True:
        try:
            far = next(work)
        except StopIteration as end:
            found: T = end.value
            return found
        yield tell(far)


def share_of(span: tuple[float, float], done: float) -> float:
    """Return how much of a whole is done when so much is of a part that goes from one to another.

    >>> share_of((0.5, 1.0), 0.5)
    0.75
    """
    return span[0] + (span[1] - span[0]) * done


def run_through(work: Generator[object, None, T]) -> T:
    """Return what long work finds, all of it done at once."""
    while True:
        try:
            next(work)
        except StopIteration as end:
            found: T = end.value
            return found
