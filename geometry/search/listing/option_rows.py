"""The options of a zone as rows of numbers: which stack, and at which of its slides.

A zone may have hundreds of thousands of options, but few stacks, each at many slides. So an option
is made when it is asked for, and what does not depend on the slide is asked of the stacks.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.listing.option import Option
from geometry.search.long_work import Steps

Numbers = npt.NDArray[np.int32]
Slide = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Options:
    """Option `k` is `stacks[stack[k]]`, listed without a slide, slid on by `slides[slide[k]]`."""

    stacks: tuple[Option, ...]
    slides: tuple[Slide, ...]
    stack: Numbers
    slide: Numbers

    @classmethod
    def of(cls, options: Iterable[Option]) -> Options:
        """Return options that are listed each at one place."""
        every = tuple(options)
        each = np.arange(len(every), dtype=np.int32)
        return cls(every, ((0.0, 0.0),), each, np.zeros_like(each))

    @classmethod
    def joined(cls, parts: Sequence[Options]) -> Options:
        """Return the options of several together, one after the other."""
        stacks = np.cumsum([0, *(len(part.stacks) for part in parts)])
        slides = np.cumsum([0, *(len(part.slides) for part in parts)])
        before = list(zip(parts, stacks.tolist(), slides.tolist(), strict=False))
        return cls(
            tuple(stack for part in parts for stack in part.stacks),
            tuple(slide for part in parts for slide in part.slides),
            np.concatenate([part.stack + np.int32(at) for part, at, _ in before]),
            np.concatenate([part.slide + np.int32(at) for part, _, at in before]),
        )

    def __len__(self) -> int:
        return len(self.stack)

    def __getitem__(self, k: int) -> Option:
        stack, to = self.stacks[int(self.stack[k])], self.slides[int(self.slide[k])]
        return stack if to == stack.slide_mm else replace(stack, slide_mm=to)

    def __iter__(self) -> Iterator[Option]:
        return (self[k] for k in range(len(self)))

    def some(self, keep: Indices) -> Options:
        """Return some of them, which may be taken several times."""
        return Options(self.stacks, self.slides, self.stack[keep], self.slide[keep])

    def only(self, keep: Indices) -> Options:
        """Return some of them, with the stacks that they still need."""
        used, stack = np.unique(self.stack[keep], return_inverse=True)
        stacks = tuple(self.stacks[k] for k in used.tolist())
        return Options(stacks, self.slides, stack.astype(np.int32), self.slide[keep])

    @cached_property
    def different(self) -> Indices:
        """A number for each option, the same where an option is listed several times."""
        return self.stack.astype(np.intp) * len(self.slides) + self.slide

    @cached_property
    def how_many(self) -> int:
        """How many different options there are."""
        return len(np.unique(self.different))

    def which(self, holds: Callable[[Option], bool]) -> Bools:
        """Return for each option whether something holds for its stack."""
        found: Bools = np.array([holds(one) for one in self.stacks], dtype=bool)[self.stack]
        return found

    def figures(self, of: Callable[[Option], float]) -> Floats:
        """Return a figure of the stack of each option."""
        every: Floats = np.array([of(one) for one in self.stacks], dtype=np.float64)
        return every[self.stack]

    def by_pattern(self) -> dict[str, Indices]:
        """Return the options by pattern, as they are listed first."""
        patterns: dict[str, int] = {}
        of_stack = [patterns.setdefault(one.pattern, len(patterns)) for one in self.stacks]
        of_each = np.array(of_stack, dtype=np.intp)[self.stack]
        order = np.argsort(of_each, kind="stable")
        starts = np.searchsorted(of_each[order], np.arange(len(patterns)))
        groups = zip(patterns, np.split(order, starts[1:]), strict=True)
        listed = [(pattern, rows) for pattern, rows in groups if len(rows)]
        return dict(sorted(listed, key=lambda group: int(group[1][0])))


@dataclass
class ListedRows:
    """Options by the numbers under which their stacks are listed, one after the other.

    A stack takes a hundred times as much as its number, and most do not stand. So stacks are listed
    again in the end, and only those kept that do.
    """

    slides: dict[Slide, int] = field(default_factory=dict)
    _stack: array[int] = field(default_factory=lambda: array("i"))
    _slide: array[int] = field(default_factory=lambda: array("i"))

    def __len__(self) -> int:
        return len(self._stack)

    def add(self, number: int, to: Slide = (0.0, 0.0)) -> None:
        """Take in an option at one of its slides, by the number of its stack."""
        self._stack.append(number)
        self._slide.append(self.slides.setdefault(to, len(self.slides)))

    @property
    def stack(self) -> Numbers:
        """The number of the stack of each."""
        return np.array(self._stack, dtype=np.int32)

    def options(self, keep: Indices, stacks: Iterable[Option]) -> Steps[Options]:
        """Return in steps some of them, of the stacks as they were listed first."""
        used, stack = np.unique(self.stack[keep], return_inverse=True)
        wanted = set(used.tolist())
        found = []
        for number, option in enumerate(stacks):
            if number in wanted:
                found.append(option)
            if number % STACKS_A_STEP == 0:
                yield len(found) / max(1, len(wanted))
        slide = np.array(self._slide, dtype=np.int32)[keep]
        return Options(tuple(found), tuple(self.slides), stack.astype(np.int32), slide)


STACKS_A_STEP = 1_000
"""So many stacks are listed at once, some milliseconds."""
