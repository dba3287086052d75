"""The stack-ups of the figures that checks report: gaps between solids and leftover depths.

Each dimension that moves one of the two faces is put to its limits, one after the other, and the
gap is measured again: exact for faces that face each other. At corners and round things a gap
shrinks the faster the more of it is gone, so what it loses is taken at the rate at which it begins
to shrink or as measured, whichever is more. A figure is the least of the gaps between many faces,
and the least in the worst case is sought among all of them, for it need not be the same one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import KW_ONLY, dataclass, field
from functools import cache
from itertools import product
from math import inf, isfinite, isinf

from geometry.depths import Depths
from geometry.finding import Leftover
from geometry.layout import Side
from geometry.measures.clearance import bounds_gap
from geometry.measures.pose import Vec, Way
from geometry.measures.prism import Prism
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.stackup.combined_effects import (
    NO_ROUNDS,
    ROUNDS,
    Moving,
    leans,
    no_better_than_together,
)
from geometry.stackup.depth_figures import depth_figure, given_depth
from geometry.stackup.deviation import Deviation
from geometry.stackup.faces import (
    NOISE_MM,
    Face,
    Solids,
    all_prisms,
    faces,
    greatest_mm,
)
from geometry.stackup.outside_figures import outside_figure
from geometry.stackup.pair_gaps import (
    GAP,
    Axes,
    PairMeasure,
    ahead_mm,
    corner_change_mm,
    out_along,
)
from geometry.stackup.pieces import measured_faces, part_between
from geometry.stackup.rim_parts import Cluster
from geometry.stackup.rims import RimFace
from geometry.stackup.scene_deviations import SceneDeviations
from geometry.stackup.stack_ups import Contributor, Figure, Near, StackUp, no_less_than, stack_up
from geometry.stackup.touching import NEARLY_MM, beyond_mm, no_better_than_parted
from geometry.stackup.ways_out import overlap_figure

BEGIN = 0.01
"""The share of a tolerance over which the rate is taken at which a gap begins to shrink."""

Measure = Callable[[Sequence[Prism], Sequence[Prism]], float]


@dataclass(frozen=True, eq=False)
class Tolerances(SceneDeviations):
    """All stack-ups of one scene, worked out when asked for and kept; threads may ask at once."""

    depths: Depths
    _: KW_ONLY
    _gaps: dict[tuple[Solids, Solids], Figure] = field(default_factory=dict)
    _leftovers: dict[tuple[str, Side, str], Figure] = field(default_factory=dict)

    @classmethod
    def of_scene(cls, scene: Scene, depths: Depths, before: Tolerances | None) -> Tolerances:
        """Return the stack-ups of a scene; those of what did not change are taken over."""
        own = cls(scene, depths)
        gone = None if before is None else own.take_over(before)
        if before is None or gone is None:
            return own
        for key, figure in before._gaps.copy().items():
            solids = [s for group in key for s in group]
            if all(s.owner not in gone and s in depths.solids for s in solids):
                own._gaps[key] = figure
        return own

    def between(self, a: Solids, b: Solids) -> Figure:
        """Return the stack-up of the signed gap between two groups of solids."""
        key = (a, b)
        if key not in self._gaps:
            overlap = overlap_figure(self, a, b, b[0].name, a + b)
            self._gaps[key] = overlap or self.least(tuple(faces(a)), b, GAP)
        return self._gaps[key]

    def depth(self, left: Leftover) -> Figure | None:
        """Return the stack-up of a leftover depth; None where nothing limits it."""
        if isinf(left.mm):
            return None
        item = self.depths.items[left.item]
        key = (left.item, left.side, left.cell if item.hit is None else "")
        if key not in self._leftovers:
            self._leftovers[key] = depth_figure(self, left, item)
        return self._leftovers[key]

    def given_depth(self, one: Placed, mm: float) -> Figure:
        """Return the stack-up of what an item leaves of the depth for which its zone is given."""
        assert one.side is not None
        assert one.frame is not None
        found = given_depth(self, one.side, one, mm)
        return Figure.of_one(found, f"stated depth of {self.scene.name_of(one.frame.zone.id)}")

    def outside(self, solids: Solids) -> Figure | None:
        """Return the stack-up of how far solids of one part stand outside the cavity (negative).

        None where they cannot be brought back and no wall bounds the cavity where they pass it.
        """
        return outside_figure(self, solids)

    # ---- the least of the gaps between faces ----

    def least(
        self, a: Sequence[Face], b: Solids, measure: PairMeasure, from_mm: float = 0.0
    ) -> Figure:
        """Return the figure of some faces and those of solids that keep `from_mm` or more.

        What keeps less stands beside, not before.
        """
        nominal = worst = None
        name = b[0].name
        near: list[Near] = []
        likely = inf
        for gap, p, q in self._nearest_first(a, b, measure, from_mm):
            moving = self.moving_faces(p, q, measure)
            if gap - sum(map(greatest_mm, moving)) >= likely:
                continue
            found = self.of_faces(gap, p, q, moving, measure)
            if found.worst_mm < likely:
                near.append(Near(found))
                likely = min(likely, found.likely_least_mm)
            if nominal is None:
                nominal = found
            if worst is None or found.worst_mm < worst.worst_mm - NOISE_MM:
                if gap <= nominal.nominal_mm + NOISE_MM:
                    nominal = found
                worst, name = found, q.solid.name
        assert nominal is not None
        assert worst is not None
        beside = None
        for gap, p, q, overlap, how in self._at_bars(a, b, measure):
            moving = self.moving_faces(p, q, how)
            if gap - sum(map(greatest_mm, moving)) >= likely:
                continue
            found = self.of_faces(gap, p, q, moving, how)
            if found.worst_mm < likely:
                near.append(Near(found, (overlap,)))
            if found.worst_mm < worst.worst_mm - NOISE_MM:
                worst, name, beside = found, q.solid.name, overlap
        return Figure(nominal, worst, name, beside, tuple(near))

    def _at_bars(
        self, a: Sequence[Face], b: Solids, measure: PairMeasure
    ) -> Iterator[tuple[float, Face, Face, StackUp, PairMeasure]]:
        """Yield faces with the bars that may come in walls, their gap, and what brings these.

        With what the gap is measured by: what a bar comes across is parted from the wall through
        the openings alone, for beside it there is more of the wall.
        """
        if measure is not GAP:
            return
        for p, q in product(a, (bar for wall in b for bar in self.rims.bars(wall))):
            off = self._greatest(p.solid, q.solid)
            for gap, one, other in measured_faces(p, q, measure, off):
                how = measure if gap > 0.0 else out_along(q.bar.axis)
                yield how.mm(one.prism, other.prism), one, other, q.bar.overlap, how

    def _nearest_first(
        self, a: Sequence[Face], b: Solids, measure: PairMeasure, from_mm: float
    ) -> Iterator[tuple[float, Face, Face]]:
        """Yield pairs of faces with their measure, the least first, then what may come nearer.

        What by its bounds cannot come nearer than the least, however much is off, is not measured.
        """
        ranked = [
            (measure.bound(p.prism, q.prism), k, p, q)
            for k, (p, q) in enumerate((p, q) for p in a for q in faces(b))
        ]
        ranked.sort(key=lambda pair: pair[:2])
        near: list[tuple[float, int, Face, Face]] = []
        nearest = inf
        for bound, k, p, q in ranked:
            clusters = self.rims.clusters(q) if measure is GAP else ()
            off = self._greatest(p.solid, q.solid)
            edges = max((one.reach_mm for one in clusters), default=0.0)
            if bound - off - edges > nearest:
                continue
            for part in _parts(p, q, clusters, nearest + off):
                for gap, one, other in measured_faces(p, part, measure, off + edges):
                    if isfinite(gap) and meets(gap, from_mm):
                        near.append((gap, k, one, other))
                        nearest = min(nearest, gap)
        near.sort(key=lambda pair: pair[:2])
        yield from ((gap, p, q) for gap, _, p, q in near)

    def _greatest(self, a: Solid, b: Solid) -> float:
        """Return how far two solids can be off against each other at most (mm)."""
        return sum(
            max(here - far, there - off)
            for one, its in ((a, self.far_out(a)), (b, self.far_out(b)))
            for here, far, there, off in zip(
                one.bounds[:3], its[:3], its[3:], one.bounds[3:], strict=True
            )
        )

    def moving_faces(self, p: Face, q: Face, measure: PairMeasure) -> tuple[Deviation, ...]:
        """Return all that may be off along the axes that matter to the gap of two faces."""
        axes = measure.axes(p.prism, q.prism)
        own = (d for d in self.moving((p.solid, q.solid)) if p.may_move(d) or q.may_move(d))
        return tuple(d for d in (*own, *q.at_edges) if d.axes & axes)

    def of_faces(
        self,
        nominal: float,
        p: Face,
        q: Face,
        moving: tuple[Deviation, ...],
        measure: PairMeasure,
    ) -> StackUp:
        @cache
        def gap_of(here: Prism, there: Prism) -> float:
            if here == p.prism and there == q.prism:
                return nominal
            if corner:
                change = corner_change_mm(p.prism, q.prism, here, there)
                return min(nominal + change, measure.mm(here, there))
            return measure.mm(here, there)

        def gap_when(one: Deviation, off_mm: float) -> float:
            return gap_of(p.when(one, off_mm), q.when(one, off_mm))

        # Flat faces square to one axis move in proportion, so one limit tells of the other.
        flat = p.prism.is_box and q.prism.is_box
        straight = flat and len(measure.axes(p.prism, q.prism)) == 1
        corner = flat and measure is GAP and nominal > LENGTH_EPS_MM
        rates = not flat and measure is GAP
        found = self.added_up(nominal, moving, gap_when, straight=straight, rates=rates)
        axis = None if measure.way is None else measure.way.axis
        if not straight and (leans(p.prism, axis) or leans(q.prism, axis)):
            rounds = NO_ROUNDS if measure is GAP else ROUNDS
            found = no_better_than_together(found, (p, q), moving, measure.mm, self.name_of, rounds)
        if measure is GAP and not straight:
            nearly = LENGTH_EPS_MM if flat else NEARLY_MM
            if nominal <= nearly or (not flat and found.worst_mm < 0.0):
                found = self._no_better_than_parted(found, p, q, moving)
        if measure.way is None or straight:
            return found
        return no_less_than(found, self.ahead(p, q, moving, measure.way))

    def _no_better_than_parted(
        self, gap: StackUp, p: Face, q: Face, moving: Sequence[Deviation]
    ) -> StackUp:
        """Return the stack-up of a gap that leaves no more than faces apart in one direction do."""

        def along(to: Vec) -> StackUp:
            more = gap.nominal_mm - beyond_mm(p.prism, q.prism, to)

            def gap_when(one: Deviation, off_mm: float) -> float:
                return beyond_mm(p.when(one, off_mm), q.when(one, off_mm), to) + more

            return self.added_up(gap.nominal_mm, moving, gap_when)

        # Of an edge that bends round what stands in it, each part tells more than its share.
        slanted = not q.at_edges
        return no_better_than_parted(gap, p.prism, q.prism, along, slanted=slanted)

    def ahead(
        self, p: Face, q: Face, moving: Iterable[Deviation], way: Way, off_mm: float = inf
    ) -> StackUp:
        """Return the stack-up of how far all of a face lies ahead that may come before another.

        `off_mm` is how far they may be off across, where that is known.
        """
        part = self.facing(p, q, way, off_mm) or q

        def gap_when(one: Deviation, off_mm: float) -> float:
            return ahead_mm(p.when(one, off_mm), part.when(one, off_mm), way)

        own = [d for d in moving if way.axis in d.axes]
        return self.added_up(ahead_mm(p.prism, part.prism, way), own, gap_when)

    def facing(self, p: Face, q: Face, way: Way, off_mm: float = inf) -> Face | None:
        """Return what of a face may come before another on its way, however much is off."""
        if q.prism.axis == way.axis:
            return q
        k = 3 - q.prism.axis - way.axis
        bounds, off = p.prism.bounds, 0.0
        for solid in (p.solid, q.solid):
            far = self.far_out(solid)
            off += max(solid.bounds[k] - far[k], far[k + 3] - solid.bounds[k + 3])
        off = min(off, off_mm)
        return part_between(q, k, bounds[k] - off, bounds[k + 3] + off)

    def of_several(
        self,
        faces: Sequence[Moving],
        moving: Sequence[Deviation],
        mm: Callable[..., float],
        *,
        together: bool,
        rounds: int = ROUNDS,
    ) -> StackUp:
        """Return the stack-up of a figure of several things that move, given by their prisms.

        `together` tells that what dimensions take of it may hang on each other; `rounds` as in
        `CombinedEffects.least`.
        """

        def gap_when(one: Deviation, off_mm: float) -> float:
            return mm(*(face.when(one, off_mm) for face in faces))

        found = self.added_up(mm(*(face.prism for face in faces)), moving, gap_when)
        if together:
            found = no_better_than_together(found, faces, moving, mm, self.name_of, rounds)
        return found

    # ---- whole solids, for what shares room ----

    def whole(self, a: Solids, b: Solids, measure: Measure, axes: Axes) -> StackUp:
        """Return the stack-up of a measure of two groups of solids as wholes."""

        def gap_when(one: Deviation, off_mm: float) -> float:
            moved = {s: new for s in a + b if (new := one.moved(s, off_mm)) is not None}
            return measure(all_prisms(a, moved), all_prisms(b, moved)) if moved else nominal

        nominal = measure(all_prisms(a), all_prisms(b))
        moving = tuple(d for d in self.moving(a + b) if d.axes & axes)
        return self.added_up(nominal, moving, gap_when)

    def added_up(
        self,
        nominal: float,
        deviations: Sequence[Deviation],
        gap_when: Callable[[Deviation, float], float],
        *,
        straight: bool = False,
        rates: bool = False,
    ) -> StackUp:
        """Return the stack-up of a gap, given what it is when one dimension alone is off.

        `straight` tells that it changes in proportion; `rates` that what it loses is to be taken
        at the rate at which it begins to shrink, where that is more.
        """

        def change(one: Deviation, off_mm: float | None) -> float:
            if not off_mm:
                return 0.0
            found = gap_when(one, off_mm) - nominal
            if rates and isfinite(found):
                begun = (gap_when(one, off_mm * BEGIN) - nominal) / BEGIN
                if begun < -NOISE_MM:
                    return min(found, begun)
            return found

        found: list[Contributor] = []
        for one in deviations:
            known = one.dimension
            plus = change(one, known.plus_mm)
            alike = straight and one.in_proportion and isfinite(plus)
            if alike and known.plus_mm and known.minus_mm:
                minus = -plus * known.minus_mm / known.plus_mm
            else:
                minus = change(one, -known.minus_mm if known.minus_mm else None)
            # What slips past its limit altogether leaves the figure to others.
            plus, minus = (
                mm if isfinite(mm) and abs(mm) > NOISE_MM else 0.0 for mm in (plus, minus)
            )
            if plus or minus:
                name = self.name_of(one.owner)
                own = (one.owner, name, one.path, known)
                found.append(Contributor(*own, plus, minus, one.uniform, one.odds))
        return stack_up(nominal, found)


def _parts(p: Face, q: Face, clusters: Sequence[Cluster], within_mm: float) -> Iterator[Face]:
    """Yield a face, or its parts at the edges of openings that may come within reach of another."""
    if not clusters:
        yield q
    for cluster in clusters:
        if bounds_gap(p.prism.bounds, cluster.bounds) - cluster.reach_mm <= within_mm:
            for rim in cluster.rims:
                if bounds_gap(p.prism.bounds, rim.prism.bounds) - rim.reach_mm <= within_mm:
                    yield RimFace(q.solid, q.place, rim)
