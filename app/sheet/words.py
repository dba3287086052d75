"""Figures and field paths as they are read on a sheet."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from geometry.measures.pose import AXES, Vec
from geometry.measures.tolerance import LENGTH_EPS_MM

NO_FIGURE = "\N{EN DASH}"
MINUS = "\N{MINUS SIGN}"


def figure_mm(value_mm: float | None, against_mm: float = 0.0) -> str:
    """Return a length with one decimal, or as many as tell it from the length it falls short of.

    They tell it from nought too: what only touches is another thing.

    >>> figure_mm(12.0), figure_mm(-0.04), figure_mm(1.98, 2.0), figure_mm(math.inf)
    ('12.0', '−0.04', '1.98', 'no limit')
    >>> figure_mm(0.04, 2.0), figure_mm(0.0, 2.0), figure_mm(1e-9, 2.0)
    ('0.04', '0.0', '0.0')
    """
    if value_mm is None:
        return NO_FIGURE
    if math.isinf(value_mm):
        return "no limit"
    if abs(value_mm) <= LENGTH_EPS_MM:
        value_mm = 0.0
    others = {0.0, against_mm} - {value_mm}
    text = ""
    for decimals in (1, 2, 3):
        text = f"{value_mm:.{decimals}f}"
        if float(text) not in others:
            break
    if float(text) == 0.0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def plain_mm(value_mm: float) -> str:
    """Return a length as ISO 129-1 writes it: no unit, no decimals that say nothing.

    >>> plain_mm(430.0), plain_mm(43.65)
    ('430', '43.65')
    """
    text = f"{value_mm:.2f}".rstrip("0").rstrip(".")
    return text.replace("-", MINUS) if text != "-0" else "0"


def counted(count: int, thing: str) -> str:
    """Return a count with its noun.

    >>> counted(1, "part"), counted(2, "part")
    ('1 part', '2 parts')
    """
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def place_text(place: Vec) -> str:
    """Return a place in the enclosure, one coordinate a line."""
    return "\n".join(f"{axis} {figure_mm(value)}" for axis, value in zip(AXES, place, strict=True))


def field_words(path: str) -> tuple[str, str]:
    """Return a field path in words: what it belongs to, and the dimension.

    >>> field_words("port_tank.length_mm"), field_words("ports[0].at_mm[2]")
    (('port tank', 'length'), ('port 1', 'at z'))
    >>> field_words("core_length_mm")
    ('', 'core length')
    """
    *owners, last = path.split(".")
    owner = " ".join(_words(one) for one in owners)
    return owner, _words(last, coordinate=True)


def _words(step: str, *, coordinate: bool = False) -> str:
    name, _, index = step.partition("[")
    words = re.sub(r"_mm$", "", name).replace("_", " ")
    if not index:
        return words
    number = int(index.rstrip("]"))
    singular = re.sub(r"ies$", "y", words) if words.endswith("ies") else words.removesuffix("s")
    if coordinate and number < len(AXES) and name in ("at_mm", "origin_mm", "size_mm", "shift_mm"):
        return f"{words} {AXES[number]}"
    return f"{singular} {number + 1}"


def grouped_fields(paths: Iterable[str]) -> str:
    """Return field paths as one readable list, grouped by what they belong to.

    >>> grouped_fields(["core_length_mm", "port_tank.length_mm", "port_tank.width_mm"])
    'core length; port tank: length, width'
    """
    groups: dict[str, list[str]] = {}
    for path in paths:
        owner, word = field_words(path)
        groups.setdefault(owner, []).append(word)
    return "; ".join(
        f"{owner}: {', '.join(words)}" if owner else ", ".join(words)
        for owner, words in groups.items()
    )
