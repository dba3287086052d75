"""What is under a place on the board, and what it is called."""

from __future__ import annotations

from PySide6.QtCore import QPointF

from app.ui.board.items import BoardItems
from app.ui.panels.part_texts import size_text
from geometry.scene import Scene

OWNER_KEYS = ("solid", "label", "hidden", "selected", "ghost", "lit")


def owners_at(items: BoardItems, scene: Scene, place: QPointF) -> list[str]:
    """Return the parts, obstacles and zones under a place, those in front first."""
    owners: list[str] = []
    zones: list[str] = []
    for key in items.keys_at(place):
        kind, _, rest = key.partition(":")
        owner = rest.partition(":")[2]
        if kind in OWNER_KEYS and owner and owner not in owners:
            owners.append(owner)
        elif kind == "zone" and owner not in zones:
            zones.append(owner)
    parts = [owner for owner in owners if owner in scene.placed]
    return parts + [owner for owner in owners if owner not in scene.placed] + zones


def balloon_at(items: BoardItems, place: QPointF) -> int | None:
    """Return the place in the list of the finding whose balloon is under a place."""
    for key in items.keys_at(place):
        kind, _, number = key.partition(":")
        if kind == "finding":
            return int(number) - 1
    return None


def tip_for(scene: Scene, owner: str) -> str:
    """Return the name of a part, an obstacle or a zone, with its id and size."""
    placed = scene.placed.get(owner)
    if placed is not None:
        lock = ", locked" if placed.use.locked else ""
        return f"{placed.part.name} ({owner}{lock})\n{size_text(placed.part)} mm"
    names = {solid.owner: solid.name for solid in reversed(scene.fixed)}
    zones = {zone.id: f"mount zone {zone.name}" for zone in scene.layout.enclosure.zones}
    return {**zones, **names}.get(owner, owner)
