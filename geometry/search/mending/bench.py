"""Tries changes on one layout, each with the full check."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from geometry.checks.runner import Checked, check_layout
from geometry.edits import EditError
from geometry.finding import Report
from geometry.scene import Scene, build_scene
from geometry.search.mending.steps import Step

Keys = set[tuple[str, frozenset[str]]]
"""Faults, each by its kind and the things concerned."""

MOST_KEPT = 400


class Bench:
    """Tries changes on one layout; `count` is how many changed layouts were checked.

    `promising` says of a report by dimensions as drawn whether the worst cases are worth a look;
    they only add faults. Of two steps `together` says so; they are in vain, and not checked, where
    their layout is `hopeless` for who knows what the first one left.
    """

    def __init__(
        self,
        checked: Checked,
        promising: Callable[[Report], bool],
        together: Callable[[Report], bool] | None = None,
        hopeless: Callable[[Scene, Step], bool] = lambda *_: False,
    ) -> None:
        self.checked = checked
        self.promising = promising
        self.together = together or promising
        self.hopeless = hopeless
        self.count = 0
        self._known: dict[tuple[tuple[str, str], ...], tuple[Checked | None, bool]] = {}

    def checked_after(self, steps: Sequence[Step]) -> Checked | None:
        """Return the check after some steps; None when they cannot be made, or are in vain.

        It is the full check where it looks promising as drawn, else that as drawn.
        """
        return self._tried(steps)[0]

    def in_full(self, steps: Sequence[Step]) -> bool:
        """Whether the check after some steps is the full one."""
        return self._tried(steps)[1]

    def _tried(self, steps: Sequence[Step]) -> tuple[Checked | None, bool]:
        key = tuple(step.key for step in steps)
        if key not in self._known:
            if len(self._known) >= MOST_KEPT:
                self._known.clear()
            self._known[key] = self._after(steps)
        return self._known[key]

    def _after(self, steps: Sequence[Step]) -> tuple[Checked | None, bool]:
        layout = self.checked.scene.layout
        try:
            for step in steps:
                before = layout
                layout = step.edit(layout)
                if layout is before or layout == before:
                    return None, False
        except (EditError, KeyError):
            return None, False
        self.count += 1
        if len(steps) > 1 and self.hopeless(build_scene(layout, self.checked.scene), steps[0]):
            return None, False
        # Another margin moves nothing, so the worst cases would be taken over as they were.
        if all(step.kind != "margin" for step in steps):
            drawn = check_layout(
                layout, self.checked, remedies=False, worst_cases=False, volumes="none"
            )
            promising = self.together if len(steps) > 1 else self.promising
            if not promising(drawn.report):
                return drawn, False
        return check_layout(layout, self.checked, remedies=False, volumes="none"), True

    def least(
        self,
        steps: Sequence[Step],
        works: Callable[[Sequence[Step]], bool],
    ) -> tuple[Step, ...]:
        """Return steps that work with each amount cut down to the least tenth that still does.

        What does not do by itself may do beside other steps, so only a single step starts from
        the amount that is known not to. What is cut off is cut down first: it cannot be put back.
        Of that a little less is tried besides: general tolerances go by steps of length, so that it
        may do where a tenth less does not.
        """
        done = tuple(steps)
        for k, step in sorted(enumerate(done), key=lambda one: not one[1].cuts):
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
            while step.cuts and high > 2:
                shorter = (*done[:k], step.sized.by(high - 2), *done[k + 1 :])
                if not works(shorter):
                    break
                done, high = shorter, high - 2
        return tuple(done)
