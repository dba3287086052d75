"""What options leave in each choice of states of obstacles, and what of that is the same.

Tables tell of pairs only, and what is left is a figure of an option alone. So an option is listed
once for each figure that it may have: each listing stands with those states only for which it has
that figure, and no combination is listed twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import prod

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.listing.option_rows import Numbers


@dataclass(frozen=True)
class Same:
    """States of each of some obstacles, by number, with all of which the same is left (mm)."""

    states: tuple[tuple[int, ...], ...]
    left_mm: float
    ends_mm: float


@dataclass(frozen=True, eq=False)
class LeftByStates:
    """Depth left and room at the better end of options, for each choice of states of obstacles.

    Option `k` has the figures `figures[of[k]]`, shape (2, choices); the choices have a `shape`,
    states by obstacle, 1 where all states leave the same.
    """

    figures: Floats
    of: Numbers
    shape: tuple[int, ...]

    @classmethod
    def told(cls, left_mm: Floats, ends_mm: Floats, shape: tuple[int, ...]) -> LeftByStates:
        """Return the figures of options, shape (options, choices) each, those alike once."""
        return cls._once(np.stack([left_mm, ends_mm], axis=1), shape)

    @classmethod
    def joined(cls, parts: Sequence[LeftByStates]) -> LeftByStates:
        """Return the figures of the options of several, one after the other."""
        shape = tuple(max(sizes) for sizes in zip(*(part.shape for part in parts), strict=True))
        spread = [part._spread(shape) for part in parts]
        once = cls._once(np.concatenate(spread), shape)
        before = np.cumsum([0, *(len(part.figures) for part in parts)])
        of = [once.of[part.of + at] for part, at in zip(parts, before, strict=False)]
        return cls(once.figures, np.concatenate(of), shape)

    @classmethod
    def _once(cls, figures: Floats, shape: tuple[int, ...]) -> LeftByStates:
        flat = figures.reshape(len(figures), 2 * prod(shape))
        few, of = np.unique(flat, axis=0, return_inverse=True)
        return cls(few.reshape(len(few), *figures.shape[1:]), of.astype(np.int32).ravel(), shape)

    def _spread(self, shape: tuple[int, ...]) -> Floats:
        own = self.figures.reshape(len(self.figures), 2, *self.shape)
        whole: Floats = np.broadcast_to(own, (len(own), 2, *shape))
        return whole.reshape(len(own), 2, prod(shape))

    @property
    def left_mm(self) -> Floats:
        """The depth left to each option in the first of all states."""
        found: Floats = self.figures[self.of, 0, 0]
        return found

    @property
    def ends_mm(self) -> Floats:
        """The room at the better end of each option in the first of all states."""
        found: Floats = self.figures[self.of, 1, 0]
        return found

    def some(self, keep: Indices) -> LeftByStates:
        """Return the figures of some options, which may be taken several times."""
        return LeftByStates(self.figures, self.of[keep], self.shape)

    def apart(self, option: int, may: Sequence[Bools]) -> list[Same]:
        """Return the choices of states that an option may stand with, by what is left in them.

        `may` tells of the states of each obstacle whether it stands with them; where it stands with
        none of some, all are taken together. Each choice is in one of them, the first in the first.
        """
        figures = self.figures[self.of[option]].reshape(2, *self.shape)
        states = [tuple(np.flatnonzero(one).tolist()) for one in may]
        if not all(states):
            everything = tuple(tuple(range(len(one))) for one in may)
            return [Same(everything, *figures.reshape(2, -1)[:, 0].tolist())]
        told = [some if size > 1 else (0,) for some, size in zip(states, self.shape, strict=True)]
        part = figures[np.ix_((0, 1), *told)]
        return [
            Same(
                tuple(
                    box if size > 1 else some
                    for box, some, size in zip(of, states, self.shape, strict=True)
                ),
                *figure,
            )
            for of, figure in _boxes(part, told)
        ]


Box = tuple[tuple[int, ...], ...]


def _boxes(
    figures: Floats, numbers: Sequence[tuple[int, ...]]
) -> Iterator[tuple[Box, tuple[float, float]]]:
    """Yield choices of states with the same figures each, as the numbers of states by obstacle.

    Split is by the states of that obstacle first that has the fewest different ones.
    """
    apart = {
        axis: groups for axis in range(1, figures.ndim) if len(groups := _alike(figures, axis)) > 1
    }
    if not apart:
        left_mm, ends_mm = figures.reshape(2, -1)[:, 0].tolist()
        yield tuple(numbers), (left_mm, ends_mm)
        return
    axis = min(apart, key=lambda one: len(apart[one]))
    for group in apart[axis]:
        own = tuple(numbers[axis - 1][k] for k in group)
        inside = [*numbers[: axis - 1], own, *numbers[axis:]]
        yield from _boxes(figures.take([group[0]], axis=axis), inside)


def _alike(figures: Floats, axis: int) -> list[list[int]]:
    """Return the places along an axis whose figures are the same."""
    found: dict[bytes, list[int]] = {}
    for k in range(figures.shape[axis]):
        found.setdefault(figures.take(k, axis=axis).tobytes(), []).append(k)
    return list(found.values())
