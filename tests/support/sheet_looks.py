"""Looks at finished sheets: their texts, whether these meet, and what leaves the frame."""

from __future__ import annotations

from collections.abc import Sequence

from app.drawing.primitives import Bounds, Drawing, Primitive, Text
from app.sheet.paper import PAPERS
from app.sheet.scaled import extent, text_box

SLACK_MM = 1e-6


def texts_of(sheet: Drawing) -> list[Text]:
    """Return all texts of a sheet."""
    return [one for group in sheet.groups for one in group.primitives if isinstance(one, Text)]


def words_of(sheets: Sequence[Drawing]) -> str:
    """Return all texts of some sheets, a line each."""
    return "\n".join(text.text for sheet in sheets for text in texts_of(sheet))


def meet(a: Bounds, b: Bounds) -> bool:
    """Whether two boxes share more than a hair."""
    return (
        a[0] < b[2] - SLACK_MM
        and b[0] < a[2] - SLACK_MM
        and a[1] < b[3] - SLACK_MM
        and b[1] < a[3] - SLACK_MM
    )


def within(box: Bounds, room: Bounds) -> bool:
    """Whether a box lies in another one, but for a hair."""
    return (
        box[0] >= room[0] - SLACK_MM
        and box[1] >= room[1] - SLACK_MM
        and box[2] <= room[2] + SLACK_MM
        and box[3] <= room[3] + SLACK_MM
    )


def overlapping_texts(sheet: Drawing) -> list[tuple[str, str]]:
    """Return the texts of a sheet whose boxes meet, by pairs."""
    boxes = sorted((text_box(text), text.text) for text in texts_of(sheet))
    found = []
    for k, (a, first) in enumerate(boxes):
        for b, second in boxes[k + 1 :]:
            if b[0] >= a[2]:
                break
            if meet(a, b):
                found.append((first, second))
    return found


def outside_frame(sheet: Drawing, paper: str) -> list[tuple[str, Primitive]]:
    """Return what lies outside the frame of a sheet, but for grid and frame themselves."""
    frame = PAPERS[paper].frame
    return [
        (group.key, one)
        for group in sheet.groups
        if group.key not in ("sheet:grid", "sheet:frame")
        for one in group.primitives
        if not within(extent(one), frame)
    ]
