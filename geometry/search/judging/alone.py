"""The options of one zone that stand by themselves: judged with all that stands, and inside.

The same roles, margins and measures as in the checks, on prisms by interval tests; and the rules
about holes, zone and slots from the checks themselves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial

import numpy as np

from geometry.checks.rules import hole_pattern, slide, zone_size
from geometry.checks.survey import Survey
from geometry.depths import Depths
from geometry.finding import Finding, Verdict
from geometry.layout import Settings
from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.pose import Vec
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.pairs import measure_pairs
from geometry.placement import Placed, ZoneFrame
from geometry.scene import Scene, placed_solids
from geometry.search.judging.bent import bent_levels
from geometry.search.judging.gathered import Gathered
from geometry.search.judging.left_over import LeftOver
from geometry.search.judging.nominal import left_mm
from geometry.search.judging.open_wall import OpenWall
from geometry.search.judging.room import (
    Room,
    inside_cavity,
    open_to_outside,
)
from geometry.search.judging.standing import (
    INSIDE,
    OPEN,
    OUTER,
    Footing,
    short_with,
    worst_with,
)
from geometry.search.judging.tolerant import tolerant_of, worst_case_counts
from geometry.search.judging.units import (
    BLOCKED,
    CLEAR,
    TIGHT,
    Levels,
    Makeup,
    Units,
    interval_levels,
    role_margins,
)
from geometry.search.judging.zone_options import ZoneOptions
from geometry.search.listing.option import Option
from geometry.search.listing.option_rows import Numbers, Slide
from geometry.search.listing.zone_lister import ZoneLister
from geometry.search.long_work import Steps, told_as
from geometry.slots import slot_range

NO_SLIDE = (0.0, 0.0)

SIFTED_AT_ONCE = 20_000
"""So many options are gathered before those that bounds rule out are forgotten."""


@dataclass
class ZoneJudge:
    """Gathers the options of one zone and judges them together.

    `stacks` lists them, the same whenever it is asked. `moved` has obstacles whose states are
    chosen beside the zone, in each of their states.
    """

    room: Room
    lister: ZoneLister
    stacks: Callable[[], Iterator[Option]]
    moved: Sequence[Sequence[Room]] = ()
    made: Gathered = field(default_factory=Gathered)
    rules: dict[object, int] = field(default_factory=dict)
    solids: dict[object, tuple[Solid, ...]] = field(default_factory=dict)
    listed: int = 0

    def gathering(self) -> Iterator[int]:
        """Take in every option; yield after each stack how many there are by then."""
        for number, option in enumerate(self.stacks()):
            self.add(number, option)
            yield number + 1

    def add(self, number: int, option: Option) -> None:
        """Take in one option with its listed slides, unless the rules of its stack forbid it.

        `number` is that of its stack.
        """
        stack = option.base
        if stack is None:
            self.listed += 1
            self.made.keep(number, NO_SLIDE, (), (), tight=False)
            return
        placed = self.lister.placed(stack)
        slides = slide_steps(placed, self.lister.wishes.slide_steps, self.lister.slides_mm)
        self.listed += len(slides)
        if slides[0] != NO_SLIDE:
            # Fans stand where slots let them, so stacks are placed at a slide that is within them.
            u_mm, v_mm = slides[0]
            placed = self.lister.placed(stack.but(slide_u_mm=u_mm, slide_v_mm=v_mm))
        level = self._rule_level(placed)
        if level == BLOCKED or (level == TIGHT and not self.lister.wishes.tight_allowed):
            return
        own = [self.made.places((one.id, one.part.id, one.pose)) for one in placed]
        last = [bool(one.last_over) for one in placed]
        for to in slides:
            by = (to[0] - slides[0][0], to[1] - slides[0][1])
            closed = self.open_wall.closed(placed, _along(placed[0], by))
            here = max(level, TIGHT if closed else CLEAR)
            if here == TIGHT and not self.lister.wishes.tight_allowed:
                continue
            items = [self._item(*item, by) for item in zip(placed, own, strict=True)]
            self.made.keep(number, to, items, last, tight=here == TIGHT)
        if self.made.to_sift >= SIFTED_AT_ONCE:
            self._sift()

    def _sift(self) -> None:
        """Forget the options of which bounds say that they do not stand; that rules out most."""
        met = partial(worst_with, room=self.room, footing=self.footing, margins=self.margins)
        self.made.sift(partial(met, boxes_only=True), self.most)

    @cached_property
    def margins(self) -> Floats:
        """The gaps that roles must keep to each other (mm)."""
        return role_margins(self.room.scene.layout.settings)

    @property
    def most(self) -> int:
        """The highest level of an option that stands."""
        return TIGHT if self.lister.wishes.tight_allowed else CLEAR

    @cached_property
    def open_wall(self) -> OpenWall:
        """What of the wall behind the zone is open."""
        return OpenWall(self.room.scene.layout.enclosure, self.lister.zone.owner)

    @property
    def footing(self) -> Footing:
        """What the stacks of the zone stand on."""
        return Footing(self.frame.zone.owner, self.frame)

    @property
    def frame(self) -> ZoneFrame:
        """The zone as it stands."""
        return self.room.scene.frames[self.lister.zone.id]

    def _item(self, one: Placed, places: dict[Slide, int], by_uv: Slide) -> int:
        """Return the number of an item that is slid on by so much."""
        known = places.get(by_uv)
        if known is None:
            known = self.made.new_item(places, by_uv, self._units(one, by_uv))
        return known

    def _units(self, one: Placed, by_uv: tuple[float, float]) -> Iterator[int]:
        scene, by = self.room.scene, _along(one, by_uv)
        beside = OUTER * (one.side == "outer") + OPEN * open_to_outside(scene.layout, one)
        for solid in self._solids(one):
            flags = beside + INSIDE * inside_cavity(solid, scene, by)
            for prism in solid.prisms:
                yield self.made.units.number(prism, solid.role, one.id, flags, by)

    def _solids(self, one: Placed) -> tuple[Solid, ...]:
        """Return the solids of an item where it was first placed; slides only shift them."""
        key = (one.id, one.part.id, one.pose)
        if key not in self.solids:
            self.solids[key] = tuple(placed_solids(one, self.lister.layout))
        return self.solids[key]

    def _rule_level(self, placed: Sequence[Placed]) -> int:
        """Return the level of the rules about holes and zone, kept for stacks alike."""
        key = tuple(_face(one) for one in placed)
        known = self.rules.get(key)
        if known is None:
            known = self.rules[key] = rule_level(self.room.scene, placed)
        return known

    def judged(self) -> Steps[ZoneOptions]:
        """Return in steps the options that stand alone."""
        self._sift()
        made = self.made
        makeup = Makeup(made.units.units(), made.pieces, made.items)
        self._forget()
        scene = self.room.scene
        some = makeup.some(np.arange(makeup.size, dtype=np.intp))
        met = worst_with(some.units, self.room, self.footing, self.margins)
        level = np.maximum(some.worst(met[:, None])[:, 0], made.tight * np.uint8(TIGHT))
        keep = np.flatnonzero(level <= self.most)
        del some
        yield 0.0
        keep = keep[~self._inner_clash(makeup, made.options.stack, keep)]
        keep = keep[self._within_nominal(makeup, keep)]
        options = yield from told_as(made.options.options(keep, self.stacks()), lambda _: 0.0)
        self.lister.forget()
        tolerant = None
        if worst_case_counts(scene.layout, self.lister.wishes):
            placing = tolerant_of(self.lister.layout, scene, options)
            tolerant = yield from told_as(placing, lambda done: done / 2)
            measuring = short_with(tolerant, self.room, self.footing, self.margins)
            short = yield from told_as(measuring, lambda done: (1 + done) / 2)
            fit = np.flatnonzero(~short)
            keep, options, tolerant = keep[fit], options.only(fit), tolerant.only(fit)
            tolerant.kinds.forget()
        some = makeup.some(keep)
        leaving = LeftOver(some, made.last_of(keep), self.frame, self.room, self.moved)
        left = yield from told_as(leaving.by_states(), lambda _: 1.0)
        return ZoneOptions(
            self.lister.zone.id,
            options,
            some,
            left.left_mm,
            left.ends_mm,
            self.listed,
            tolerant,
            left if self.moved else None,
        )

    def _forget(self) -> None:
        """Forget what is needed only while options are taken in, before more is made of them."""
        self.made.forget()
        self.rules.clear()
        self.solids.clear()
        self.lister.forget()

    def _inner_clash(self, makeup: Makeup, stack: Numbers, keep: Indices) -> Bools:
        """Return which of some options have two parts of their own that share room.

        A slide moves all parts of a stack alike, so one slide is looked at for all.
        """
        _, first, number = np.unique(stack[keep], return_index=True, return_inverse=True)
        clash = []
        for k in keep[first].tolist():
            own = makeup.units.some(makeup.of_option(k))
            clash.append(bool(_own_levels(own).any()))
        found: Bools = np.array(clash, dtype=bool)[number]
        return found

    def _within_nominal(self, makeup: Makeup, keep: Indices) -> Bools:
        """Return which of some options keep within the nominal depths that the zone is given for.

        Passing one is tight at best, which may be allowed; whether it is worse, what stands ahead
        says (geometry.search.past_nominal).
        """
        if self.lister.wishes.tight_allowed:
            return np.ones(len(keep), dtype=bool)
        some = makeup.some(keep)
        return some.least(left_mm(some.units, self.frame)) >= -LENGTH_EPS_MM


def _along(one: Placed, by_uv: tuple[float, float]) -> Vec:
    """Return a way along u and v of an item's zone as a vector in the room."""
    assert one.frame is not None
    way_u, way_v = one.frame.pose.x.vector, one.frame.pose.y.vector
    x, y, z = (by_uv[0] * u + by_uv[1] * v for u, v in zip(way_u, way_v, strict=True))
    return (x, y, z)


