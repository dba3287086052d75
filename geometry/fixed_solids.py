"""The solids of an enclosure: obstacles and plugs as their states have them, feet, walls."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from catalog.enclosure import Enclosure
from geometry.layout import Layout
from geometry.measures.prism import shifted
from geometry.measures.solid import Role, Solid
from geometry.part_solids import plug_room, shape_prism
from geometry.placement import owner_state
from geometry.walls import enclosure_walls


def fixed_solids(layout: Layout) -> tuple[Solid, ...]:
    """Return the solids of the enclosure as its obstacles' states have them, walls last."""
    walls = enclosure_walls(layout.enclosure).solids
    return (*_obstacle_solids(layout.enclosure, layout.states), *walls)


def _obstacle_solids(enclosure: Enclosure, states: Mapping[str, str]) -> Iterator[Solid]:
    for obstacle in enclosure.obstacles:
        present, shift = owner_state(enclosure, obstacle.id, states)
        if not present:
            continue
        prisms = tuple(shifted(shape_prism(shape), shift) for shape in obstacle.shapes)
        role = Role.CABLE if obstacle.kind == "cable" else Role.BODY
        yield Solid(obstacle.id, obstacle.id, obstacle.name, role, prisms, fixed=True)
        for plug in obstacle.plugs:
            room = plug_room(plug)
            if room is not None:
                yield Solid(
                    f"{obstacle.id}/plug:{plug.id}",
                    obstacle.id,
                    f"{plug.name} of {obstacle.name}",
                    Role.KEEP_OUT,
                    (shifted(room, shift),),
                    fixed=True,
                )
    for outside in enclosure.outside:
        prisms = tuple(shape_prism(shape) for shape in outside.shapes)
        yield Solid(outside.id, outside.id, outside.name, Role.BODY, prisms, fixed=True)
