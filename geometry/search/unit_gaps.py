"""What units of two zones are missing between them as drawn, those that stand alike measured once.

Options share most of their units, and these stand alike to each other at many places. So what is
missing between millions of pairs of options is known from some thousands of gaps between units.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from geometry.measures.broadphase import Floats, Indices
from geometry.measures.clearance import signed_gap_mm
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.boxes_between import Boxes, BoxPairs, parts_of_pairs
from geometry.search.judging.units import Makeup
from geometry.search.long_work import Pauses
from geometry.search.solving.bits import keys_of

MOST_KNOWN = 2**16
"""So many gaps are kept, some 200 bytes each; then it is begun anew."""

MEASURED_AT_ONCE = 100
"""So many gaps are measured between two pauses, each up to a millisecond."""

SAME_DIGITS = 9
"""Units stand alike where they do to so many digits of a millimetre."""


@dataclass(eq=False)
class UnitGaps:
    """Measures the units of two zones against each other, whatever options are made of them."""

    makeups: tuple[Makeup, Makeup]
    margins: Floats
    known: dict[bytes, float] = field(default_factory=dict)

    @cached_property
    def _boxes(self) -> tuple[tuple[Boxes, Boxes], tuple[Boxes, Boxes]]:
        """The boxes inside the units of both zones, and those around them."""
        one, other = self.makeups
        inside = Boxes.inside(one), Boxes.inside(other)
        return inside, (Boxes.around(one), Boxes.around(other))

    def most_short_mm(self, pairs: Indices, enough_mm: float) -> Pauses[Floats]:
        """Return with pauses what is missing most of all units between pairs of options.

        `pairs` numbers these in their zones, shape (n, 2). Exact of units where something is
        missing, less than `enough_mm`; solids of several units are parted all at once, so that of
        them more may be missing. Where `enough_mm` or more is missing it is some figure from there
        on; where nothing is, some figure that is no more than nothing.
        """
        numbers = [np.unique(side, return_inverse=True) for side in pairs.T]
        inside, around = (
            [
                replace(boxes, options=boxes.options.some(used))
                for boxes, (used, _) in zip(both, numbers, strict=True)
            ]
            for both in self._boxes
        )
        found = [np.zeros(0)]
        for some in parts_of_pairs(numbers[0][1], numbers[1][1], around):
            between = BoxPairs.of(around, some)
            short = between.short_mm(inside, self.margins)
            most = between.short_mm(around, self.margins)
            so_far = between.most(short)
            than = np.where(so_far < enough_mm, np.maximum(so_far, 0.0), np.inf)
            more = np.maximum(short, np.repeat(than, between.counts))
            open_ones = np.flatnonzero(most > more + LENGTH_EPS_MM / 2)
            i, j = between.i[open_ones], between.j[open_ones]
            gaps = yield from self._gaps(i, j)
            one, other = around
            short[open_ones] = self.margins[one.role[i], other.role[j]] - gaps
            found.append(between.most(short))
            yield
        return np.concatenate(found)

    def _gaps(self, i: Indices, j: Indices) -> Pauses[Floats]:
        """Return with pauses the signed gaps (mm) of pairs of units."""
        one, other = (makeup.units for makeup in self.makeups)
        if len(self.known) > MOST_KNOWN:
            self.known.clear()
        apart = (other.bounds[j, :3] - one.bounds[i, :3]).round(SAME_DIGITS) + 0.0
        alike = np.column_stack((one.prisms.likeness[i], other.prisms.likeness[j]))
        keys = keys_of(np.hstack((alike.astype(np.float64), apart)).view(np.uint8))
        out, measured = np.zeros(len(keys)), 0
        for n, key in enumerate(keys):
            gap = self.known.get(key)
            if gap is None:
                gap = signed_gap_mm([one.prisms[i[n]]], [other.prisms[j[n]]])
                self.known[key] = gap
                measured += 1
                if measured % MEASURED_AT_ONCE == 0:
                    yield
            out[n] = gap
        return out
