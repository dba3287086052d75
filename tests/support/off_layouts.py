"""Layouts of which every dimension is off by some draw: the outside oracle of stack-ups.

Every placed part gets its own copy with its own deviations, and so do fittings and enclosure; a
scene of it has each screwed part somewhere in the play of its screws.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from catalog.enclosure import Enclosure
from catalog.iso2768 import dimension_of, linear_tolerance_mm
from catalog.model import FrozenMap
from catalog.numbers import number_paths, with_number
from catalog.parts import Fan, Gasket, Part, part_ports
from geometry.layout import FreePart, Item, Layout, PortUse
from geometry.measures.pose import Vec
from geometry.measures.prism import shifted
from geometry.part_solids import DEFAULT_FITTING
from geometry.scene import Scene

Draw = Callable[[float, float], float]
"""Draws how far a dimension is off, given how far down and up it may be (mm)."""


def off_part(part: Part, draw: Draw, part_id: str) -> Part:
    for path in number_paths(part):
        known = dimension_of(part, path)
        off = draw(known.minus_mm or 0.0, known.plus_mm or 0.0)
        part = with_number(part, path, known.nominal_mm + off)
    return part.model_copy(update={"id": part_id})


def off_enclosure(enclosure: Enclosure, draw: Draw) -> Enclosure:
    """The points of an outline that share a coordinate are one dimension, as on a drawing.

    Those of its holes too. The widest limits that are stated at any of them hold for all.
    """
    together: dict[tuple[object, ...], list[str]] = {}
    for path in number_paths(enclosure):
        key: tuple[object, ...] = (path,)
        if "outline_mm" in path or "holes_mm" in path:
            shape, _, which = path.replace("holes_mm", "outline_mm").partition(".outline_mm")
            key = (shape, which[-3:], dimension_of(enclosure, path).nominal_mm)
        together.setdefault(key, []).append(path)
    changed = enclosure
    for paths in together.values():
        nominal_mm = dimension_of(enclosure, paths[0]).nominal_mm
        stated = [enclosure.dimensions[path] for path in paths if path in enclosure.dimensions]
        general = linear_tolerance_mm(nominal_mm) or 0.0
        off = draw(
            max([one.minus_mm for one in stated if one.minus_mm is not None] or [general]),
            max([one.plus_mm for one in stated if one.plus_mm is not None] or [general]),
        )
        for path in paths:
            changed = with_number(changed, path, nominal_mm + off)
    return changed


class Maker:
    """Makes a layout with everything off, each part and fitting a piece of its own."""

    def __init__(self, of: Layout, draw: Draw) -> None:
        self.of, self.draw = of, draw
        self.parts: dict[str, Part] = {}

    def own(self, part: Part, part_id: str) -> str:
        self.parts[part_id] = off_part(part, self.draw, part_id)
        return part_id

    def one(self, use: Item | FreePart) -> Item | FreePart:
        part = self.of.part(use.part)
        ports = {}
        for port in part_ports(part):
            now = use.ports.get(port.id) or PortUse(plugged=not port.open)
            if not now.plugged:
                fitting = self.of.parts[now.fitting] if now.fitting else DEFAULT_FITTING
                now = PortUse(fitting=self.own(fitting, f"{use.id}-{port.id}"))
            ports[port.id] = now
        more: dict[str, object] = {}
        if isinstance(use, FreePart):
            more["at_mm"] = tuple(v + self.general(v) for v in use.at_mm)
        else:
            more["head_mm"] = use.head_mm + self.general(use.head_mm)
        return use.but(part=self.own(part, f"of-{use.id}"), ports=FrozenMap(ports), **more)

    def general(self, nominal_mm: float) -> float:
        off = linear_tolerance_mm(nominal_mm) or 0.0
        return self.draw(off, off)

    def layout(self) -> Layout:
        stacks = tuple(
            stack.but(
                **{
                    side: tuple(
                        layer.but(items=tuple(self.one(item) for item in layer.items))
                        for layer in stack.side(side)  # type: ignore[arg-type]
                    )
                    for side in ("inner", "outer")
                }
            )
            for stack in self.of.stacks
        )
        free = tuple(self.one(part) for part in self.of.free)
        return self.of.but(
            enclosure=off_enclosure(self.of.enclosure, self.draw),
            stacks=stacks,
            free=free,
            parts=FrozenMap(self.parts),
        )


def in_their_play(scene: Scene, draw_play: Callable[[], float]) -> Scene:
    """Sit every screwed part off by up to 0.5 mm each way across its screws.

    A layer of a stack hangs on the last one below it that is neither fans nor a gasket, for long
    screws go through those, and else on the zone.
    """
    by: dict[str, Vec] = {}

    def off(axis: int, on: Vec = (0.0, 0.0, 0.0)) -> Vec:
        x, y, z = (mm + (0.0 if k == axis else draw_play()) for k, mm in enumerate(on))
        return x, y, z

    for stack in scene.layout.stacks:
        axis = scene.frames[stack.zone].inward.axis
        for layers in (stack.inner, stack.outer):
            holds: Vec = (0.0, 0.0, 0.0)
            for layer in layers:
                own = off(axis, holds)
                by.update((item.id, own) for item in layer.items)
                parts = [scene.placed[item.id].part for item in layer.items]
                if not all(isinstance(part, Fan | Gasket) for part in parts):
                    holds = own
    for free in scene.layout.free:
        if free.held.by == "holes":
            by[free.id] = off("xyz".index(free.z_to[1]))
    moved = {
        owner: tuple(
            replace(s, prisms=tuple(shifted(p, by[owner]) for p in s.prisms)) for s in solids
        )
        if owner in by
        else solids
        for owner, solids in scene.solids_of.items()
    }
    return replace(scene, solids_of=moved)
