"""Long work in steps: a generator that yields how far it has come and returns what it found."""

from __future__ import annotations

from collections.abc import Callable, Generator
from typing import TypeVar

T = TypeVar("T")
Told = TypeVar("Told")

Steps = Generator[float, None, T]
"""Yields the share that is done (0 to 1) as often as a user who wants to stop should be heard."""


def told_as(steps: Steps[T], tell: Callable[[float], Told]) -> Generator[Told, None, T]:
    """Do work in steps, telling in other words how far it has come."""
    while True:
        try:
            done = next(steps)
        except StopIteration as end:
            found: T = end.value
            return found
        yield tell(done)


def share_of(span: tuple[float, float], done: float) -> float:
    """Return how much of a whole is done when so much is of a part that goes from one to another.

    >>> share_of((0.5, 1.0), 0.5)
    0.75
    """
    return span[0] + (span[1] - span[0]) * done


def run_through(steps: Generator[object, None, T]) -> T:
    """Return what work in steps or with pauses finds, all of it done at once."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            found: T = end.value
            return found
