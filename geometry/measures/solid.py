"""A solid: prisms with an owner and a role. What is measured, drawn and named in findings."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from geometry.measures.prism import Bounds, Prism, whole_bounds


class Role(StrEnum):
    """What a solid stands for; verdicts depend on it."""

    BODY = "body"
    PORT_END = "port end"
    FITTING = "fitting"
    CABLE = "cable"
    KEEP_OUT = "keep-out"
    AIR = "air"


HARD_ROLES = (Role.BODY, Role.PORT_END, Role.FITTING, Role.CABLE)
"""Roles that fill their room: shared room is blocked, a small gap is tight."""


@dataclass(frozen=True, eq=False)
class Solid:
    """The union of `prisms`, in world coordinates.

    `owner` is the id of a placed item, obstacle, wall or outside solid; `id` names this solid
    among all ("E1/port-end"). `stack` is the stack in which it is bolted, `held_on` the wall,
    panel, obstacle or part that holds it; a solid holds others under its owner's id and under
    those in `holds`.
    `fixed` solids belong to the enclosure; pairs of them are not looked at.
    """

    id: str
    owner: str
    name: str
    role: Role
    prisms: tuple[Prism, ...]
    stack: str | None = None
    held_on: str | None = None
    holds: frozenset[str] = field(default_factory=frozenset)
    fixed: bool = False

    bounds: Bounds = field(init=False, repr=False)
    """Least x, y, z, then greatest x, y, z over all prisms."""
    hard: bool = field(init=False, repr=False)
    """Whether it fills its room, unlike a keep-out or air."""

    def __post_init__(self) -> None:
        # Every solid is asked for both, again and again.
        object.__setattr__(self, "bounds", whole_bounds(self.prisms))
        object.__setattr__(self, "hard", self.role in HARD_ROLES)

    def bolted_to(self, other: Solid) -> bool:
        """Whether both belong to one joint, so that they may touch.

        What hangs on the same wall is not bolted to each other.
        """
        if self.stack is not None and self.stack == other.stack:
            return True
        return self._hangs_on(other) or other._hangs_on(self)

    def _hangs_on(self, other: Solid) -> bool:
        on = self.held_on
        return on is not None and (on == other.owner or on in other.holds)
