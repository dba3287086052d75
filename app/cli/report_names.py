"""What a finding's ids are called, in words that a person looks for on the drawing."""

from __future__ import annotations

from geometry.scene import Scene
from geometry.zone_names import zone_names


def owner_names(scene: Scene) -> dict[str, str]:
    """Return names by id for placed parts, obstacles, what stands outside, zones and stacks."""
    enclosure = scene.layout.enclosure
    names = {obstacle.id: obstacle.name for obstacle in enclosure.obstacles}
    names.update((outside.id, outside.name) for outside in enclosure.outside)
    zones = zone_names(enclosure)
    names.update(zones)
    names.update((stack.id, zones.get(stack.zone, stack.zone)) for stack in scene.layout.stacks)
    names.update((one.id, one.part.name) for one in scene.placed.values())
    return names
