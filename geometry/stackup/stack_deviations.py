"""What may be off in a stack: its parts, its standing screw heads, its zone.

Items of one layer that are the same part count as one dimension: they are taken from one batch,
all off alike. Of several parts in a layer the thickest carries what lies on them, so what they are
off does not add: see `geometry.stackup.bearing`. Each joint lets what hangs on it sit off sideways
by the play of its screws, the parts of one layer together. Long screws go through the frames of
fans and gaskets (common practice, no source), so what lies on those hangs on what is below them: it
has the play of its own screws, and theirs does not add to it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial

from catalog.parts import Fan, Gasket
from geometry.layout import Item, Layer, Layout, PortUse, Side, Stack
from geometry.measures.pose import Vec
from geometry.measures.solid import Solid
from geometry.placement import SIDES, Laid, Placed
from geometry.scene import Scene, placed_solids
from geometry.stackup.bearing import Lifts
from geometry.stackup.deviation import (
    Carry,
    Deviation,
    Effect,
    Move,
    Prisms,
    Touches,
    along,
    belongs_to,
    carried,
    carrying,
    general,
    is_one_of,
    moving,
    screw_play,
)
from geometry.stackup.pair_gaps import ALL_AXES, Axes
from geometry.stackup.part_deviations import (
    Change,
    changes_of,
    of_fittings,
    off_by,
    suffix_of,
    touched,
)
from geometry.stackup.restacked import Restacked
from geometry.stackup.stack_ups import EVEN

THROUGH = (Fan, Gasket)
"""Parts through which long screws go."""


def of_stack(scene: Scene, stack: Stack, anew: Restacked) -> Iterator[Deviation]:
    """Yield all that may be off in a stack but for what carries its zone."""
    own = _Stack(scene, stack, anew)
    for side in SIDES:
        for layer in stack.side(side):
            kinds = tuple(_alike(layer))
            lifts = own.lifts(side, layer, kinds)
            for k, alike in enumerate(kinds):
                lifted = None if lifts is None else (lifts, k)
                yield from own.of_items(side, layer, alike, lifted)
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
    anew: Restacked

    @cached_property
    def ids(self) -> frozenset[str]:
        return frozenset(one.id for one in self.scene.items_of(self.stack))

    @property
    def along_n(self) -> Axes:
        """The axis along which the stack piles up."""
        return frozenset((self.scene.frames[self.stack.zone].inward.axis,))

    def lifts(self, side: Side, layer: Layer, kinds: Sequence[tuple[Item, ...]]) -> Lifts | None:
        """Return how several parts of a layer lift what lies on them; None where each does alone.

        None too where that is not known: the sum of what each does then stands.
        """
        if len(kinds) < 2 or self.stack.side(side)[-1] is layer:
            return None
        offs = []
        for alike in kinds:
            own = [one.dimension for one in self._changes(alike) if one.thickens]
            if len(own) > 1:
                return None
            offs.append((own[0].plus_mm or 0.0, own[0].minus_mm or 0.0) if own else (0.0, 0.0))
        of = {item.id: k for k, alike in enumerate(kinds) for item in alike}
        found = Lifts(tuple(self.anew.as_drawn.stand(self.stack, side)), of, offs)
        return found if found.known else None

    def _changes(self, alike: tuple[Item, ...]) -> tuple[Change, ...]:
        uses: dict[str, PortUse] = {}
        for item in alike:
            uses.update(item.ports)
        return changes_of(self.scene.placed[alike[0].id].part, uses, self.scene.layout.parts)

    def of_items(
        self,
        side: Side,
        layer: Layer,
        alike: tuple[Item, ...],
        lifted: tuple[Lifts, int] | None,
    ) -> Iterator[Deviation]:
        """Yield what may be off in items of one layer that are the same part.

        `lifted` tells how they lift what lies on them and others, and which of these they are.
        """
        one = self.scene.placed[alike[0].id]
        ids = frozenset(item.id for item in alike)
        for change in self._changes(alike):
            anew, by = None, lifted if change.thickens else None
            if change.seats and by is None:
                anew = partial(self.anew.with_part, self.stack, ids, one.part, change.path)
            effect = _Restacked(self, anew, ids, change, by, flat=not change.thickens)
            axes = change.turned(one.pose)
            touches = touched(ids, change)
            if change.seats:
                touches = self._on_or_above(side, layer)
            yield Deviation(
                one.id,
                change.path,
                change.dimension,
                effect.move,
                axes,
                touches,
                carry=effect.carry,
                odds=EVEN if by is None else by[0].odds(by[1]),
                in_proportion=by is None,
            )

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

    def of_zone(self) -> Iterator[Deviation]:
        """Yield what may be off in the place, the plate and the holes of the zone."""
        enclosure = self.scene.layout.enclosure
        zone = self.scene.frames[self.stack.zone].zone
        where = f"zones[{enclosure.zones.index(zone)}]"
        for axis in (0, 1, 2):
            carry = carrying(axis, self._mine)
            path, axes = f"{where}.origin_mm[{axis}]", frozenset((axis,))
            yield from self._of_plate(zone.id, path, moving(carry), carry, axes)
        paths = [f"{where}.{side}.plate_mm" for side in SIDES if zone.side(side) is not None]
        for index in range(len(zone.cells)):
            paths += [f"{where}.cells[{index}].u_mm", f"{where}.cells[{index}].v_mm"]
        for path in paths:
            flat = not path.endswith("plate_mm")
            effect = _Restacked(self, partial(self.anew.on_plate, self.stack, path), flat=flat)
            axes = ALL_AXES - self.along_n if flat else self.along_n
            yield from self._of_plate(zone.id, path, effect.move, effect.carry, axes)

    def _of_plate(
        self, owner: str, path: str, move: Move, carry: Carry, axes: Axes
    ) -> Iterator[Deviation]:
        known = self.anew.dimension(path)
        if known.minus_mm or known.plus_mm:
            yield Deviation(owner, path, known, move, axes, self._mine, carry=carry)


@dataclass(frozen=True, eq=False)
class _Restacked:
    """What a number does to a stack: what changes shape, and what stands elsewhere with it.

    `anew` gives how the items of a side stand then, None where all stay where they are; `change`
    is that of the parts of some `items`, `lifted` how these lift what lies on them and others.
    `flat` tells that it shifts items across the stack alone: those that come to lie over others so
    would be lifted by a sliver, and are not, for what lies on what is as drawn.
    """

    own: _Stack
    anew: Callable[[Side, float], Iterator[Laid]] | None
    items: frozenset[str] = frozenset()
    change: Change | None = None
    lifted: tuple[Lifts, int] | None = None
    flat: bool = False
    known: dict[Side, tuple[float, Mapping[str, Vec]]] = field(default_factory=dict)

    def by_mm(self, owner: str, off_mm: float) -> Vec:
        """Return how far an item is shifted; placed anew once, for shifts are in proportion.

        But for lifts by several parts, of which the thickest counts.
        """
        one = self.own.scene.placed[owner]
        if self.lifted is not None and one.frame is not None and one.side is not None:
            lifts, kind = self.lifted
            out, mm = one.frame.out_of_plate(one.side), lifts.mm(kind, owner, off_mm)
            return along(out.axis, out.sign * mm)
        if self.anew is None or one.side is None:
            return (0.0, 0.0, 0.0)
        if one.side not in self.known:
            items = (item.id for layer in self.own.stack.side(one.side) for item in layer.items)
            shifts = (laid.shift for laid in self.anew(one.side, off_mm))
            self.known[one.side] = (off_mm, dict(zip(items, shifts, strict=True)))
        first_mm, stands = self.known[one.side]
        a, b = one.pose.shift, stands[owner]
        part = off_mm / first_mm
        x, y, z = (part * (after - before) for before, after in zip(a, b, strict=True))
        if self.flat:
            x, y, z = (0.0 if k in self.own.along_n else mm for k, mm in enumerate((x, y, z)))
        return (x, y, z)

    def shapes(self, solid: Solid) -> bool:
        """Whether it changes a solid itself."""
        if self.change is None or solid.owner not in self.items:
            return False
        suffix = suffix_of(solid)
        return suffix in self.change.known_suffixes or (suffix == "heads" and self.change.seats)

    def carry(self, solid: Solid, off_mm: float) -> Effect | None:
        """Return what it does to a solid; None where it stays as it is."""
        if solid.owner not in self.own.ids:
            return None
        by = self.by_mm(solid.owner, off_mm)
        if self.change is None or not self.shapes(solid):
            return Effect(by)
        shape = self.change.shape(suffix_of(solid), off_mm)
        pose = self.own.scene.placed[solid.owner].pose
        return None if shape is None else Effect(by, shape, pose)

    def move(self, solid: Solid, off_mm: float) -> Prisms | None:
        """Return the prisms of a solid then; None where it stays as it is."""
        if solid.owner not in self.own.ids:
            return None
        by = self.by_mm(solid.owner, off_mm)
        if self.change is not None and self.shapes(solid):
            one = self.own.scene.placed[solid.owner]
            x, y, z = (a + b for a, b in zip(one.pose.shift, by, strict=True))
            pose = replace(one.pose, shift=(x, y, z))
            prisms = self.change.prisms(suffix_of(solid), off_mm, pose)
            if prisms is not None:
                return prisms
            if suffix_of(solid) == "heads":
                part = off_by(one.part, self.change.path, off_mm)
                return _heads_of(replace(one, part=part, pose=pose), self.own.scene.layout)
        return carried(solid, by) if any(by) else None


def _heads_of(one: Placed, layout: Layout) -> Prisms | None:
    for solid in placed_solids(one, layout):
        if suffix_of(solid) == "heads":
            return solid.prisms
    return None
