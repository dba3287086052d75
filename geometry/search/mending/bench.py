"""Tries changes on one layout, each with the full check."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from geometry.checks.runner import Checked, check_layout
from geometry.edits import EditError
from geometry.finding import Report
from geometry.search.mending.steps import Step

Keys = set[tuple[str, frozenset[str]]]
"""Faults, each by its kind and the things concerned."""

MOST_KEPT = 400


class Bench:
    """Tries changes on one layout; `count` is how many changed layouts were checked.

    `promising` says of a report by dimensions as drawn whether the worst cases are worth a look;
    they only add faults.
    """

    def __init__(self, checked: Checked, promising: Callable[[Report], bool]) -> None:
        self.checked = checked
        self.promising = promising
        self.count = 0
        self._known: dict[tuple[tuple[str, str], ...], Checked | None] = {}

    def checked_after(self, steps: Sequence[Step]) -> Checked | None:
        """Return the check after some steps; None when they cannot be made or do nothing.

        It is the full check where it looks promising as drawn, else that as drawn.
        """
        key = tuple(step.key for step in steps)
        if key not in self._known:
            if len(self._known) >= MOST_KEPT:
                self._known.clear()
            self._known[key] = self._after(steps)
        return self._known[key]

    def _after(self, steps: Sequence[Step]) -> Checked | None:
        layout = self.checked.scene.layout
        try:
            for step in steps:
                before = layout
                layout = step.edit(layout)
                if layout is before or layout == before:
                    return None
        except (EditError, KeyError):
            return None
        self.count += 1
        # Another margin moves nothing, so the worst cases would be taken over as they were.
        if all(step.kind != "margin" for step in steps):
            drawn = check_layout(
                layout, self.checked, remedies=False, worst_cases=False, volumes=False
            )
            if not self.promising(drawn.report):
                return drawn
        return check_layout(layout, self.checked, remedies=False, volumes=False)

    def least(
        self,
        steps: Sequence[Step],
        works: Callable[[Sequence[Step]], bool],
    ) -> tuple[Step, ...]:
        """Return steps that work with each amount cut down to the least tenth that still does.

        What does not do by itself may do beside other steps, so only a single step starts from
        the amount that is known not to.
        """
        done = tuple(steps)
        for k, step in enumerate(done):
            if step.sized is None:
                continue
            low, high = (step.sized.above if len(done) == 1 else 0), step.sized.tenths
            middle = high - 1
            while high - low > 1:
                shorter = (*done[:k], step.sized.by(middle), *done[k + 1 :])
                if works(shorter):
                    done, high = shorter, middle
                else:
                    low = middle
                middle = (low + high) // 2
        return tuple(done)
