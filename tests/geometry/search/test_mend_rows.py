"""Changes to rows of fans: those of another kind, and what else stands in a row, stay as they are.

Fans are 120 mm; what lies on the front wall piles up to the rear, margins 2 mm.
"""

from __future__ import annotations

import pytest
from small_rooms import PUMP, block, exchanger, fan, fan_layer, layout, one, room, row, stack, zone

from catalog.enclosure import Obstacle
from catalog.parts import Part
from geometry.checks.runner import check_layout
from geometry.edits import EditError, fan_plan, keep_fans
from geometry.layout import Item, Layer, Layout
from geometry.search.mending.mend import Mend, mends

SLIM, FLAT, DEEP = fan(15), fan(25), fan(38)

CORE = exchanger(2, 30)


def front(x_mm: float, layers: list[Layer], *obstacles: Obstacle, cells: int = 2) -> Layout:
    own = zone("front-zone", "front", (x_mm, 40, 60), "+z", "+y", row(cells))
    parts = [SLIM, FLAT, DEEP, PUMP, CORE, exchanger(1, 30)]
    used = {item.part for layer in layers for item in layer.items}
    return layout(
        room((x_mm, 200, 560), [own], obstacles),
        [part for part in parts if part.id in used],
        [stack("S", "front-zone", *layers)],
    )


def listed(lay: Layout, *parts: Part) -> list[Mend]:
    checked = check_layout(lay, remedies=False)
    *_, last = mends(checked, (*lay.parts.values(), *parts))
    return list(last.found)


def items(lay: Layout) -> list[list[tuple[str, str, str]]]:
    return [[(i.id, i.part, i.cell) for i in layer.items] for layer in lay.stacks[0].inner]


def beside(*others: Item) -> Layer:
    """A layer that begins with a fan of 38 mm on the first cell."""
    return Layer(id="A", items=(Item(id="F", part=DEEP.id, cell="c1"), *others))


@pytest.mark.parametrize("fan_first", [True, False])
def test_a_fan_beside_a_pump_gets_thinner_and_the_pump_stays(fan_first: bool) -> None:
    # 38 mm over the fan's cell, at x = 162, run 2 mm into a post that begins at 164; 25 fit.
    layer = beside(Item(id="P", part=PUMP.id, cell="c2"))
    layer = layer if fan_first else layer.but(items=layer.items[::-1])
    post = block("post", (140, 60, 70), (164, 140, 170))
    found = listed(front(200, [layer], post), FLAT, SLIM)
    (swap,) = [mend for mend in found if mend.name.startswith("Swap Fan")]
    assert swap.name == "Swap Fan 120 x 38 (F) for Fan 120 x 25"
    ((*row_of,),) = items(swap.layout)
    assert sorted(row_of) == [("F", FLAT.id, "c1"), ("P", PUMP.id, "c2")]


def test_fans_of_one_kind_are_swapped_together_and_told_by_their_ids_beside_others() -> None:
    row_of_three = beside(
        Item(id="G", part=DEEP.id, cell="c2"), Item(id="H", part=FLAT.id, cell="c3")
    )
    post = block("post", (140, 60, 70), (164, 140, 290))
    found = listed(front(200, [row_of_three], post, cells=3), FLAT)
    (swap,) = [mend for mend in found if mend.name.startswith("Swap Fan")]
    assert swap.name == "Swap Fan 120 x 38 (F) and G for Fan 120 x 25"
    assert {part for (row_of,) in [items(swap.layout)] for _, part, _ in row_of} == {FLAT.id}


def two_faces(x_mm: float) -> Layout:
    """Fans of 25 mm at the plate, a core of 30 and fans of 15 on its far side: 70 mm."""
    plate, far = (fan_layer(name, part, ("c1", "c2")) for name, part in (("A", FLAT), ("B", SLIM)))
    return front(x_mm, [plate, one("E", CORE), far])


def test_the_row_that_stays_keeps_its_fans() -> None:
    # 70 + 2 mm do not go into 65, and at the plate 25 + 30 + 24 with the fittings neither; 30 mm
    # with the slim fans or the fittings on it do.
    found = listed(two_faces(65))
    assert [mend.name for mend in found] == ["Set the fans on front zone from push-pull to pull"]
    assert items(found[0].layout) == [
        [("E", CORE.id, "c1")], [("B.1", SLIM.id, "c1"), ("B.2", SLIM.id, "c2")],
    ]  # fmt: skip
    assert [part.id for part in found[0].layout.parts.values()] == [SLIM.id, CORE.id]


def test_a_row_that_goes_to_the_other_face_stays_the_same_row() -> None:
    lay = two_faces(300)
    pushed = keep_fans(lay, "S", "inner", "push")
    assert items(pushed) == items(lay)[:2]
    pulled = keep_fans(pushed, "S", "inner", "pull")
    assert items(pulled) == [items(lay)[1], items(lay)[0]]
    assert fan_plan(pulled, pulled.stacks[0], "inner") == "pull"
    assert keep_fans(pulled, "S", "inner", "push") == pushed
    with pytest.raises(EditError, match="has no exchanger"):
        keep_fans(front(300, [beside()]), "S", "inner", "push")


def test_what_shares_a_layer_with_fans_stays_where_it_is() -> None:
    # On the far face of a one-fan core there is a fan, and beside the core's cell a pump.
    small = exchanger(1, 30)
    layer = Layer(
        id="B", items=(Item(id="F", part=FLAT.id, cell="c1"), Item(id="P", part=PUMP.id, cell="c3"))
    )
    lay = front(300, [one("E", small), layer], cells=3)
    pushed = keep_fans(lay, "S", "inner", "push")
    assert items(pushed) == [
        [("F", FLAT.id, "c1")],
        [("E", small.id, "c1")],
        [("P", PUMP.id, "c3")],
    ]
    ids = [layer.id for layer in pushed.stacks[0].inner]
    assert len(set(ids)) == len(ids)
