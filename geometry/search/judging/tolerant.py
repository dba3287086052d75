"""The solids of options with all that may be off in them, shared by all stacks that hold them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from catalog.parts import part_cells
from geometry.layout import Item, Layout, Stack
from geometry.measures.pose import Vec
from geometry.placement import SIDES, place_free
from geometry.scene import Scene, placed_solids
from geometry.search.judging.room import NO_DEPTHS
from geometry.search.judging.steps import Steps
from geometry.search.judging.tolerant_kind import Kind, Shapes
from geometry.search.judging.tolerant_solids import Gathering, Tolerant
from geometry.search.listing.option import Option
from geometry.search.listing.option_rows import Options
from geometry.search.wishes import Wishes
from geometry.stackup.anew import Anew
from geometry.stackup.figures import Tolerances


def worst_case_counts(layout: Layout, wishes: Wishes) -> bool:
    """Whether the worst case can rule an option out: what it finds is tight at most."""
    return not wishes.tight_allowed and (wishes.judge or layout.settings.judge) == "worst case"


def tolerant_of(layout: Layout, scene: Scene, options: Options) -> Steps[Tolerant]:
    """Return in steps the solids of options as they stand in the room of a scene.

    `layout` has all their parts.
    """
    shared = _Shared(layout, scene)
    gathering = Gathering()
    for done, option in enumerate(options):
        gathering.add(shared.made_of(option))
        if done % OPTIONS_A_STEP == 0:
            yield done / len(options)
    return gathering.tolerant()


OPTIONS_A_STEP = 10
"""So many options at most are worked out at once, each up to two hundredths of a second."""


@dataclass
class _Shared:
    """The solids of items with all that may be off in them, each once for all stacks alike below.

    What may be off in an item is its own and what lies between it and the plate, the zone among
    it: what is stacked on it adds nothing, but that a part which spans cells draws what lies under
    it along its slots. Slides of one stack only shift its solids, but for those that are drawn so.
    """

    layout: Layout
    scene: Scene
    known: dict[object, tuple[Option, tuple[Kind, ...]]] = field(default_factory=dict)
    places: dict[int, tuple[Option, tuple[tuple[object, bool], ...]]] = field(default_factory=dict)
    shapes: Shapes = field(default_factory=dict)

    @cached_property
    def anew(self) -> Anew:
        return Anew(self.layout)

    def made_of(self, option: Option) -> list[tuple[Kind, Vec]]:
        """Return the solids of an option, with their shifts from where they first stood."""
        found: list[tuple[Kind, Vec]] = []
        for key in self._keys(option):
            if key not in self.known:
                self._learn(option)
            first, kinds = self.known[key]
            by = _between(self.scene, first, option)
            found += [(kind, by) for kind in kinds]
        return found

    def _keys(self, option: Option) -> Iterator[object]:
        """Yield what tells the solids of each item of an option from those of all others."""
        if option.free is not None:
            yield option.free
        if option.base is None:
            return
        if id(option.base) not in self.places:
            self.places[id(option.base)] = (option, tuple(_places(self.layout, option.base)))
        for place, is_drawn in self.places[id(option.base)][1]:
            yield place, option.slide_mm if is_drawn else None

    def _learn(self, option: Option) -> None:
        """Take in the solids of all items of an option that are not known yet."""
        here = self._with(option)
        tolerances = Tolerances(here, NO_DEPTHS, known_anew=self.anew)
        own = (one for one in here.placed.values() if one.id not in self.scene.placed)
        for key, one in zip(self._keys(option), own, strict=True):
            if key not in self.known:
                outer = one.side == "outer"
                kinds = (
                    Kind.of(tolerances, solid, outer=outer, known=self.shapes)
                    for solid in placed_solids(one, self.layout)
                )
                self.known[key] = (option, tuple(kinds))

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


def _between(scene: Scene, first: Option, other: Option) -> Vec:
    """Return the shift from one slide of a stack to another."""
    u, v = (b - a for a, b in zip(first.slide_mm, other.slide_mm, strict=True))
    if (u, v) == (0.0, 0.0):
        return (0.0, 0.0, 0.0)
    pose = scene.frames[other.zone].pose
    x, y, z = (u * a + v * b for a, b in zip(pose.x.vector, pose.y.vector, strict=True))
    return (round(x, 9), round(y, 9), round(z, 9))