def rule_level(scene: Scene, placed: Sequence[Placed]) -> int:
    """Return the worst level of the checks on holes, zone and slide for one stack's items.

    A slide within the slots changes none of them.
    """
    stack = placed[0].stack
    assert stack is not None
    alone = Scene(
        scene.layout.but(stacks=(stack,), free=()),
        {one.id: one for one in placed},
        {},
        (),
        scene.frames,
    )
    survey = Survey(alone, measure_pairs(alone), Depths((), {}, frozenset(), 0, {}), {})
    said = [*hole_pattern.check(survey), *zone_size.check(survey)]
    said += slide.check(survey)
    verdicts = {one.verdict for one in said if isinstance(one, Finding)}
    if Verdict.BLOCKED in verdicts:
        return BLOCKED
    return TIGHT if Verdict.TIGHT in verdicts else CLEAR


def slide_steps(
    placed: Sequence[Placed], steps: int, present: Sequence[tuple[float, float]] = ()
) -> list[tuple[float, float]]:
    """Return the listed slides of a stack in its slots (u, v): as it lies, then both ends.

    As it lies is without a slide, or with the least that its slots ask for: where they are not as
    long to both ways that is not their middle, which is listed from three steps on. With more steps
    the rest is spread evenly between the ends. Last are the `present` slides that are within its
    slots. Empty when its items on the zone cannot all meet holes at one slide.
    """
    along: list[list[float]] = []
    slots: list[tuple[float, float]] = []
    for axis in (0, 1):
        least, most = slot_range(placed, axis) or (0.0, 0.0)
        unslid = min(max(0.0, least), most) if least <= most else (least + most) / 2
        values = [unslid]
        if least < most and steps > 1:
            every = [least + (most - least) * k / (steps - 1) for k in range(steps)]
            values += [v for v in every if abs(v - unslid) > _STEP_MM]
        along.append([round(v, 6) + 0.0 for v in values])
        slots.append((least, most))
    listed = [(u, v) for u in along[0] for v in along[1]]
    for slide_mm in present:
        within = all(
            least - LENGTH_EPS_MM <= to <= most + LENGTH_EPS_MM
            for to, (least, most) in zip(slide_mm, slots, strict=True)
        )
        if within and slide_mm not in listed:
            listed.append(slide_mm)
    return listed


_STEP_MM = 0.05
"""Listed slides nearer than this count as one."""


def _face(one: Placed) -> object:
    """Return what the rules about holes and zone look at."""
    part = one.part
    size = (getattr(part, "core_length_mm", 0.0), getattr(part, "core_width_mm", 0.0))
    flat = (one.pose.shift[k] for k in range(3) if one.frame and k != one.frame.inward.axis)
    return (part.kind, one.side, size, getattr(part, "frame_mm", 0.0), one.seats, *flat)


def _own_levels(own: Units) -> Levels:
    """Return the levels of the units of one stack with each other; parts of a joint may touch."""
    need = np.where(np.isnan(_JUDGED[own.role[:, None], own.role[None, :]]), np.nan, 0.0)
    need[(own.owner[:, None] >= own.owner[None, :])] = np.nan
    level = interval_levels(own.bounds, own.bounds, need)
    i, j = np.nonzero((level > CLEAR) & ~(own.is_box[:, None] & own.is_box[None, :]))
    level[i, j] = bent_levels(own, own, i, j, need[i, j])
    return level


_JUDGED = role_margins(Settings())
