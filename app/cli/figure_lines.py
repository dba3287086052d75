"""A figure with its tolerance as lines of text for a terminal."""

from __future__ import annotations

from app.cli.figures import mm_text
from geometry.stackup.figure_words import (
    beside_words,
    limits_sentence,
    share_words,
    taken_from_words,
)
from geometry.stackup.stack_ups import Figure, StackUp

FEW = 3
"""So many contributors are named under a figure unless all are asked for."""

BY_SHARE = "By share"


def figure_lines(figure: Figure, contributors: bool) -> list[str]:
    """Return worst case, statistical limits and contributors of a figure."""
    most = None if contributors else FEW
    lines = [limits_sentence(figure, mm_text, "mm")]
    head = f"{BY_SHARE}{taken_from_words(figure, mm_text, 'mm')}"
    lines += _share_lines(head, share_words(figure, most), figure.worst, contributors)
    if figure.beside is not None:
        told, *named = beside_words(figure, mm_text, "mm", most)
        head = f"{told[0].upper()}{told[1:]}, by share"
        lines += _share_lines(head, named, figure.beside, contributors)
    return lines


def _share_lines(head: str, named: list[str], of: StackUp, each_its_line: bool) -> list[str]:
    if not named:
        return []
    if each_its_line:
        return [*([] if head == BY_SHARE else [f"{head}:"]), *(f"  {one}" for one in named)]
    more = len(of.contributors) - len(named)
    rest = f"; and {more} more" if more > 0 else ""
    return [f"{head}: {'; '.join(named)}{rest}."]
