"""The least that is left to the items of options, with what lies over them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices


@dataclass(frozen=True, eq=False)
class ItemsLeft:
    """What is left to the items of some options, one after the other (mm).

    Beyond them to what they meet, and within the nominal depth; `outer` tells which are on the
    outer side.
    """

    met: Floats
    nominal: Floats
    outer: Bools

    def least(
        self, starts: Indices, last: Bools, meets: Callable[[int, Sequence[int]], bool]
    ) -> Floats:
        """Return what is left to each option, whose items begin at `starts`.

        `last` are the last over a cell; `meets` says whether what items over one leave bare of it
        meets anything.
        """
        left, size = self.met.copy(), len(starts) - 1
        option = np.repeat(np.arange(size, dtype=np.intp), np.diff(starts))
        of_side = 2 * option + self.outer
        least_last = np.full(2 * size, inf)
        np.minimum.at(least_last, of_side[last], self.nominal[last])
        # What reaches farther than the last, and is met only where they cover it, meets nothing.
        out_of_last = ~last & (self.nominal < np.minimum(least_last[of_side], left))
        for k in np.flatnonzero(out_of_last & np.isfinite(left)).tolist():
            after_it = range(k + 1, int(starts[option[k] + 1]))
            if not meets(k, [m for m in after_it if of_side[m] == of_side[k]]):
                left[k] = inf
        asked = np.isinf(left) & (last | out_of_last)
        left[asked] = self.nominal[asked]
        out = np.full(size, inf)
        np.minimum.at(out, option, left)
        return out
