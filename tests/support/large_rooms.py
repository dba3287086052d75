"""Large layouts for speed: a hall of stacks on the floor with blocks on a shelf above them.

A stack is push-pull: two fans, an exchanger for two, two fans. Stacks stand in rows, 320 mm and
150 mm apart, so that port ends come near each other; blocks of random size stand in the cells of a
grid above, some of them nearer than the margin. Seeded: the same count gives the same layout.
"""

from __future__ import annotations

import random
from math import ceil, sqrt

from small_rooms import brick, exchanger, fan, fan_layer, free, layout, one, room, row, stack, zone

from catalog.shapes import Plug
from geometry.layout import Held, Layout

SEED = 20260131
ITEMS_OF_A_STACK = 5
SHARE_IN_STACKS = 0.6
SHELF_MM = 250.0
CELL_MM = 90.0


def hall(parts: int) -> Layout:
    """Return a layout of `parts` placed parts, three fifths of them in stacks."""
    rng = random.Random(SEED)
    stacks = int(parts * SHARE_IN_STACKS) // ITEMS_OF_A_STACK
    blocks = parts - stacks * ITEMS_OF_A_STACK
    wide = ceil(sqrt(stacks / 2))
    deep = ceil(stacks / wide)
    size = (320.0 * wide + 60.0, 150.0 * deep + 60.0, 600.0)
    blower, core = fan(25), exchanger(2, 30)
    zones, placed = [], []
    for k in range(stacks):
        x, y = 320.0 * (k % wide) + 40.0, 150.0 * (k // wide) + 40.0
        zones.append(zone(f"z{k}", "floor", (x, y, 0.0), "+x", "+y", row(2, slot_u_mm=10.0)))
        layers = (
            fan_layer(f"s{k}.A", blower, ["c1", "c2"]),
            one(f"s{k}.E", core),
            fan_layer(f"s{k}.B", blower, ["c1", "c2"]),
        )
        placed.append(stack(f"s{k}", f"z{k}", *layers))
    bricks = {n: _brick(n, rng) for n in range(10)}
    frees = []
    columns = int((size[0] - 40.0) // CELL_MM)
    rows = int((size[1] - 40.0) // CELL_MM)
    for k in range(blocks):
        spot, level = k % (columns * rows), k // (columns * rows)
        at = (
            60.0 + CELL_MM * (spot % columns) + rng.uniform(-8.0, 8.0),
            60.0 + CELL_MM * (spot // columns) + rng.uniform(-8.0, 8.0),
            SHELF_MM + level * CELL_MM,
        )
        held = Held(by="clamp", on="roof")
        frees.append(free(f"b{k}", bricks[k % len(bricks)], at, held=held))
    return layout(room(size, zones), [blower, core, *bricks.values()], placed, frees)


def _brick(number: int, rng: random.Random) -> object:
    size = tuple(rng.uniform(50.0, 84.0) for _ in range(3))
    lead = Plug(
        id="lead", name="lead", at_mm=(size[0] / 2, 0.0, size[2] / 2), facing="+x",
        width_mm=10.0, height_mm=10.0, plug_mm=8.0, bend_mm=6.0,
    )  # fmt: skip
    return brick(f"brick-{number}", size, (lead,))  # type: ignore[arg-type]
