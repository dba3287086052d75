"""A session in an odd room: random steps of all that a window lets one do, and undo.

Edits of what stands; locks; parts and the room changed in place, under their ids; judge, margins
and states; stacks and free parts in another order. Every layout is one that a file may hold.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from random import Random

from odd_changes import IN_PLACE, TOLD
from odd_draws import LONG, SHORT, Draws, Maker
from odd_edits import STANDING
from odd_rooms import odd_case

from geometry.edits import EditError
from geometry.layout import Layout
from geometry.references import reference_faults

FILLED_BY = 6
"""A session begins when so many parts more than the room had were put in."""

UNDO_SHARE = 0.15
BACK = 6
"""An undo goes back by at most so many steps."""


KINDS: dict[str, Maker] = {**STANDING, **TOLD, **IN_PLACE}
"""Every kind of step; what gives None is not possible in the layout."""

SORTS: tuple[tuple[str, ...], ...] = ((*STANDING,), (*TOLD,), (*IN_PLACE,))
"""What is as often drawn: an edit of what stands, what is told of it, what changes in place."""


@dataclass(frozen=True)
class Step:
    """What was done, and the layout that it gave."""

    name: str
    layout: Layout


@dataclass(frozen=True)
class Session:
    """Draws steps in an odd room."""

    draws: Draws
    begin: Layout

    @classmethod
    def of(cls, seed: int) -> Session:
        """Return the session of a seed, always the same, in its room with a few parts more."""
        random, case = Random(seed), odd_case(seed).case
        wishes, layout = case.wishes, case.layout
        parts = (*wishes.exchangers, *wishes.fans, *wishes.pumps, *layout.parts.values())
        known = {part.id: part for part in (*parts, LONG, SHORT)}
        session = cls(Draws(random, tuple(known.values())), layout)
        for _ in range(FILLED_BY):
            layout = session.step(layout, ("insert", "insert", "add free")).layout
        return replace(session, begin=layout)

    def steps(self, most: int) -> Iterator[Step]:
        """Yield steps one on the other; some go back to a layout shortly before."""
        past = [self.begin]
        for _ in range(most):
            if len(past) > 1 and self.draws.random.random() < UNDO_SHARE:
                step = Step("undo", self.draws.random.choice(past[-BACK:]))
            else:
                step = self.step(past[-1])
            past.append(step.layout)
            yield step

    def step(self, layout: Layout, among: Sequence[str] = ()) -> Step:
        """Return a step that does something, drawn anew as long as it is refused."""
        while True:
            name = self.draws.random.choice(among or self.draws.random.choice(SORTS))
            edit = KINDS[name](self.draws, layout)
            if edit is None:
                continue
            try:
                after = edit(layout)
            except EditError:
                continue
            if after is not layout and not reference_faults(after):
                return Step(name, after)
