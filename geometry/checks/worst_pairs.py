"""Pairs of solids that keep their margin as drawn, and do not once all dimensions are off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from geometry.margins import greatest_margin_mm, judged, required_mm
from geometry.measures.broadphase import near_pairs
from geometry.measures.clearance import bounds_gap, clearance
from geometry.measures.pose import Vec
from geometry.measures.solid import Solid
from geometry.measures.tolerance import meets
from geometry.pairs import PairGap, Pairs
from geometry.scene import Scene
from geometry.stackup.figures import Tolerances
from geometry.stackup.stack_ups import Figure


@dataclass(frozen=True, eq=False)
class WorstPair:
    """Two solids, the gap they keep as drawn, and its stack-up."""

    gap: PairGap
    required_mm: float
    figure: Figure


def worst_pairs(scene: Scene, pairs: Pairs, tolerances: Tolerances) -> Iterator[WorstPair]:
    """Yield all pairs that keep what is asked for as drawn, but not in the worst case."""
    settings = scene.layout.settings
    short = {(gap.a, gap.b) for gap in pairs.short}
    for a, b in _near(scene, tolerances, greatest_margin_mm(settings)):
        # Parts of one joint are held to each other; what they leave is settled by its bolts.
        if not judged(a, b) or a.bolted_to(b):
            continue
        required = required_mm(settings, a, b)
        least = bounds_gap(tolerances.far_out(a), tolerances.far_out(b))
        # Bounds that touch or overlap tell nothing, not even where touching is allowed.
        if (a, b) in short or (least > 0.0 and meets(least, required)):
            continue
        figure = tolerances.between((a,), (b,))
        if meets(figure.nominal.nominal_mm, required) and not meets(
            figure.worst.worst_mm, required
        ):
            gap = PairGap(a, b, figure.nominal.nominal_mm, None, _place(a, b))
            yield WorstPair(gap, required, figure)


def _near(scene: Scene, tolerances: Tolerances, margin_mm: float) -> Iterator[tuple[Solid, Solid]]:
    solids, movable = scene.solids, len(scene.movable)
    if not movable:
        return
    for i, j in near_pairs(tolerances.far_bounds, margin_mm).tolist():
        if i < movable:
            yield solids[i], solids[j]


def _place(a: Solid, b: Solid) -> Vec:
    found = clearance(a.prisms, b.prisms)
    assert found.point_a is not None
    assert found.point_b is not None
    middle = [(p + q) / 2 for p, q in zip(found.point_a, found.point_b, strict=True)]
    return (middle[0], middle[1], middle[2])
