"""What stands nearest to each placed part, told also where it is far enough away.

A port end with its fittings and the hand room round them is looked at on its own, the rest of the
part besides. Nearest is what leaves least above what must be kept, so that a plug, which may be
touched, counts before a panel a millimetre farther away. What is bolted to the part, and what a
plate or wall parts from it, are left out as the checks leave them out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Literal

import numpy as np

from geometry.checks.survey import Survey, is_port_side, plate_between
from geometry.margins import greatest_margin_mm, judged, required_mm
from geometry.measures.broadphase import Floats
from geometry.measures.clearance import signed_gap_mm
from geometry.measures.prism import Bounds
from geometry.measures.solid import Solid
from geometry.stackup.stack_ups import Figure

Kind = Literal["port_end", "clearance"]


@dataclass(frozen=True, eq=False)
class Nearest:
    """The solid of a part, port side or not, that has least room, and what stands nearest to it.

    `gap_mm` is signed, negative where both share room; `required_mm` is the gap that they must
    keep.
    """

    kind: Kind
    owner: str
    a: Solid
    b: Solid
    gap_mm: float
    required_mm: float

    @property
    def word(self) -> str:
        """What is told of the part: its "port end", or its "clearance"."""
        return self.kind.replace("_", " ")

    @property
    def spare_mm(self) -> float:
        """What is left above the gap that must be kept; negative when short."""
        return self.gap_mm - self.required_mm


def nearest_of(survey: Survey, owner: str) -> tuple[Nearest, ...]:
    """Return what stands nearest to the port end of a placed part and to the rest of it.

    Raises KeyError where no such part is placed.
    """
    solids = survey.scene.solids_of[owner]
    groups: tuple[tuple[Kind, list[Solid]], ...] = (
        ("port_end", [s for s in solids if is_port_side(s)]),
        ("clearance", [s for s in solids if not is_port_side(s)]),
    )
    found = (_nearest(survey, kind, owner, group) for kind, group in groups)
    return tuple(one for one in found if one is not None)


def nearest_figure(survey: Survey, one: Nearest) -> Figure:
    """Return the stack-up of the gap to what stands nearest.

    In the worst case something else that must be kept as far off may leave less.
    """
    return _nearest_figures(survey, one)[0]


def nearest_told(survey: Survey, owner: str) -> Iterator[tuple[Nearest, Figure]]:
    """Yield what stands nearest to a placed part with its stack-ups.

    After each what leaves less than it in the worst case, but has another gap to keep, where there
    is such: room for a lead, which may be touched, before a panel. Each has figures of its own.
    """
    for one in nearest_of(survey, owner):
        figure, other = _nearest_figures(survey, one)
        yield one, figure
        if other is not None:
            yield other, nearest_figure(survey, other)


def _nearest_figures(survey: Survey, one: Nearest) -> tuple[Figure, Nearest | None]:
    """Return the stack-up of the nearest gap, and what leaves less with another gap to keep."""
    tolerances = survey.tolerances
    drawn = tolerances.between((one.a,), (one.b,))
    decides, decided_by, other = drawn, one.a, None
    spare = other_spare = drawn.worst.worst_mm - one.required_mm
    settings = survey.scene.layout.settings
    group = [s for s in survey.scene.solids_of[one.owner] if is_port_side(s) == is_port_side(one.a)]
    near = [(drawn, one.required_mm)]
    likely = drawn.likely_least_mm - one.required_mm
    for a in group:
        for bound, b in _others(survey, a, tolerances.far_out(a), tolerances.far_bounds):
            if bound - greatest_margin_mm(settings) >= likely:
                break
            required = required_mm(settings, a, b)
            if (a, b) == (one.a, one.b) or bound - required >= likely:
                continue
            if plate_between(survey.scene, a, b):
                continue
            found = tolerances.between((a,), (b,))
            left = found.worst.worst_mm - required
            if left < likely:
                near.append((found, required))
                likely = min(likely, found.likely_least_mm - required)
            if required == one.required_mm and left < spare:
                decides, decided_by, spare = found, a, left
            elif required != one.required_mm and left < other_spare:
                gap_mm = found.nominal.nominal_mm
                other = Nearest(one.kind, one.owner, a, b, gap_mm, required)
                other_spare = left
    if other_spare >= spare:
        other = None
    if len(near) == 1:
        return drawn, None
    # All are told by what they leave above what they need, as the one that is nearest tells it.
    every = tuple(
        each.asking(one.required_mm - required) for found, required in near for each in found.near
    )
    of = "" if decided_by.name == one.a.name else decided_by.name
    worst = replace(decides, nominal=drawn.nominal, others=drawn.others, near=every, worst_of=of)
    return worst, other


def _nearest(survey: Survey, kind: Kind, owner: str, solids: Sequence[Solid]) -> Nearest | None:
    best: Nearest | None = None
    settings = survey.scene.layout.settings
    for a in solids:
        spare = inf if best is None else best.spare_mm
        for bound, b in _others(survey, a, a.bounds, survey.scene.bounds):
            if bound - greatest_margin_mm(settings) >= spare:
                break
            required = required_mm(settings, a, b)
            if bound - required >= spare:
                continue
            gap = signed_gap_mm(a.prisms, b.prisms)
            if gap - required < spare and (gap < 0 or not plate_between(survey.scene, a, b)):
                best, spare = Nearest(kind, owner, a, b, gap, required), gap - required
    return best


def _others(
    survey: Survey, a: Solid, bounds: Bounds, every: Floats
) -> Iterator[tuple[float, Solid]]:
    """Yield what a solid is judged against, with a bound of the signed gap, the least bound first.

    Bounds that share room are parted by the shortest way out of each other, and so is what is in
    them.
    """
    low, high = np.array(bounds[:3]), np.array(bounds[3:])
    apart = np.maximum(every[:, :3] - high, low - every[:, 3:])
    beside = np.sqrt((np.maximum(apart, 0.0) ** 2).sum(axis=1))
    bound = np.where(beside > 0.0, beside, apart.max(axis=1))
    solids = survey.scene.solids
    for k in np.argsort(bound, kind="stable").tolist():
        b = solids[k]
        if judged(a, b) and not a.bolted_to(b):
            yield float(bound[k]), b
