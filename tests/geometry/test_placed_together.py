"""Stacks that are placed by one placer stand where each stands that is placed by itself."""

from __future__ import annotations

import gc
import weakref
from itertools import islice

import pytest

from catalog.model import FrozenMap
from catalog.store import SHIPPED_ENCLOSURES, Library
from geometry import placement
from geometry.layout import Layout, Stack
from geometry.placement import Placer, place_stack
from geometry.search.listing.zone_lister import ZoneLister
from geometry.search.usual import usual
from geometry.search.wishes import Wishes, wishes_from

SLIDES_MM = ((0.0, 0.0), (2.5, -1.5))

FAN = "fan-120-25"


@pytest.fixture(scope="module")
def wishes() -> Wishes:
    library = Library()
    parts = [p for p in library.parts.values() if usual(p)]
    parts.append(library.part("fan-120-15"))
    every = wishes_from(parts)
    fans = tuple(fan for fan in every.fans if fan.frame_mm == 120.0)
    return Wishes(
        exchangers=every.exchangers[::5], fans=fans, pumps=every.pumps[:1], pump="allowed"
    )


def stacks(layout: Layout, wishes: Wishes) -> tuple[Layout, list[Stack]]:
    """Some stacks of every zone, each at two slides, in the order in which a search lists them."""
    found: list[Stack] = []
    for zone in layout.enclosure.zones:
        lister = ZoneLister(layout, zone, wishes, "Z")
        layout = lister.layout
        bases = (option.base for option in islice(lister.options(), 1, 500, 9))
        found += [
            base.but(slide_u_mm=u, slide_v_mm=v) for base in bases if base for u, v in SLIDES_MM
        ]
    return layout, found


@pytest.mark.parametrize("name", SHIPPED_ENCLOSURES)
def test_together_is_as_each_alone(name: str, wishes: Wishes) -> None:
    empty = Layout(name=name, enclosure=Library().enclosure(name))
    layout, some = stacks(empty, wishes)
    together = Placer(layout)
    assert len(some) > 20
    for stack in some:
        assert together.place(stack) == place_stack(layout, stack)


def test_a_layer_is_laid_once_for_all_stacks_that_begin_with_it(
    wishes: Wishes, monkeypatch: pytest.MonkeyPatch
) -> None:
    empty = Layout(name="tower", enclosure=Library().enclosure("tall-tower"))
    layout, some = stacks(empty, wishes)
    laid = [0]
    lay = placement._Pile._lay

    def counting(*args: object) -> object:
        laid[0] += 1
        return lay(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(placement._Pile, "_lay", counting)
    together = Placer(layout)
    items = sum(len(together.place(stack)) for stack in some)
    # In each of its turns an exchanger lies on the same fans: a fifth of all is not laid again.
    assert laid[0] < 0.85 * items, (laid[0], items)
    before = laid[0]
    assert sum(len(together.place(stack)) for stack in some) == items
    assert laid[0] == before


def test_a_part_instead_of_another_stands_as_if_it_were_in_the_stack(wishes: Wishes) -> None:
    empty = Layout(name="tower", enclosure=Library().enclosure("tall-tower"))
    layout, some = stacks(empty, wishes)
    together = Placer(layout)
    thicker = wishes.fans[0].but(id="thicker", thickness_mm=31.0)
    with_it = layout.but(parts=FrozenMap({**layout.parts, "thicker": thicker}))  # type: ignore[attr-defined]
    looked_at = 0
    for stack in some:
        ids = [item.id for layer in stack.inner for item in layer.items if item.part == FAN]
        if not ids:
            continue
        changed = stack.but(
            inner=tuple(
                layer.but(
                    items=tuple(i.but(part="thicker") if i.id in ids else i for i in layer.items)
                )
                for layer in stack.inner
            )
        )
        instead = [one.pose for one in together.stand(stack, "inner", dict.fromkeys(ids, thicker))]
        alone = [one.pose for one in place_stack(with_it, changed) if one.side == "inner"]
        assert instead == alone
        looked_at += 1
    assert looked_at > 10


def test_what_was_placed_goes_with_the_placer(wishes: Wishes) -> None:
    empty = Layout(name="cube", enclosure=Library().enclosure("small-cube"))
    layout, some = stacks(empty, wishes)
    gc.collect()
    gc.disable()
    try:
        together = Placer(layout)
        for stack in some:
            together.place(stack)
        piles = [weakref.ref(pile) for pile in together._above.values()]
        assert len(piles) > 10
        del together
        assert all(pile() is None for pile in piles)
    finally:
        gc.enable()
