"""Several things side by side on one zone, each on cells of its own, as one option.

Each is stacked by itself, so that a core beside a thicker one stands no higher for it: its layers
follow those of what stands before it. Whether they have room beside each other is for the measures
to say.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from geometry.layout import Layer
from geometry.search.listing.option import Layers, Option


@dataclass(frozen=True, eq=False)
class Column:
    """An option that may stand beside others: the cells of the zone it takes, its kinds of fan.

    It may stand for `count` that differ in nothing that decides what stands beside them.
    """

    option: Option
    cells: frozenset[str]
    fans: frozenset[str]
    count: int = 1

    @property
    def fans_alone(self) -> bool:
        """Whether it is fans without a core, with or without a pump on one of them."""
        return self.option.core is None and self.option.fans > 0


def side_by_side(
    columns: Sequence[Column], order: Sequence[str], *, mixed_fans: bool
) -> Iterator[tuple[Column, ...]]:
    """Yield every choice of two or more columns that share no cell, by the cells they begin at.

    `order` are the cells of the zone. At most one column holds a pump; fans are of one kind unless
    they may be mixed. A column of fans alone has one fan, and stands beside something else: many
    fans alone are an option of one column.
    """
    starting: dict[str, list[Column]] = {cell: [] for cell in order}
    for column in columns:
        begins = next((cell for cell in order if cell in column.cells), None)
        if begins is not None and (not column.fans_alone or column.option.fans == 1):
            renamed = _renamed(column.option, order.index(begins))
            starting[begins].append(replace(column, option=renamed))
    for chosen in _apart(starting, order, mixed_fans=mixed_fans):
        if len(chosen) > 1 and not all(column.fans_alone for column in chosen):
            yield chosen


def _apart(
    starting: Mapping[str, Sequence[Column]], order: Sequence[str], *, mixed_fans: bool
) -> Iterator[tuple[Column, ...]]:
    """Yield all choices of columns that share no cell and may stand together, none included."""
    if not order:
        yield ()
        return
    for others in _apart(starting, order[1:], mixed_fans=mixed_fans):
        yield others
        taken = frozenset[str]().union(*(column.cells for column in others))
        fans = frozenset[str]().union(*(column.fans for column in others))
        pump = any(column.option.pump for column in others)
        for column in starting[order[0]]:
            if column.cells & taken or (pump and column.option.pump):
                continue
            if mixed_fans or len(fans | column.fans) <= 1:
                yield (column, *others)


def joined(columns: Sequence[Column]) -> Option:
    """Return columns that stand side by side as one option."""
    options = [column.option for column in columns]
    stacks = [one.layers for one in options if one.layers is not None]
    return Option(
        options[0].zone,
        _pattern(options),
        Layers(
            stacks[0].id,
            tuple(layer for stack in stacks for layer in stack.inner),
            tuple(layer for stack in stacks for layer in stack.outer),
        ),
        fans=sum(one.fans for one in options),
        parts=sum(one.parts for one in options),
        pump=any(one.pump for one in options),
        beside=tuple(options),
    )


def _renamed(option: Option, at: int) -> Option:
    """Return an option that begins at the cell of that number, with ids that no other has there."""
    if at == 0 or option.layers is None:
        return option

    def renamed(side: Sequence[Layer]) -> tuple[Layer, ...]:
        return tuple(
            layer.but(
                id=f"{layer.id}-{at + 1}",
                items=tuple(item.but(id=f"{item.id}-{at + 1}") for item in layer.items),
            )
            for layer in side
        )

    own = option.layers
    return replace(option, layers=Layers(own.id, renamed(own.inner), renamed(own.outer)))


_PUMP = " + pump"


def _pattern(options: Sequence[Option]) -> str:
    """Return what groups an option: its exchangers, then fans alone, then the pump."""
    patterns = Counter(one.pattern.removesuffix(_PUMP) for one in options)
    words = [
        pattern if count == 1 else f"{count} {pattern.replace('exchanger', 'exchangers', 1)}"
        for pattern, count in sorted(patterns.items())
        if pattern.startswith("exchanger")
    ]
    fans = sum(one.fans for one in options if one.core is None)
    if fans:
        words.append(f"{fans} {'fan' if fans == 1 else 'fans'} alone")
    pump = _PUMP if any(one.pump for one in options) else ""
    return " + ".join(words) + pump
