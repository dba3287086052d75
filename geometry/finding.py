"""What a check says: a finding with its figures, or that it could not look."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from geometry.pose import Vec

if TYPE_CHECKING:
    from geometry.layout import Layout


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
    """

    kind: str
    verdict: Verdict
    ids: tuple[str, ...]
    title: str
    advice: str
    place: Vec
    measured_mm: float | None = None
    required_mm: float | None = None
    volume_mm3: float | None = None
    shift: Vec | None = None
    remedies: tuple[Remedy, ...] = ()

    @property
    def to_touching_mm(self) -> float | None:
        """Millimetres left until the solids touch; negative when short."""
        return self.measured_mm

    @property
    def to_margin_mm(self) -> float | None:
        """Millimetres left above the margin; negative when short."""
        if self.measured_mm is None or self.required_mm is None:
            return None
        return self.measured_mm - self.required_mm


@dataclass(frozen=True)
class NotRun:
    """A check that could not look at something, and why. Silence never means clear."""

    kind: str
    ids: tuple[str, ...]
    reason: str
