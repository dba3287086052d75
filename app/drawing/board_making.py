"""What every part of the board's drawing needs while it is made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from app.drawing.memory import Memory
from app.drawing.primitives import XY, Bounds, Group, Primitive

if TYPE_CHECKING:
    from app.drawing.drafting import Drafting
    from app.drawing.frame import BoardFrame
    from geometry.checks.runner import Checked

BoardMemory = Memory[Any]
"""Holds groups, owners and their rectangles, each kind under keys of its own."""
Line = tuple[XY, XY]

Noted = tuple[Group, tuple[Bounds, ...]]
"""A group of annotation, and the rectangles that its figures take up."""

LEVEL_WALL = 0
LEVEL_ZONE = 10
LEVEL_SOLID = 1_000
LEVEL_HIDDEN = 3_000
LEVEL_KEEP_OUT = 5_000
LEVEL_ZONE_OVER = 6_000
LEVEL_LABEL = 6_500
LEVEL_SELECTED = 7_000
LEVEL_MARK = 7_100
LEVEL_DIMENSION = 7_200
LEVEL_DEPTH = 7_500
LEVEL_BALLOON = 8_000


class Shows(NamedTuple):
    """What a board shows beside the parts.

    `selection` holds ids of placed parts and obstacles to be outlined, and of stacks; a stack of
    which something is selected shows its layers as a chain of dimensions. `lit_finding` is the
    number of a finding whose balloon stands out.
    """

    selection: frozenset[str] = frozenset()
    lit_finding: int | None = None
    inches: bool = False
    """Whether figures are in inches, not in millimetres."""


@dataclass(frozen=True)
class Making:
    """One drawing in the making: what of, where, how large, and what is known from before.

    Annotations keep within the `sheet` where there is one; None lets them reach as far as they do.
    """

    checked: Checked
    frame: BoardFrame
    drafting: Drafting
    shows: Shows
    memory: BoardMemory
    sheet: Bounds | None = None

    def kept(
        self,
        key: str,
        made_from: tuple[object, ...],
        level: int,
        make: Callable[[], tuple[Primitive, ...]],
    ) -> tuple[Group, ...]:
        """Return the group of a key, made anew only when its ingredients differ.

        The sizes of annotation always count among them. Nothing to draw gives no group.
        """

        def group() -> tuple[Group, ...]:
            primitives = make()
            return (Group(key, primitives, level),) if primitives else ()

        kept: tuple[Group, ...] = self.memory.get(key, (made_from, self.drafting, level), group)
        return kept
