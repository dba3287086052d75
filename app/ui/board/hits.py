"""What is under a place on the board, and what it is called."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import isinf
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF

from app.document.own_texts import texts_with_lengths
from app.drawing.verdict_words import (
    figure_text,
    inch_text,
    leftover_text,
    leftover_word,
    note_text,
    numbered,
)
from app.ui.board.items import BoardItems
from app.ui.panels.part_texts import sized_text
from app.ui.units import Unit, in_unit
from geometry.checks.runner import Checked
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.zone_names import zone_names

if TYPE_CHECKING:
    from geometry.stackup.stack_ups import Figure
    from geometry.zone_profile import ZoneProfile

FEW = 3
"""So many contributors are named in a tip."""

UNIT_NAMES = {Unit.MM: "mm", Unit.INCH: "inches"}

MARK_KEYS = ("label", "hidden", "selected", "ghost", "lit")


def owners_at(items: BoardItems, scene: Scene, place: QPointF) -> list[str]:
    """Return the parts, obstacles and zones under a place, those in front first.

    Bodies lie as they stand before each other. Hidden edges, names and what marks the selection
    are drawn over all of them and tell nothing of that: they count only where no body of their
    owner is.
    """
    bodies: dict[str, None] = {}
    marks: dict[str, None] = {}
    zones: dict[str, None] = {}
    for key in items.keys_at(place):
        kind, _, rest = key.partition(":")
        owner = rest.partition(":")[2]
        if kind == "solid":
            bodies[owner] = None
        elif kind in MARK_KEYS and owner:
            marks[owner] = None
        elif kind == "zone":
            zones[owner] = None
    owners = [*(bodies | marks)]
    parts = [owner for owner in owners if owner in scene.placed]
    return parts + [owner for owner in owners if owner not in scene.placed] + [*zones]


def balloon_at(items: BoardItems, place: QPointF) -> int | None:
    """Return the place in the list of the finding whose balloon is under a place."""
    for key in items.keys_at(place):
        kind, _, number = key.partition(":")
        if kind == "finding":
            return int(number) - 1
    return None


def tip_at(
    items: BoardItems,
    checked: Checked,
    place: QPointF,
    owners: list[str],
    profile: ZoneProfile | None = None,
    unit: Unit = Unit.MM,
) -> str:
    """Return what is said of what is under a place, with what the board may have no room for.

    That is the note of a finding, the leftover depth of a stack, and the least depth of a `profile`
    that is drawn there, each with its worst case and its statistical limits, all in `unit`. Empty
    where there is nothing.
    """
    number = balloon_at(items, place)
    found = dict(numbered(checked.report)).get(number + 1) if number is not None else None
    if found is not None and number is not None:
        told_as = f"{note_text(found)}, in mm"
        if unit is not Unit.MM:
            from app.ui.panels.finding_card import figure_words

            told_as = figure_words(found, unit) or found.verdict.value
        title = in_unit(found.title, unit, texts_with_lengths([checked.scene.layout]))
        return "\n".join((f"{number + 1}: {title}\n{told_as}", *_limits(found.tolerance, unit)))
    told: list[str] = []
    if owners:
        told.append(tip_for(checked.scene, owners[0], unit))
        placed = checked.scene.placed.get(owners[0])
        if placed is not None:
            told += _leftover(checked, placed, unit)
    if profile is not None and any(key.startswith("profile:") for key in items.keys_at(place)):
        told += _least_depth(checked.scene, profile, unit)
    return "\n".join(told)


def _leftover(checked: Checked, placed: Placed, unit: Unit) -> Iterator[str]:
    """Yield what is left over on a part's side of its stack, with its limits."""
    # Loaded when it is asked for, as are the words of limits: a window is painted before.
    from geometry.checks.finding_figures import stack_figure

    margin_mm = checked.scene.layout.settings.margin_mm
    stack = placed.stack.id if placed.stack is not None else None
    for depth in checked.report.depths:
        if (depth.stack, depth.side) == (stack, placed.side) and depth.cells:
            word = leftover_word(depth.least, checked.report, margin_mm)
            told = leftover_text(word, _number(unit))
            what = "leftover depth " if depth.least.sideways_mm is None else ""
            yield f"{what}{told}, in {UNIT_NAMES[unit]}"
            yield from _limits(stack_figure(checked.report, depth), unit)


def _least_depth(scene: Scene, profile: ZoneProfile, unit: Unit) -> Iterator[str]:
    """Yield the least depth of a profile over its zone, with its limits."""
    from geometry.stackup.profile_figures import profile_figures

    least_mm = profile.profile.least_mm
    least = f"least {_number(unit)(least_mm)}, in {UNIT_NAMES[unit]}"
    told = "nothing in its way" if isinf(least_mm) else least
    zone = zone_names(scene.layout.enclosure)[profile.zone.zone.id]
    yield f"depth over {zone}, {profile.side} side: {told}"
    yield from _limits(profile_figures(scene, profile).least, unit)


def _number(unit: Unit) -> Callable[[float], str]:
    return figure_text if unit is Unit.MM else inch_text


def _limits(figure: Figure | None, unit: Unit) -> Iterator[str]:
    """Yield worst case and statistical limits of a figure, and what comes in from beside it."""
    if figure is not None:
        from geometry.stackup.figure_words import beside_words, limits_sentence

        number = _number(unit)
        yield limits_sentence(figure, number, unit.value)
        yield from beside_words(figure, number, unit.value, most=FEW)


def tip_for(scene: Scene, owner: str, unit: Unit = Unit.MM) -> str:
    """Return the name of a part, an obstacle or a zone, with its id and size."""
    placed = scene.placed.get(owner)
    if placed is not None:
        lock = ", locked" if scene.layout.is_locked(placed.id) else ""
        return f"{placed.part.name} ({owner}{lock})\n{sized_text(placed.part, unit)}"
    names = {solid.owner: solid.name for solid in reversed(scene.fixed)}
    called = zone_names(scene.layout.enclosure)
    zones = {zone: f"mount zone {name}" for zone, name in called.items()}
    return {**zones, **names}.get(owner, owner)
