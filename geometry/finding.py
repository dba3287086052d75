"""What a check says: a finding with its figures, or that it could not look."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING

from geometry.measures.pose import Vec, Way

if TYPE_CHECKING:
    from geometry.checks.survey import Survey
    from geometry.layout import Layout, Side
    from geometry.stackup.stack_ups import Figure


class Verdict(StrEnum):
    """Blocked when room is shared, tight when a gap is under its margin, clear from there up."""

    BLOCKED = "blocked"
    TIGHT = "tight"
    CLEAR = "clear"


@dataclass(frozen=True)
class Remedy:
    """An edit that was tried on a copy and checked again: its name and the layout it gives."""

    name: str
    layout: Layout
    gives: str


@dataclass(frozen=True)
class Finding:
    """One thing a check found.

    `measured_mm` is a signed gap, negative when short; `required_mm` what was asked for. `ids`
    name the placed items, obstacles, walls, zones or ports concerned, the part at fault first.
    `place` is where in the enclosure it shows; `advice` says in plain words what to do.
    `tolerance` is the stack-up of the measured gap, where there is one.
    """

    kind: str
    verdict: Verdict
    ids: tuple[str, ...]
    title: str
    advice: str
    place: Vec
    measured_mm: float | None = None
    required_mm: float | None = None
    shares_room: bool = False
    """Whether the parties stand in each other's room; the volume of that may not be asked for."""
    of_a_gap: bool = False
    """Whether what is measured is a gap between two solids, not of holes, slots or sizes."""
    volume_mm3: float | None = None
    shift: Vec | None = None
    remedies: tuple[Remedy, ...] = ()
    tolerance: Figure | None = field(default=None, repr=False, compare=False)

    @property
    def advice_last(self) -> str:
        """The advice, as what else would do where changes have been tried that clear it."""
        return second_to_changes(self.advice) if self.remedies else self.advice

    @property
    def to_touching_mm(self) -> float | None:
        """Millimetres left until two solids touch; negative when short, None where none would."""
        return self.measured_mm if self.of_a_gap else None

    @property
    def overlaps(self) -> bool:
        """Whether it tells of shared room, so that what is missing to touching is an overlap."""
        return self.shares_room and (self.measured_mm or 0.0) < 0.0

    @property
    def to_margin_mm(self) -> float | None:
        """Millimetres left above the margin; negative when short."""
        if self.measured_mm is None or self.required_mm is None:
            return None
        return self.measured_mm - self.required_mm


def second_to_changes(advice: str) -> str:
    """Word an advice as second to changes that have been tried: these harm nothing.

    >>> second_to_changes("Take out rib."), second_to_changes("")
    ('Otherwise: Take out rib.', '')
    """
    return f"Otherwise: {advice}" if advice else ""


@dataclass(frozen=True)
class NotRun:
    """A check that could not look at something, and why. Silence never means clear."""

    kind: str
    ids: tuple[str, ...]
    reason: str


@dataclass(frozen=True)
class Leftover:
    """Room left between the last item over a cell and the next solid thing.

    `mm` is a travel along `way`: infinite when nothing is met, negative when room is shared.
    `start` lies on the item's face and `place` where it would touch; `limited_by` is the owner
    of the solid that it meets. `reach_mm` is how far that face stands off the face of the plate
    on which its side is seated: less than the stack's total where what is tallest stands beside it.
    `sideways_mm` is how far both overlap where a move across the stack parts them sooner: then no
    depth is missing, and `mm` is but the way back out of what stands there.
    """

    stack: str
    side: Side
    cell: str
    item: str
    mm: float
    way: Way
    start: Vec
    place: Vec
    limited_by: str | None
    limited_name: str
    reach_mm: float
    sideways_mm: float | None = None


@dataclass(frozen=True)
class LayerSpan:
    """One layer of a stack as a bar to scale: from `base_mm` to `top_mm` off its plate's face."""

    layer: str
    name: str
    base_mm: float
    top_mm: float


@dataclass(frozen=True)
class StackDepth:
    """The depth of one side of a stack: its layers, their total, what is left and what is clear.

    Heights count from the face of the plate on which the side is seated.
    """

    stack: str
    side: Side
    layers: tuple[LayerSpan, ...]
    total_mm: float
    cells: tuple[Leftover, ...]

    @cached_property
    def least(self) -> Leftover:
        """The least leftover depth of all items; the stack's own."""
        return min(self.cells, key=by_depth_left)

    @property
    def clear_mm(self) -> float:
        """The clear depth: how far off the plate's face begins what limits the stack.

        It is the height of the face that is limited and what is left over it, so the total and
        what is left add up to it unless the tallest thing of the stack stands beside that face.
        Nought where the stack is short by more than it takes up there.
        """
        return max(0.0, self.least.reach_mm + self.least.mm)


def by_depth_left(left: Leftover) -> tuple[float, bool]:
    """Return by what leftover depths are sorted so that the least comes first.

    What stands in the way sideways leaves nothing, but less is left where depth is missing.
    """
    return (left.mm, True) if left.sideways_mm is None else (0.0, False)


@dataclass(frozen=True)
class Report:
    """All that the checks said of one layout; `clear` counts the parts without a finding.

    `survey` holds the measures behind it, for the next check to take over.
    """

    findings: tuple[Finding, ...]
    not_run: tuple[NotRun, ...]
    depths: tuple[StackDepth, ...]
    clear: int
    survey: Survey | None = field(default=None, repr=False, compare=False)

    @cached_property
    def blocked(self) -> int:
        """How many findings are blocked."""
        return sum(f.verdict is Verdict.BLOCKED for f in self.findings)

    @cached_property
    def tight(self) -> int:
        """How many findings are tight."""
        return sum(f.verdict is Verdict.TIGHT for f in self.findings)
