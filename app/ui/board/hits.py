"""What is under a place on the board, and what it is called."""

from __future__ import annotations

from PySide6.QtCore import QPointF

from app.drawing.words import leftover_text, leftover_word, note_text, numbered
from app.ui.board.items import BoardItems
from app.ui.panels.part_texts import size_text
from geometry.checks.runner import Checked
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


def tip_at(items: BoardItems, checked: Checked, place: QPointF, owners: list[str]) -> str:
    """Return what is said of what is under a place, with what the board may have no room for.

    That is the note of a finding, and the leftover depth of a stack. Empty where there is nothing.
    """
    number = balloon_at(items, place)
    found = dict(numbered(checked.report)).get(number + 1) if number is not None else None
    if found is not None and number is not None:
        return f"{number + 1}: {found.title}\n{note_text(found)}, in mm"
    if not owners:
        return ""
    scene, told = checked.scene, [tip_for(checked.scene, owners[0])]
    placed = scene.placed.get(owners[0])
    if placed is not None and placed.stack is not None:
        margin_mm = scene.layout.settings.margin_mm
        for depth in checked.report.depths:
            if depth.stack == placed.stack.id and depth.side == placed.side and depth.cells:
                word = leftover_word(depth.least, checked.report, margin_mm)
                told.append(f"leftover depth {leftover_text(depth.least.mm, word.word)}, in mm")
    return "\n".join(told)


def tip_for(scene: Scene, owner: str) -> str:
    """Return the name of a part, an obstacle or a zone, with its id and size."""
    placed = scene.placed.get(owner)
    if placed is not None:
        lock = ", locked" if placed.use.locked else ""
        return f"{placed.part.name} ({owner}{lock})\n{size_text(placed.part)} mm"
    names = {solid.owner: solid.name for solid in reversed(scene.fixed)}
    zones = {zone.id: f"mount zone {zone.name}" for zone in scene.layout.enclosure.zones}
    return {**zones, **names}.get(owner, owner)
