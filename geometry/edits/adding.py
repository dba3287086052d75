"""Adds whole stacks and free parts to a layout, under ids that placing them by hand would give."""

from __future__ import annotations

import re
from collections.abc import Iterable

from geometry.edits.base import ID_LETTERS
from geometry.layout import FreePart, Layer, Layout, Stack
from geometry.references import named_ids

NUMBERED = re.compile(r"([A-Z]+)(\d{1,9})\Z")


def with_placed(layout: Layout, stacks: Iterable[Stack], free: Iterable[FreePart] = ()) -> Layout:
    """Return the layout with stacks and free parts that it has copies of the parts of.

    The ids that they bring are not kept: each is one above the highest that is in use.
    """
    ids = _Ids(layout)
    more = tuple(
        stack.but(id=ids.next("S"), inner=ids.layers(stack.inner), outer=ids.layers(stack.outer))
        for stack in stacks
    )
    loose = tuple(one.but(id=ids.of_part(one.part)) for one in free)
    return layout.but(stacks=(*layout.stacks, *more), free=(*layout.free, *loose))


class _Ids:
    def __init__(self, layout: Layout) -> None:
        self._layout = layout
        self._highest: dict[str, int] = {}
        for _, one in named_ids(layout):
            found = NUMBERED.match(one)
            if found is not None:
                letters, number = found[1], int(found[2])
                self._highest[letters] = max(number, self._highest.get(letters, 0))

    def next(self, letters: str) -> str:
        self._highest[letters] = self._highest.get(letters, 0) + 1
        return f"{letters}{self._highest[letters]}"

    def of_part(self, part_id: str) -> str:
        return self.next(ID_LETTERS[self._layout.part(part_id).kind])

    def layers(self, layers: tuple[Layer, ...]) -> tuple[Layer, ...]:
        return tuple(
            layer.but(
                id=self.next("L"),
                items=tuple(item.but(id=self.of_part(item.part)) for item in layer.items),
            )
            for layer in layers
        )
