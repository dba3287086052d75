"""The options of one zone that stand alone, what they are made of, and their depth left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.measures.broadphase import Floats, Indices
from geometry.search.judging.left_by_states import LeftByStates
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.units import Makeup
from geometry.search.listing.option_rows import Options


@dataclass(frozen=True, eq=False)
class ZoneOptions:
    """The options of one zone that stand alone, what they are made of, and their depth left.

    `left_mm` is the least leftover depth against all that stands already, infinite for an empty
    zone; `ends_mm` the room beside the stack at the end along u where there is more of it.
    `listed` counts all options before they were judged. An option may be listed several times, for
    different zones that may have something ahead of it, or for states of obstacles in which
    different depths are left; `by_states` has these until it is.
    """

    zone: str
    options: Options
    makeup: Makeup
    left_mm: Floats
    ends_mm: Floats
    listed: int
    tolerant: Tolerant | None = None
    by_states: LeftByStates | None = None

    @property
    def fit_alone(self) -> int:
        """How many different options there are."""
        return self.options.how_many

    @classmethod
    def joined(cls, parts: Sequence[ZoneOptions]) -> ZoneOptions:
        """Return the options of one zone that were listed in several parts."""
        if len(parts) == 1:
            return parts[0]
        tolerant = [part.tolerant for part in parts if part.tolerant is not None]
        by_states = [part.by_states for part in parts if part.by_states is not None]
        return cls(
            parts[0].zone,
            Options.joined([part.options for part in parts]),
            Makeup.joined([part.makeup for part in parts]),
            np.concatenate([part.left_mm for part in parts]),
            np.concatenate([part.ends_mm for part in parts]),
            sum(part.listed for part in parts),
            Tolerant.joined(tolerant) if tolerant else None,
            LeftByStates.joined(by_states) if by_states else None,
        )

    def some(self, keep: Indices) -> ZoneOptions:
        """Return some of them, which may be listed several times."""
        return ZoneOptions(
            self.zone,
            self.options.some(keep),
            self.makeup.some(keep),
            self.left_mm[keep],
            self.ends_mm[keep],
            self.listed,
            None if self.tolerant is None else self.tolerant.some(keep),
            None if self.by_states is None else self.by_states.some(keep),
        )
