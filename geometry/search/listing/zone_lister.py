"""The listed options of one zone: every stack that the chosen parts make on it.

An option is empty, fans alone on any of the cells, an exchanger with or without fans, or one of
these with a pump on an inner fan or on the plate; on request several of these side by side, and
fans on only some of the cells of a core. A slide step is part of the option, so that tables of
pairs of options are a proof. Stacks are placed by the code that places every layout. Next to the
zones there may be more to choose: the state of an obstacle, a pump on its own feet.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import combinations
from math import prod
from typing import Literal

from catalog.enclosure import Zone
from catalog.model import FrozenMap
from catalog.parts import Exchanger, Fan, Part, Pump, PumpReservoir, part_cells, top_cells
from catalog.shapes import Mount, cell_sizes, mount_sizes
from geometry.layout import Item, Layer, Layout, Side, Stack
from geometry.placement import SIDES, Placed, Placer, zone_frame
from geometry.references import named_ids
from geometry.search.listing.option import Layers, Option
from geometry.search.listing.side_by_side import Column, joined, side_by_side
from geometry.search.wishes import THROUGH_THE_PLATE, FanPlace, Wishes
from geometry.slots import slot_range

Turn = Literal[0, 1, 2, 3]

_TURNS: tuple[Turn, ...] = (0, 1, 2, 3)

STACKS_KEPT = 1000
"""So many stacks are placed before it is forgotten how layers with which several begin stand."""


class ZoneLister:
    """Lists the stacks of one zone before slides, with ids that are new to the layout.

    `slides_mm` are the slides (u, v) of what stands there now, to be listed with the others.
    """

    def __init__(
        self,
        base: Layout,
        zone: Zone,
        wishes: Wishes,
        prefix: str,
        slides_mm: Sequence[tuple[float, float]] = (),
    ) -> None:
        self.zone = zone
        self.slides_mm = slides_mm
        self.wishes = wishes
        self.prefix = prefix
        self.layout = with_parts(base, (*wishes.exchangers, *wishes.fans, *wishes.pumps))
        self.present = zone_frame(base, zone.id).present
        self._items: dict[object, Item] = {}
        self._layers: dict[object, Layer] = {}
        self._placer = Placer(self.layout)
        self._placed = 0
        self._stack_id = self._id("S")
        self._sides: list[Side] = []
        if zone.inner is not None:
            self._sides.append("inner")
        if zone.outer is not None:
            self._sides.append("outer")

    def options(self) -> Iterator[Option]:
        """Yield every option without a slide, the empty one first."""
        yield Option(self.zone.id, "empty")
        if not self.present:
            return
        yield from self._columns()
        for columns in self._beside():
            yield joined(columns)

    def counted(self) -> Iterator[tuple[tuple[Placed, ...], int]]:
        """Yield how many options are not empty, kind by kind, each with one as it stands, unslid.

        Those of a kind meet the same slots. Only one of each is placed, and of those side by side
        only one of each choice of kinds is made.
        """
        if not self.present:
            return
        alike = Counter[object]()
        first: dict[object, Option] = {}
        for option in self._columns():
            key = self._kind(option)
            alike[key] += 1
            first.setdefault(key, option)
        columns: dict[object, Column] = {}
        numbers = Counter[object]()
        for key, count in alike.items():
            column = self._column(first[key])
            assert column.option.base is not None
            placed = self.placed(column.option.base)
            yield placed, count
            slots = slot_range(placed, 0), slot_range(placed, 1)
            one_fan = column.fans_alone and first[key].fans == 1
            same = (column.cells, column.fans, column.fans_alone, one_fan, first[key].pump, slots)
            numbers[same] += count
            columns.setdefault(same, column)
        if self.wishes.side_by_side:
            counted = [replace(column, count=numbers[same]) for same, column in columns.items()]
            for beside in self._side_by_side(counted):
                stack = joined(beside).base
                assert stack is not None
                yield self.placed(stack), prod(column.count for column in beside)

    def _kind(self, option: Option) -> object:
        """Return what decides on which cells and slots an option stands, and what beside it may."""
        stack = option.layers
        assert stack is not None
        seats = tuple(
            tuple(
                tuple((self._holes[i.part], i.cell, i.turn, i.turned_over) for i in layer.items)
                for layer in side
            )
            for side in (stack.inner, stack.outer)
        )
        items = (i.part for layer in (*stack.inner, *stack.outer) for i in layer.items)
        fans = frozenset(part for part in items if isinstance(self.layout.part(part), Fan))
        return seats, fans, option.core is None, option.fans, option.pump

    @cached_property
    def _holes(self) -> Mapping[str, object]:
        """What of each part meets what is below and above it."""
        parts = (*self.wishes.exchangers, *self.wishes.fans, *self.wishes.pumps)
        numbers: dict[object, int] = {}
        own = {part.id: self.layout.part(part.id) for part in parts}
        return {
            key: numbers.setdefault((part.kind, part_cells(part), top_cells(part)), len(numbers))
            for key, part in own.items()
        }

    def _beside(self) -> Iterator[tuple[Column, ...]]:
        """Yield what may stand side by side, where that is asked for."""
        if self.wishes.side_by_side:
            yield from self._side_by_side([self._column(option) for option in self._columns()])

    def _side_by_side(self, columns: Sequence[Column]) -> Iterator[tuple[Column, ...]]:
        order = [cell.id for cell in self.zone.cells]
        return side_by_side(columns, order, mixed_fans=self.wishes.mixed_fans)

    def _columns(self) -> Iterator[Option]:
        """Yield every option that is not empty and has nothing beside it."""
        for side in self._sides:
            yield from self._fans_alone(side)
            yield from self._plates(side)
        for side in self._sides:
            for core in self.wishes.exchangers:
                yield from self._with_core(core, side)

    def _column(self, option: Option) -> Column:
        """Return an option with the cells it takes, to stand beside others."""
        assert option.base is not None
        placed = self.placed(option.base)
        cells = {seat.cell for one in placed for seat in one.seats if seat.cell is not None}
        fans = {one.part.id for one in placed if isinstance(one.part, Fan)}
        return Column(option, frozenset(cells), frozenset(fans))

    def placed(self, stack: Stack) -> tuple[Placed, ...]:
        """Return the items of a stack as they stand."""
        self._placed += 1
        if self._placed % STACKS_KEPT == 0:
            self._placer = Placer(self.layout)
        return self._placer.place(stack)

    def forget(self) -> None:
        """Forget what stacks have in common, until some are listed again."""
        self._items.clear()
        self._layers.clear()
        self._placer = Placer(self.layout)

    # ---- fans alone, pumps on the plate ----

    def _fans_alone(self, side: Side) -> Iterator[Option]:
        for fan in self.wishes.fans:
            cells = [c.id for c in self.zone.cells if _same_holes(c.accepts, fan)]
            for count in range(len(cells), 0, -1):
                for some in combinations(cells, count):
                    row = self._fan_layer("F", fan, some)
                    yield from self._finished(
                        f"{count} {'fan' if count == 1 else 'fans'} alone",
                        {side: [row]},
                        None,
                        side,
                    )

    def _plates(self, side: Side) -> Iterator[Option]:
        if self.wishes.pump == "none" or side == "outer":
            return
        for pump in self.wishes.pumps:
            for cell in self.zone.cells:
                if _same_holes(cell.accepts, pump):
                    for turn in _TURNS:
                        layer = self._layer("P", [self._item("P", pump, cell.id, turn)])
                        yield self._option("pump alone", {side: [layer]}, None)

    # ---- exchangers ----

    def _with_core(self, core: Exchanger, side: Side) -> Iterator[Option]:
        mounts = cell_sizes(core.cells)
        cells = [c for c in self.zone.cells if mount_sizes(c.accepts) & mounts]
        fans = [f for f in self.wishes.fans if (f.frame_mm, f.pitch_mm) in mounts]
        for cell in cells:
            for turn in _TURNS:
                for over in (False, True):
                    item = self._item("E", core, cell.id, turn, over)
                    yield from self._with_fans(core, item, side, fans)

    def _with_fans(
        self, core: Exchanger, item: Item, side: Side, fans: Sequence[Fan]
    ) -> Iterator[Option]:
        layer = self._layer("E", [item])
        cells = self._under(core, item, {side: [layer]})
        count = len(core.cells)
        if len(cells) != count:
            return
        name = f"exchanger {count} {'fan' if count == 1 else 'fans'} long"
        if "none" in self.wishes.fan_places:
            yield self._option(name, {side: [layer]}, core)
        other: Side = "outer" if side == "inner" else "inner"
        for place in self.wishes.fan_places:
            if place == "none" or (place in THROUGH_THE_PLATE and other not in self._sides):
                continue
            two_rows = place in ("both", "across")
            for fan in fans:
                for second in fans if two_rows and self.wishes.mixed_fans else (fan,):
                    for near, far in self._fan_rows(fan, second, cells, two_rows=two_rows):
                        plans: dict[FanPlace, dict[Side, list[Layer]]] = {
                            "plate": {side: [near, layer]},
                            "far": {side: [layer, far]},
                            "both": {side: [near, layer, far]},
                            "outer": {side: [layer], other: [near]},
                            "across": {side: [layer, far], other: [near]},
                        }
                        yield from self._finished(name, plans[place], core, side, place)

    def _under(
        self, core: Exchanger, item: Item, alone: Mapping[Side, Sequence[Layer]]
    ) -> list[str]:
        """Return the cells of the zone that lie under a core; fewer than its own where it juts."""
        if len(core.cells) == 1:
            return [item.cell]
        stack = Option(self.zone.id, "", self._stack(alone)).base
        assert stack is not None
        (one,) = self.placed(stack)
        return [seat.cell for seat in one.seats if seat.cell is not None]

    def _fan_rows(
        self, near: Fan, far: Fan, cells: Sequence[str], *, two_rows: bool
    ) -> Iterator[tuple[Layer, Layer]]:
        """Yield the rows of fans before and behind a core over some cells.

        They cover it; on request rows with gaps follow. Where there is but one, both are alike.
        """
        rows = [tuple(cells)]
        if self.wishes.part_rows:
            rows += [some for n in range(len(cells) - 1, 0, -1) for some in combinations(cells, n)]
        for on_near in rows:
            for on_far in rows if two_rows else (on_near,):
                yield self._fan_layer("F", near, on_near), self._fan_layer("G", far, on_far)

    def _finished(
        self,
        pattern: str,
        sides: dict[Side, list[Layer]],
        core: Exchanger | None,
        side: Side,
        place: FanPlace = "far",
    ) -> Iterator[Option]:
        """Yield an option, and with it those with a pump on one of its innermost fans."""
        yield self._option(pattern, sides, core)
        fans_innermost = "inner" in sides and (
            place in ("far", "both", "across") if side == "inner" else place in THROUGH_THE_PLATE
        )
        if self.wishes.pump == "none" or not fans_innermost:
            return
        pumped = f"{pattern} + pump"
        for pump in self.wishes.pumps:
            row = sides["inner"][-1]
            for fan_item in row.items:
                if not _same_holes(part_cells(self.layout.part(fan_item.part))[0].accepts, pump):
                    continue
                for turn in _TURNS:
                    top = self._layer("P", [self._item("P", pump, fan_item.cell, turn)])
                    with_pump = {**sides, "inner": [*sides["inner"], top]}
                    yield self._option(pumped, with_pump, core)

    # ---- values ----

    def _option(
        self, pattern: str, sides: dict[Side, list[Layer]], core: Exchanger | None
    ) -> Option:
        items = [i for layers in sides.values() for layer in layers for i in layer.items]
        kinds = [self.layout.part(item.part).kind for item in items]
        return Option(
            self.zone.id,
            pattern,
            self._stack(sides),
            core=core,
            fans=kinds.count("fan"),
            parts=len(items),
            pump="pump" in kinds or "pump_reservoir" in kinds,
        )

    def _stack(self, sides: Mapping[Side, Sequence[Layer]]) -> Layers:
        inner, outer = (tuple(sides.get(side, ())) for side in SIDES)
        return Layers(self._stack_id, inner, outer)

    def _id(self, letters: str) -> str:
        return f"{self.prefix}-{letters}"

    def _item(
        self, letters: str, part: Part, cell: str, turn: Turn = 0, over: bool = False
    ) -> Item:
        key = (letters, part.id, cell, turn, over)
        known = self._items.get(key)
        if known is None:
            known = self._items[key] = Item(
                id=self._id(letters), part=part.id, cell=cell, turn=turn, turned_over=over
            )
        return known

    def _layer(self, letters: str, items: Sequence[Item]) -> Layer:
        key = (letters, *map(id, items))
        known = self._layers.get(key)
        if known is None:
            known = self._layers[key] = Layer(id=self._id(f"L{letters}"), items=tuple(items))
        return known

    def _fan_layer(self, letters: str, fan: Fan, cells: Sequence[str]) -> Layer:
        items = [self._item(f"{letters}{k + 1}", fan, cell) for k, cell in enumerate(cells)]
        return self._layer(letters, items)


def with_parts(layout: Layout, parts: Sequence[Part]) -> Layout:
    """Return the layout with copies of parts added; those that it has by that id stay."""
    return layout.but(parts=FrozenMap({**{p.id: p for p in parts}, **layout.parts}))


def new_prefix(layout: Layout, number: int) -> str:
    """Return the beginning of ids for the options of a zone: "Z1", or a longer one if in use."""
    taken = [one for _, one in named_ids(layout)]
    letters = "Z"
    while any(one.startswith(f"{letters}{number}-") for one in taken):
        letters += "Z"
    return f"{letters}{number}"


def _same_holes(accepts: Sequence[Mount], part: Fan | Pump | PumpReservoir) -> bool:
    cells = part_cells(part)
    return len(cells) == 1 and bool(mount_sizes(accepts) & mount_sizes(cells[0].accepts))
