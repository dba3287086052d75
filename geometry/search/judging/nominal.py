"""The nominal depth that a zone is given for: how far a stack may reach, and what is left of it."""

from __future__ import annotations

import numpy as np

from geometry.layout import Side
from geometry.measures.broadphase import Floats
from geometry.placement import ZoneFrame
from geometry.search.judging.standing import by_side
from geometry.search.judging.units import Units


def nominal_mm(frame: ZoneFrame, side: Side) -> float | None:
    """Return how far a stack may reach on a side, from the datum; None if nobody says."""
    plate = frame.zone.outer if side == "outer" else frame.zone.inner
    return None if plate is None or plate.depth_mm is None else plate.plate_mm + plate.depth_mm


def far_mm(bounds: Floats, frame: ZoneFrame, side: Side) -> Floats:
    """Return how far things reach on a side, from the datum, by their bounds, shape (n, 6)."""
    way = frame.out_of_plate(side)
    ends = way.sign * bounds[:, [way.axis, way.axis + 3]]
    far: Floats = ends.max(axis=1, initial=-np.inf) - way.sign * frame.pose.shift[way.axis]
    return far


def left_mm(units: Units, frame: ZoneFrame) -> Floats:
    """Return what each hard unit leaves of the nominal depth of its side; infinite for others."""
    left = np.full(len(units), np.inf)
    for side, rows in by_side(units):
        nominal = nominal_mm(frame, side)
        if nominal is not None:
            hard = rows[units.hard[rows]]
            left[hard] = nominal - far_mm(units.bounds[hard], frame, side)
    return left
