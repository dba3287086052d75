"""How much may be added to a stack before something comes nearer than it may.

Whatever layer grows, all of the stack's solids move outwards by no more than is added. So each of
them is looked at against all that it is judged against: what it would come under, and what it would
come beside. Added is what is told with its own tolerance in it, as the stack's others stay.

A gap never shrinks faster than its solids move, and in the worst case neither. So it may lose what
it has above its margin, and is lost at once where both face each other along the stack. What stands
askew might let in more than is told, never less.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot, inf, sqrt
from typing import NamedTuple

import numpy as np

from geometry.checks.survey import Survey, plate_between
from geometry.checks.words import at_most_text, mm_text
from geometry.finding import StackDepth
from geometry.item_travel import limits
from geometry.margins import greatest_margin_mm, judged, required_mm
from geometry.measures.clearance import signed_gap_mm
from geometry.measures.pose import Way
from geometry.measures.prism import PLANE, Bounds
from geometry.measures.solid import Role, Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import Placed
from geometry.stack_sides import out_way, zone_side
from geometry.walls import OUTSIDE


class Spare(NamedTuple):
    """What may be added to a side of a stack (mm), what forbids more, and the margin to that.

    `near` is the solid that it comes too near to; None where the depth that is given ends there.
    `of` is what of the stack comes near it. Infinite where nothing forbids any.
    """

    mm: float
    margin_mm: float
    near: Solid | None
    of: Solid | None = None

    @property
    def owner(self) -> str | None:
        """The owner of what forbids more."""
        return None if self.near is None else self.near.owner


def spare_words(survey: Survey, depth: StackDepth) -> str:
    """Say how much may be added to a side of a stack, as a sentence."""
    spare = spare_depth(survey, depth)
    at_worst = "" if _as_drawn(survey) else " in the worst case"
    if spare.mm == inf:
        return f"Nothing limits what can be added{at_worst}."
    keeping = _keeping(spare, depth)
    if spare.mm <= LENGTH_EPS_MM:
        return f"Nothing can be added{at_worst} while {keeping}."
    return f"Up to {at_most_text(spare.mm)} can be added{at_worst} while {keeping}."


def _keeping(spare: Spare, depth: StackDepth) -> str:
    """Return what forbids more in words, as it stays: "keeping the 2.0 mm margin"."""
    near, of = spare.near, spare.of
    if near is None:
        return "keeping within the stated depth"
    if near.role is Role.KEEP_OUT:
        return f"leaving the keep-out of {near.name} free"
    if of is not None and of.role is Role.KEEP_OUT:
        return f"keeping {near.name} out of the keep-out of {of.name}"
    if not spare.margin_mm:
        return f"staying clear of {near.name}"
    to = "" if spare.owner == depth.least.limited_by else f" to {near.name}"
    return f"keeping the {mm_text(spare.margin_mm)} margin{to}"


def spare_depth(survey: Survey, depth: StackDepth) -> Spare:
    """Return how much may be added to a side of a stack that something limits.

    By what the layout is judged: as drawn, or in the worst case.
    """
    placed = survey.depths.sides[depth.stack, depth.side].placed
    least = min(_ends(survey, depth, placed), key=lambda one: one.mm, default=Spare(inf, 0.0, None))
    settings = survey.scene.layout.settings
    for low_mm, a, b in _ahead(survey, placed):
        if low_mm - greatest_margin_mm(settings) >= least.mm:
            break
        need = required_mm(settings, a, b)
        if not judged(a, b) or a.bolted_to(b) or plate_between(survey.scene, a, b):
            continue
        by_bounds = _by_bounds_mm(survey, a, b, out_way(placed[0]), need)
        if by_bounds < least.mm:
            mm = max(_gap_mm(survey, a, b) - need, by_bounds)
            if mm < least.mm:
                least = Spare(mm, need, b, a)
    return least


def _ends(survey: Survey, depth: StackDepth, placed: tuple[Placed, ...]) -> Iterator[Spare]:
    """Yield what is left of a given depth, and to where the outside begins."""
    for left in depth.cells:
        hit = survey.depths.items[left.item].hit
        if left.mm < inf and (hit is None or hit.owner == OUTSIDE):
            figure = None if _as_drawn(survey) else survey.tolerances.depth(left)
            yield Spare(left.mm if figure is None else figure.worst.worst_mm, 0.0, hit)
    given_mm = zone_side(placed[0]).depth_mm
    if given_mm is not None and given_mm >= depth.total_mm:
        # Judged as drawn: a layout that is deeper than a zone is given for is told to be measured.
        yield Spare(given_mm - depth.total_mm, 0.0, None)


def _ahead(survey: Survey, placed: tuple[Placed, ...]) -> list[tuple[float, Solid, Solid]]:
    """Return pairs that may come nearer, with how far they are apart at least along the stack."""
    scene, way = survey.scene, out_way(placed[0])
    margin = greatest_margin_mm(scene.layout.settings)
    every = scene.bounds if _as_drawn(survey) else survey.tolerances.far_bounds
    k, (i, j) = way.axis, PLANE[way.axis]
    found = []
    for one in placed:
        for a in scene.solids_of[one.id]:
            own = _bounds(survey, a)
            near = every[:, i] < own[i + 3] + margin
            near &= every[:, i + 3] > own[i] - margin
            near &= every[:, j] < own[j + 3] + margin
            near &= every[:, j + 3] > own[j] - margin
            near &= every[:, k + 3] > own[k] if way.sign > 0 else every[:, k] < own[k + 3]
            for row in np.flatnonzero(near).tolist():
                b = scene.solids[row]
                if limits(b, one):
                    found.append((_apart_mm(own, _bounds(survey, b), way), a, b))
    found.sort(key=lambda pair: pair[0])
    return found


def _by_bounds_mm(survey: Survey, a: Solid, b: Solid, way: Way, need_mm: float) -> float:
    """Return how far one solid may go until its bounds come nearer to those of another."""
    own, its = _bounds(survey, a), _bounds(survey, b)
    beside = hypot(*(max(own[n] - its[n + 3], its[n] - own[n + 3], 0.0) for n in PLANE[way.axis]))
    if beside >= need_mm and beside > 0.0:
        return inf
    return _apart_mm(own, its, way) - sqrt(max(need_mm**2 - beside**2, 0.0))


def _apart_mm(own: Bounds, its: Bounds, way: Way) -> float:
    k = way.axis
    return its[k] - own[k + 3] if way.sign > 0 else own[k] - its[k + 3]


def _bounds(survey: Survey, solid: Solid) -> Bounds:
    return solid.bounds if _as_drawn(survey) else survey.tolerances.far_out(solid)


def _gap_mm(survey: Survey, a: Solid, b: Solid) -> float:
    if _as_drawn(survey):
        return signed_gap_mm(a.prisms, b.prisms)
    return survey.tolerances.between((a,), (b,)).worst.worst_mm


def _as_drawn(survey: Survey) -> bool:
    return survey.scene.layout.settings.judge == "nominal"
