"""Leftover depths on the board: what each stack leaves over, its figure off all other annotation.

While a part is dragged few stacks leave over something else, and few figures have something else
near them: those alone are looked at anew, the rest stay as they were in the drawing before.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from app.drawing.board_making import LEVEL_DEPTH, Making, Noted
from app.drawing.depth_marks import leftover_line
from app.drawing.dimensions import Room, Spot
from app.drawing.primitives import Bounds, Group, Primitive
from app.drawing.silhouettes import meets_any
from app.drawing.verdict_words import leftover_word_by

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from app.drawing.dimensions import DimensionLine
    from geometry.finding import Finding, Leftover, Report


class _Line(NamedTuple):
    """A leftover depth in one view, beside the `others`."""

    line: DimensionLine
    others: tuple[Bounds, ...]


class _Depth(NamedTuple):
    """What a stack leaves over: what is told of it, and where its figures stand.

    Without a spot for any of them there is no group.
    """

    least: Leftover
    findings: tuple[Finding, ...]
    lines: tuple[_Line, ...]
    spots: tuple[Spot, ...]
    group: Group | None
    boxes: tuple[Bounds, ...]


@dataclass(frozen=True, eq=False)
class _Known:
    """All leftover depths of a drawing, in their order, and the room that they had."""

    made_from: tuple[object, ...]
    room: Room
    depths: Mapping[str, _Depth]


def depth_groups(making: Making, room: Room) -> Iterator[Noted]:
    """Yield what each stack leaves over, in every view that shows it in true length.

    One whose figure has no place in the `room` is left out.
    """
    memory = making.memory
    told = tuple(_told(making.checked.report))
    known: _Known | None = memory.last("depths")
    margin_mm = making.checked.scene.layout.settings.margin_mm
    made_from = (making.frame, making.drafting, margin_mm, room.sheet)
    if (
        known is None
        or known.made_from != made_from
        or tuple(known.depths) != tuple(key for key, _, _ in told)
    ):
        known = _Known(made_from, room, {})
    changed = [
        *set(room.taken).symmetric_difference(known.room.taken),
        *set(room.spare).symmetric_difference(known.room.spare),
    ]
    depths: dict[str, _Depth] = {}
    placed: list[Bounds] = []
    for key, least, findings in told:
        old = known.depths.get(key)
        if old is None or (old.least, old.findings) != (least, findings):
            lines = _lines(making, least, findings)
        else:
            lines = old.lines
        if (
            old is None
            or lines is not old.lines
            or any(meets_any(spot.heeded, changed) for spot in old.spots)
        ):
            spots = _spots(lines, room.without(*placed))
            new = _depth(key, least, findings, lines, spots, old)
            if old is None or new.boxes != old.boxes:
                changed += (*new.boxes, *(old.boxes if old is not None else ()))
            memory.remade += old is None or new.group is not old.group
            old = new
        depths[key] = old
        placed += old.boxes
        if old.group is not None:
            yield old.group, old.boxes
    memory.keep("depths", _Known(made_from, room, depths))


def _told(report: Report) -> Iterator[tuple[str, Leftover, tuple[Finding, ...]]]:
    """Yield the key of what each stack leaves over, its least depth, and what is found on it."""
    found: dict[str, list[Finding]] = {}
    for finding in report.findings:
        for item in finding.ids:
            found.setdefault(item, []).append(finding)
    for depth in report.depths:
        if depth.cells:
            least = depth.least
            yield f"depth:{depth.stack}:{depth.side}", least, tuple(found.get(least.item, ()))


def _lines(making: Making, least: Leftover, findings: tuple[Finding, ...]) -> tuple[_Line, ...]:
    """Return a leftover depth as dimension lines whose figures have no place yet."""
    views, drafting = making.frame.views, making.drafting
    word = leftover_word_by(least, findings, making.checked.scene.layout.settings.margin_mm)
    found: list[_Line] = []
    for view in views:
        line = leftover_line(least, word, view, drafting)
        if line is not None:
            others = tuple([other.rect for other in views if other is not view])
            found.append(_Line(line, others))
    return tuple(found)


def _spots(lines: tuple[_Line, ...], room: Room) -> tuple[Spot, ...]:
    """Return where the figures of a leftover depth stand in the `room`, off each other."""
    spots: list[Spot] = []
    for one in lines:
        near = room.near(one.line.reach)
        spot = one.line.spot(Room(near.taken, (*near.spare, *one.others), near.sheet))
        spots.append(spot)
        if spot.at is not None:
            room = room.without(one.line.box_at(spot.at))
    return tuple(spots)


def _depth(
    key: str,
    least: Leftover,
    findings: tuple[Finding, ...],
    lines: tuple[_Line, ...],
    spots: tuple[Spot, ...],
    old: _Depth | None,
) -> _Depth:
    """Return a leftover depth in those views in which its figure has a spot.

    Where it stands as it did, the group is the same as before.
    """
    if (
        old is not None
        and lines is old.lines
        and [s.at for s in spots] == [s.at for s in old.spots]
    ):
        return old._replace(spots=spots)
    primitives: list[Primitive] = []
    boxes: list[Bounds] = []
    for one, spot in zip(lines, spots, strict=True):
        if spot.at is not None:
            primitives.extend(one.line.figured(spot.at).primitives)
            boxes.append(one.line.box_at(spot.at))
    group = Group(key, tuple(primitives), LEVEL_DEPTH) if primitives else None
    return _Depth(least, findings, lines, spots, group, tuple(boxes))
