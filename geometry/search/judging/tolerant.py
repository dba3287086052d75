"""The solids of options with all that may be off in them, shared by all stacks that hold them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from catalog.parts import part_cells
from geometry.layout import Item, Layout, Stack
from geometry.measures.pose import Vec
from geometry.placement import SIDES, place_free
from geometry.scene import Scene, placed_solids
from geometry.search.judging.room import NO_DEPTHS
from geometry.search.judging.tolerant_kind import SAME_DIGITS, Kind, Shapes
from geometry.search.judging.tolerant_kinds import Kinds
from geometry.search.judging.tolerant_solids import Gathering, Tolerant, vec_of
from geometry.search.listing.option import Option
from geometry.search.listing.option_rows import Options, Slide
from geometry.search.long_work import Steps
from geometry.search.wishes import Wishes
from geometry.stackup.figures import Tolerances
from geometry.stackup.restacked import Restacked


def worst_case_counts(layout: Layout, wishes: Wishes) -> bool:
    """Whether the worst case can rule an option out: what it finds is tight at most."""
    return not wishes.tight_allowed and (wishes.judge or layout.settings.judge) == "worst case"


def tolerant_of(layout: Layout, scene: Scene, options: Options) -> Steps[Tolerant]:
    """Return in steps the solids of options as they stand in the room of a scene.

    `layout` has all their parts.
    """
    making = Making(layout, scene)
    shared = _Shared(making, making.again, Kinds(making.forget))
    gathering = Gathering(shared.kinds)
    for done, option in enumerate(options):
        gathering.add(shared.made_of(option))
        if done % OPTIONS_A_STEP == 0:
            yield done / len(options)
    shared.kinds.forget()
    return gathering.tolerant()


OPTIONS_A_STEP = 10
"""So many options at most are worked out at once, each up to two hundredths of a second."""

STACKS_KEPT = 100
"""So many stacks are placed before it is forgotten how layers with which several begin stand."""


@dataclass
class Making:
    """Makes the solids of options as they stand in the room of a scene, with what may be off."""

    layout: Layout
    scene: Scene
    shapes: Shapes = field(default_factory=dict)
    made: int = 0

    def __post_init__(self) -> None:
        self.anew = Restacked(self.layout)

    def solids(
        self, option: Option, wanted: Sequence[int], far: Sequence[tuple[float, ...]] | None = None
    ) -> Iterator[tuple[Kind, ...]]:
        """Yield the solids of some of the items of an option, in the order of the items.

        `far` are the bounds that each of these solids never passes, where they are known.
        """
        if self.made % STACKS_KEPT == STACKS_KEPT - 1:
            self.anew = self.anew.emptied()
        self.made += 1
        here = self._with(option)
        tolerances = Tolerances(here, NO_DEPTHS, known_anew=self.anew)
        own = [one for one in here.placed.values() if one.id not in self.scene.placed]
        known = iter(far or ())
        for one in (own[n] for n in wanted):
            yield tuple(
                Kind.of(
                    tolerances,
                    solid,
                    outer=one.side == "outer",
                    known=self.shapes,
                    far=next(known, None),
                )
                for solid in placed_solids(one, self.layout)
            )

    def forget(self) -> None:
        """Forget how stacks stand with one number off, and how that shapes them."""
        self.anew = self.anew.emptied()
        self.shapes = {}

    def again(
        self, option: Option, to: Slide, wanted: Sequence[int], far: Sequence[tuple[float, ...]]
    ) -> tuple[Kind, ...]:
        """Return the solids of some of the items of an option, slid, all together."""
        slid = option if to == option.slide_mm else replace(option, slide_mm=to)
        return tuple(kind for kinds in self.solids(slid, wanted, far) for kind in kinds)

    def _with(self, option: Option) -> Scene:
        """Return the scene with an option in it, but for the solids of what it puts in."""
        layout, placed = self.layout, dict(self.scene.placed)
        if option.stack is not None:
            layout = layout.but(stacks=(*layout.stacks, option.stack))
            placed.update((one.id, one) for one in self.anew.as_drawn.place(option.stack))
        if option.free is not None:
            layout = layout.but(free=(*layout.free, option.free))
            placed[option.free.id] = place_free(layout, option.free)
        scene = self.scene
        return Scene(layout, placed, scene.solids_of, scene.fixed, scene.frames)


@dataclass
class _Shared:
    """The solids of items with all that may be off in them, each once for all stacks alike below.

    What may be off in an item is its own and what lies between it and the plate, the zone among
    it: what is stacked on it adds nothing, but that a part which spans cells draws what lies under
    it along its slots. Slides of one stack only shift its solids, but for those that are drawn so.
    """

    making: Making
    again: Callable[..., tuple[Kind, ...]]
    kinds: Kinds
    known: dict[object, tuple[Slide, range, Vec]] = field(default_factory=dict)
    """At which slide the solids of an item were seen, which they are, and how far from there they
    are held."""
    alike: dict[bytes, tuple[range, Vec]] = field(default_factory=dict)
    """The solids of items that are alike, wherever they stand, and the origin of those held."""
    first: Option | None = None
    """That of the stack looked at last which came first: options of one stack follow each other."""
    places: tuple[tuple[int, bool], ...] = ()
    """Its places by number, and whether it lies otherwise there at each slide."""
    numbers: dict[object, int] = field(default_factory=dict)

    def made_of(self, option: Option) -> list[tuple[int, Vec]]:
        """Return the solids of an option, with their shifts from where they first stood."""
        found: list[tuple[int, Vec]] = []
        for key in self._keys(option):
            if key not in self.known:
                self._learn(option)
            first_mm, kinds, away = self.known[key]
            by = _sum(_between(self.making.scene, first_mm, option), away)
            found += [(kind, by) for kind in kinds]
        return found

    def _keys(self, option: Option) -> Iterator[object]:
        """Yield what tells the solids of each item of an option from those of all others."""
        if option.free is not None:
            yield option.free
        if option.layers is None:
            return
        if self.first is None or self.first.layers is not option.layers:
            stack = option.base
            assert stack is not None
            own, numbers = _places(self.making.layout, stack), self.numbers
            self.places = tuple((numbers.setdefault(p, len(numbers)), drawn) for p, drawn in own)
            self.first = option
        for place, is_drawn in self.places:
            yield place, option.slide_mm if is_drawn else None

    def _learn(self, option: Option) -> None:
        """Take in the solids of all items of an option that are not known yet."""
        keys = list(self._keys(option))
        new = [n for n, key in enumerate(keys) if key not in self.known]
        fresh: dict[int, tuple[bytes, Vec, tuple[Kind, ...]]] = {}
        for n, kinds in zip(new, self.making.solids(option, new), strict=True):
            origin = vec_of(np.array(kinds[0].solid.bounds)) if kinds else _NOWHERE
            told = b"".join(kind.told(origin) for kind in kinds)
            if told in self.alike:
                own, held_at = self.alike[told]
                self.known[keys[n]] = (option.slide_mm, own, _away(held_at, origin))
            else:
                fresh[n] = told, origin, kinds
        if not fresh:
            return
        every = [kind for _, _, kinds in fresh.values() for kind in kinds]
        # One option of each stack is kept for all its slides.
        first = option if option.layers is None or self.first is None else self.first
        again = partial(self.again, first, option.slide_mm, tuple(fresh))
        numbers = self.kinds.add(every, again)
        for n, (told, origin, kinds) in fresh.items():
            own, numbers = numbers[: len(kinds)], numbers[len(kinds) :]
            self.alike[told] = own, origin
            self.known[keys[n]] = (option.slide_mm, own, _NOWHERE)


def _places(layout: Layout, stack: Stack) -> Iterator[tuple[object, bool]]:
    """Yield for each item of a stack, from the plate outwards, what it is and what is below it.

    And whether slots draw it towards an item that spans cells, so that it lies otherwise at each
    slide.
    """
    for side in SIDES:
        layers = stack.side(side)
        spans = [any(_spans(layout, item) for item in layer.items) for layer in layers]
        drawn = spans.index(True) if True in spans else 0
        spanning = tuple(i for layer in layers for i in layer.items if _spans(layout, i))
        # Screw heads stand where nothing lies over them, so with them all layers count.
        heads = layers if any(i.head_mm for layer in layers for i in layer.items) else ()
        for count, layer in enumerate(layers, 1):
            is_drawn = count <= drawn
            above = spanning if is_drawn else ()
            for item in layer.items:
                yield (side, item, layers[:count], above, heads), is_drawn


def _spans(layout: Layout, item: Item) -> bool:
    return len(part_cells(layout.part(item.part))) > 1


_NOWHERE: Vec = (0.0, 0.0, 0.0)


def _sum(one: Vec, other: Vec) -> Vec:
    x, y, z = (round(a + b, SAME_DIGITS) + 0.0 for a, b in zip(one, other, strict=True))
    return (x, y, z)


def _away(first: Vec, other: Vec) -> Vec:
    """Return the shift from one place to another."""
    x, y, z = (round(b - a, SAME_DIGITS) + 0.0 for a, b in zip(first, other, strict=True))
    return (x, y, z)


def _between(scene: Scene, first_mm: Slide, other: Option) -> Vec:
    """Return the shift from one slide of a stack to another."""
    u, v = (b - a for a, b in zip(first_mm, other.slide_mm, strict=True))
    if (u, v) == (0.0, 0.0):
        return (0.0, 0.0, 0.0)
    pose = scene.frames[other.zone].pose
    x, y, z = (u * a + v * b for a, b in zip(pose.x.vector, pose.y.vector, strict=True))
    return (round(x, 9), round(y, 9), round(z, 9))
