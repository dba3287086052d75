"""What may be off in a stack: its parts, its standing screw heads, its zone.

Items of one layer that are the same part count as one dimension: the thickest of them carries what
lies on it, so their deviations do not add. Each joint lets what hangs on it sit off sideways by
the play of its screws, the parts of one layer together. Long screws go through the frames of fans
and gaskets (common practice, no source), so what lies on those hangs on what is below them: it has
the play of its own screws, and theirs does not add to it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from catalog.model import FrozenMap
from catalog.numbers import with_number
from catalog.parts import Fan, Gasket
from catalog.paths import length_at
from geometry.layout import Item, Layer, Layout, PortUse, Side, Stack
from geometry.measures.pose import Vec
from geometry.measures.solid import Solid
from geometry.placement import Placed, place_stack
from geometry.scene import Scene, placed_solids
from geometry.stackup.deviation import (
    Deviation,
    Move,
    Prisms,
    Touches,
    along,
    belongs_to,
    carried,
    general,
    is_one_of,
    screw_play,
    toleranced,
)
from geometry.stackup.of_parts import (
    CHANGED,
    Change,
    changes_of,
    of_fittings,
    off_by,
    suffix_of,
    touched,
)
from geometry.stackup.pair_gaps import ALL_AXES, Axes

THROUGH = (Fan, Gasket)
"""Parts through which long screws go."""

SIDES: tuple[Side, Side] = ("inner", "outer")


def of_stack(scene: Scene, stack: Stack) -> Iterator[Deviation]:
    """Yield all that may be off in a stack but for what carries its zone."""
    own = _Stack(scene, stack)
    for side in SIDES:
        for layer in stack.side(side):
            for alike in _alike(layer):
                yield from own.of_items(side, layer, alike)
            for item in layer.items:
                yield from of_fittings(scene.layout, scene.placed[item.id])
                heads, its = own.heads(item), is_one_of(f"{item.id}/heads")
                yield from general(item.id, "head_mm", item.head_mm, heads, own.along_n, its)
            yield from own.of_joint(side, layer)
    yield from own.of_zone()


def _alike(layer: Layer) -> Iterator[tuple[Item, ...]]:
    by_part: dict[str, list[Item]] = {}
    for item in layer.items:
        by_part.setdefault(item.part, []).append(item)
    return (tuple(items) for items in by_part.values())


@dataclass(frozen=True, eq=False)
class _Stack:
    scene: Scene
    stack: Stack

    @cached_property
    def ids(self) -> frozenset[str]:
        return frozenset(one.id for one in self.scene.items_of(self.stack))

    @property
    def along_n(self) -> Axes:
        """The axis along which the stack piles up."""
        return frozenset((self.scene.frames[self.stack.zone].inward.axis,))

    def of_items(self, side: Side, layer: Layer, alike: tuple[Item, ...]) -> Iterator[Deviation]:
        """Yield what may be off in items of one layer that are the same part."""
        one = self.scene.placed[alike[0].id]
        uses: dict[str, PortUse] = {}
        for item in alike:
            uses.update(item.ports)
        ids = frozenset(item.id for item in alike)
        for change in changes_of(one.part, uses, self.scene.layout.parts):
            if change.seats:
                restacked = self._with_part(side, layer, alike, change.path)
                move = self._moved(restacked, ids, change)
            else:
                move = self._moved(None, ids, change)
            axes = change.turned(one.pose)
            touches = touched(ids, change)
            if change.seats:
                touches = self._on_or_above(side, layer)
            yield Deviation(one.id, change.path, change.dimension, move, axes, touches)

    def of_joint(self, side: Side, layer: Layer) -> Iterator[Deviation]:
        """Yield the play of the screws by which the items of a layer hang on what is below."""
        held = [
            item.id
            for item in layer.items
            if any(seat.on is not None for seat in self.scene.placed[item.id].seats)
        ]
        if not held:
            return
        carrying = {one for one in held if not self._screwed_through(one)}
        moved = set(held)
        layers = self.stack.side(side)
        for above in layers[layers.index(layer) + 1 :]:
            for item in above.items:
                if any(seat.on in carrying for seat in self.scene.placed[item.id].seats):
                    moved.add(item.id)
                    carrying.add(item.id)
        yield from screw_play(held[0], ALL_AXES - self.along_n, belongs_to(frozenset(moved)))

    def _screwed_through(self, item_id: str) -> bool:
        return isinstance(self.scene.placed[item_id].part, THROUGH)

    def _mine(self, solid: Solid) -> bool:
        return solid.owner in self.ids

    def _on_or_above(self, side: Side, layer: Layer) -> Touches:
        """Return which solids stand in a layer or are stacked on it."""
        layers = self.stack.side(side)
        rest = layers[layers.index(layer) :]
        return belongs_to(frozenset(item.id for each in rest for item in each.items))

    def heads(self, item: Item) -> Move:
        """Return what a change of an item's standing screw heads moves."""

        def move(solid: Solid, off_mm: float) -> Prisms | None:
            if solid.id != f"{item.id}/heads":
                return None
            use = item.but(head_mm=item.head_mm + off_mm)
            one = replace(self.scene.placed[item.id], use=use)
            return _heads_of(one, self.scene.layout)

        return move

    def _with_part(
        self, side: Side, layer: Layer, alike: tuple[Item, ...], path: str
    ) -> Callable[[float], tuple[Layout, Stack]]:
        def changed(off_mm: float) -> tuple[Layout, Stack]:
            layout, stack = self.scene.layout, self.stack
            part = off_by(layout.part(alike[0].part), path, off_mm)
            items = tuple(i.but(part=CHANGED) if i in alike else i for i in layer.items)
            layers = tuple(
                layer.but(items=items) if each is layer else each for each in stack.side(side)
            )
            parts = FrozenMap({**layout.parts, CHANGED: part})
            return layout.but(parts=parts), stack.but(**{side: layers})

        return changed

    def _moved(
        self,
        restacked: Callable[[float], tuple[Layout, Stack]] | None,
        changed_items: frozenset[str] = frozenset(),
        change: Change | None = None,
    ) -> Move:
        """Return the move of a number: what changes shape, and what stands elsewhere with it."""
        known: list[tuple[float, Mapping[str, Placed]]] = []

        def by_mm(owner: str, off_mm: float) -> Vec:
            """Return how far an item is shifted; placed anew once, for shifts are in proportion."""
            if restacked is None:
                return (0.0, 0.0, 0.0)
            if not known:
                again = place_stack(*restacked(off_mm))
                known.append((off_mm, {one.id: one for one in again}))
            first_mm, placed = known[0]
            a, b = self.scene.placed[owner].pose.shift, placed[owner].pose.shift
            part = off_mm / first_mm
            return (part * (b[0] - a[0]), part * (b[1] - a[1]), part * (b[2] - a[2]))

        def move(solid: Solid, off_mm: float) -> Prisms | None:
            if solid.owner not in self.ids:
                return None
            by = by_mm(solid.owner, off_mm)
            one = self.scene.placed[solid.owner]
            if change is not None and solid.owner in changed_items:
                x, y, z = (a + b for a, b in zip(one.pose.shift, by, strict=True))
                pose = replace(one.pose, shift=(x, y, z))
                prisms = change.prisms(suffix_of(solid), off_mm, pose)
                if prisms is not None:
                    return prisms
                if suffix_of(solid) == "heads" and change.seats:
                    part = off_by(one.part, change.path, off_mm)
                    return _heads_of(replace(one, part=part, pose=pose), self.scene.layout)
            return carried(solid, by) if any(by) else None

        return move

    def of_zone(self) -> Iterator[Deviation]:
        """Yield what may be off in the place, the plate and the holes of the zone."""
        enclosure = self.scene.layout.enclosure
        zone = self.scene.frames[self.stack.zone].zone
        where = f"zones[{enclosure.zones.index(zone)}]"
        for axis in (0, 1, 2):

            def shift(solid: Solid, off_mm: float, axis: int = axis) -> Prisms | None:
                return carried(solid, along(axis, off_mm)) if solid.owner in self.ids else None

            path, axes = f"{where}.origin_mm[{axis}]", frozenset((axis,))
            yield from toleranced(enclosure, zone.id, path, shift, axes, self._mine)
        paths = [f"{where}.{side}.plate_mm" for side in SIDES if getattr(zone, side) is not None]
        for index in range(len(zone.cells)):
            paths += [f"{where}.cells[{index}].u_mm", f"{where}.cells[{index}].v_mm"]
        for path in paths:
            move = self._moved(self._with_zone(path))
            axes = self.along_n if path.endswith("plate_mm") else ALL_AXES - self.along_n
            yield from toleranced(enclosure, zone.id, path, move, axes, self._mine)

    def _with_zone(self, path: str) -> Callable[[float], tuple[Layout, Stack]]:
        def changed(off_mm: float) -> tuple[Layout, Stack]:
            layout = self.scene.layout
            other = with_number(layout.enclosure, path, _number(layout, path) + off_mm)
            return layout.but(enclosure=other), self.stack

        return changed


def _heads_of(one: Placed, layout: Layout) -> Prisms | None:
    for solid in placed_solids(one, layout):
        if suffix_of(solid) == "heads":
            return solid.prisms
    return None


def _number(layout: Layout, path: str) -> float:
    return length_at(layout.enclosure, path)
