"""Whether the wall behind the fans of a stack is open, slide by slide."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from catalog.enclosure import Enclosure
from catalog.parts import Fan
from geometry.checks.faces import wall_of
from geometry.checks.rules.air_sense import opening_behind
from geometry.measures.pose import Vec
from geometry.placement import Placed


@dataclass
class OpenWall:
    """The openings behind one zone; keeps what it was asked for each place of a fan."""

    enclosure: Enclosure
    owner: str
    known: dict[object, bool] = field(default_factory=dict)

    def closed(self, placed: Sequence[Placed], by: Vec) -> bool:
        """Whether a fan of a stack, moved on by so much, has no opening of its wall behind it.

        As in the check, nothing is closed where no opening of the enclosure is described.
        """
        wall = wall_of(self.enclosure, self.owner)
        if wall is None or not self.enclosure.openings:
            return False
        return not all(self._open(one, by, wall) for one in placed if isinstance(one.part, Fan))

    def _open(self, one: Placed, by: Vec, wall: str) -> bool:
        assert isinstance(one.part, Fan)
        x, y, z = (at + more for at, more in zip(one.pose.shift, by, strict=True))
        pose = replace(one.pose, shift=(x, y, z))
        key = (one.part.frame_mm, pose)
        if key not in self.known:
            self.known[key] = opening_behind(self.enclosure, replace(one, pose=pose), wall)
        return self.known[key]
