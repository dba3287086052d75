"""The pairs of changes worth a try: the second is measured on what the first leaves.

So a slide, a move or a cut beside another change is as long as is missing then, not as it was. A
second change is tried only on what every fault that is left concerns: nothing else mends them all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from catalog.parts import Part
from geometry.checks.rules import (
    clearance,
    leftover_depth,
    outside_cavity,
    overlap,
    plug_room,
    port_end,
    worst_case,
)
from geometry.checks.runner import Checked
from geometry.finding import Finding
from geometry.measures.solid import Solid
from geometry.scene import Scene
from geometry.search.mending.changes import steps_for
from geometry.search.mending.measured import is_short
from geometry.search.mending.steps import Step
from geometry.search.mending.wanted import Wanted

Pair = tuple[Step, Step]

Left = Callable[[Step], tuple[Checked, Wanted] | None]
"""Returns the layout after a step, and the faults that a second one would have to clear."""

OF_ROOM = frozenset(
    (overlap.KIND, outside_cavity.KIND, clearance.KIND, port_end.KIND, leftover_depth.KIND,
     plug_room.KIND, worst_case.KIND)
)  # fmt: skip
"""Faults of what takes up room: they go only where something that they name moves or changes."""


class Reach:
    """Which things each step moves or changes, by itself in the layout at hand."""

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._moved: dict[tuple[str, str], frozenset[str]] = {}

    def note(self, step: Step, after: Scene) -> None:
        """Keep what a step gives by itself."""
        one, other = _solids_by_owner(self._scene), _solids_by_owner(after)
        moved = (owner for owner in one.keys() | other.keys() if one.get(owner) != other.get(owner))
        self._moved[step.key] = frozenset(moved)

    def may_clear(self, step: Step, finding: Finding) -> bool:
        """Whether a step may have to do with a fault; so it is taken of one that is not known."""
        moved = self._moved.get(step.key)
        return moved is None or finding.kind not in OF_ROOM or not moved.isdisjoint(finding.ids)


def still_short(scene: Scene, wanted: Wanted) -> bool:
    """Whether two things that one finding names are still too near to each other, as drawn.

    It costs far less than a check, and what is true here the check says too.
    """
    (finding,) = wanted.findings
    if finding.kind not in OF_ROOM or len(finding.ids) != 2:
        return False
    one, other = finding.ids
    mine = scene.solids_of.get(one, ())
    theirs = scene.solids_of.get(other) or [s for s in scene.fixed if s.owner == other]
    return any(is_short(scene, a, b) and wanted.asks(scene, a, b) for a in mine for b in theirs)


def _solids_by_owner(scene: Scene) -> dict[str, tuple[Solid, ...]]:
    found: dict[str, tuple[Solid, ...]] = dict(scene.solids_of)
    for solid in scene.fixed:
        found[solid.owner] = (*found.get(solid.owner, ()), solid)
    return found


def pairs_of(
    firsts: Sequence[Step],
    wanted: Sequence[Finding],
    reach: Reach,
    left_after: Left,
    parts: Sequence[Part],
    *,
    cutting: bool,
) -> Iterator[list[Pair]]:
    """Yield the pairs that begin with each of some steps, each pair once, the cheapest first.

    Of `wanted`, what is to be cleared, the first has to reach one fault: beside a step that
    reaches none the other would have to clear them all, and is a first itself.
    """
    known: set[frozenset[tuple[str, str]]] = set()
    for first in firsts:
        found: list[Pair] = []
        reaches = any(reach.may_clear(first, fault) for fault in wanted)
        after = left_after(first) if reaches else None
        if after is not None:
            scene, left = after[0].scene, after[1]
            for second in steps_for(scene, left, parts, cutting=cutting, at_once=True):
                key = frozenset((first.key, second.key))
                if first.excludes(second) or key in known:
                    continue
                if all(reach.may_clear(second, fault) for fault in left.findings):
                    known.add(key)
                    found.append((first, second))
        yield found


def cost(steps: Sequence[Step]) -> tuple[bool, float]:
    """Return by what changes are ranked: whether they cut, and what they cost."""
    return any(step.cuts for step in steps), sum(step.cost for step in steps)
