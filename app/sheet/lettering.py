"""Text that keeps to its room: wrapped, stepped down or cut by measured width (mm)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from app.drawing.fontmetrics import fitted, text_width_mm

HEIGHTS_MM = (1.8, 2.5, 3.5, 5.0, 7.0)
"""Lettering heights of ISO 3098, those used on a sheet."""

_TIE = "\N{NO-BREAK SPACE}"
_TIED = re.compile(r"(?<=\d) (?=mm\b|%|cm³|±|x \d)|(?<=\d x) (?=\d)|(?<=±) (?=\d)")
"""Spaces between a figure and its unit or tolerance, and within one size ("2 x 120")."""


def wrapped(text: str, room_mm: float, height_mm: float, *, bold: bool = False) -> tuple[str, ...]:
    """Return `text` in lines no wider than `room_mm`; a longer word is broken where it must be.

    A figure stays with its unit where there is room for both.
    """
    lines: list[str] = []
    for paragraph in text.splitlines() or [""]:
        line = ""
        for word in _words(paragraph, room_mm, height_mm, bold=bold):
            longer = f"{line} {word}" if line else word
            if text_width_mm(longer, height_mm, bold=bold) <= room_mm:
                line = longer
                continue
            if line:
                lines.append(line)
            *broken, line = _broken(word, room_mm, height_mm, bold=bold)
            lines.extend(broken)
        lines.append(line)
    return tuple(lines)


def _words(text: str, room_mm: float, height_mm: float, *, bold: bool) -> Iterator[str]:
    """Yield what is not to be broken between two lines, as far as it fits into one."""
    for word in _TIED.sub(_TIE, text).split(" "):
        tied = word.replace(_TIE, " ")
        if text_width_mm(tied, height_mm, bold=bold) <= room_mm:
            yield from [tied] if tied else ()
        else:
            yield from tied.split()


def _broken(word: str, room_mm: float, height_mm: float, *, bold: bool) -> list[str]:
    """Break a word into pieces that fit; each piece has at least one character."""
    pieces = [""]
    for character in word:
        longer = pieces[-1] + character
        if pieces[-1] and text_width_mm(longer, height_mm, bold=bold) > room_mm:
            pieces.append(character)
        else:
            pieces[-1] = longer
    return pieces


def stepped(
    text: str, room_mm: float, height_mm: float, *, bold: bool = False
) -> tuple[str, float]:
    """Return `text` and the greatest height of ISO 3098 up to `height_mm` at which it fits.

    Where not even the least height does, the text is cut with an ellipsis.
    """
    for height in reversed([h for h in HEIGHTS_MM if h <= height_mm]):
        if text_width_mm(text, height, bold=bold) <= room_mm:
            return text, height
    return fitted(text, HEIGHTS_MM[0], room_mm, bold=bold), HEIGHTS_MM[0]
