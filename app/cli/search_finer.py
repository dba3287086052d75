"""What excludes what of two zones by thickness and fans, as a table for a terminal.

What a rule alone excludes is told first, and what goes with everything last: the table has what
differs. Its columns are named by letters; alike choices share a line or a letter.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from geometry.search.exclusion_words import NEVER, percent_figure
from geometry.search.finer_exclusions import Choice, FinerExclusions
from geometry.search.run import Searched

FREELY = "."
RULE = "rule"
LEGEND = {
    RULE: f"{RULE}: never, as each holds a pump",
    NEVER: f"{NEVER}: none of their ways go together",
    "%": "a figure: so many % of their ways do not go together",
    FREELY: f'"{FREELY}": all of their ways do',
}
INDENT = "  "
MOST_LABEL = 36
"""So many letters of a line what stands in a row of the table takes at most."""
NO_BREAK = "\N{NO-BREAK SPACE}"

Cells = list[list[str]]


@dataclass(frozen=True)
class _Line:
    """A row or a column of the table: choices that go together alike with all of the other zone.

    `pattern` is theirs where they are told apart by thickness or fans, otherwise empty.
    """

    pattern: str
    numbers: tuple[int, ...]
    words: str


def finer_lines(found: Searched, zones: tuple[str, str], width: int) -> list[str]:
    """Return for each choice of the first zone which of the second it keeps out, and how often."""
    names = found.problem.names
    one, other = (names[zone] for zone in zones)
    finer = next((f.of(zones) for f in found.finer if {*f.zones} == {*zones}), None)
    if finer is not None and finer.excluded.any():
        return ["", *finer_table(finer, (one, other), width)]
    counted = finer is not None or (found.done and not _clash(found, zones))
    head = f"what excludes what of {one} and {other}, by thickness and fans:"
    return ["", head, f"{INDENT}{'nothing' if counted else 'was not counted'}"]


def _clash(found: Searched, zones: tuple[str, str]) -> bool:
    """Whether some options of two zones exclude each other."""
    of = found.problem.zones
    return any({of[i].zone, of[j].zone} == {*zones} for i, j in found.problem.tables.clash)


def finer_table(finer: FinerExclusions, names: tuple[str, str], width: int) -> list[str]:
    """Return how often choices of a zone do not go together with those of another.

    A line for each choice of the first zone, a column for each of the second.
    """
    mine, theirs = finer.choices
    cells = [[_cell(finer, row, k) for k in range(len(theirs))] for row in range(len(mine))]
    across = [list(column) for column in zip(*cells, strict=True)]
    made = [f"what excludes what of {names[0]} and {names[1]}, by thickness and fans:"]
    free: dict[bool, list[str]] = {True: [], False: []}
    for by_rule in free:
        for choices, lines, (one, other) in ((mine, cells, names), (theirs, across, names[::-1])):
            alike = [
                choice
                for choice, line in zip(choices, lines, strict=True)
                if {*line} <= {RULE, FREELY} and (RULE in line) == by_rule
            ]
            head = f"{one}, with everything on {other}{' but a pump' if by_rule else ''}: "
            free[by_rule] += _wrapped(head, _told(alike), width) if alike else []
    made += [*free[True], *_differing(finer, cells, names, width)]
    return [*made, "", *free[False]] if free[False] else made


def _differing(
    finer: FinerExclusions, cells: Cells, names: tuple[str, str], width: int
) -> list[str]:
    """Return the table of what neither goes with everything nor is kept out by a rule alone."""
    rows = _lines(finer.choices[0], cells)
    columns = _lines(finer.choices[1], [list(column) for column in zip(*cells, strict=True)])
    if not rows:
        return []
    used = [[cells[row.numbers[0]][column.numbers[0]] for column in columns] for row in rows]
    signs = {cell if cell in LEGEND else "%" for row in used for cell in row}
    made = textwrap.wrap("; ".join(LEGEND[sign] for sign in LEGEND if sign in signs), width)
    made += [f"{names[1]}:", *_letters_told(columns, width)]
    labels = [[names[0]], *_labels(rows)]
    wide = min(max(len(line) for label in labels for line in label), MOST_LABEL)
    letters = [_letter(k) for k in range(len(columns))]
    sizes = [max(map(len, column)) for column in zip(letters, *used, strict=True)]
    gap = 2 if wide + sum(sizes) + 2 * len(sizes) <= width else 1
    for some in _blocks(sizes, width - wide, gap):
        made.append("")
        for label, row in zip(labels, [letters, *used], strict=True):
            shown = "".join(" " * gap + row[k].rjust(sizes[k]) for k in some)
            *above, last = [line for part in label for line in _short(part, wide)]
            made += [*above, last.ljust(wide) + shown]
    return made


def _blocks(sizes: Sequence[int], width: int, gap: int) -> list[list[int]]:
    """Return the numbers of columns that stand beside each other, as many as there is room for."""
    blocks: list[list[int]] = []
    taken = width
    for k, size in enumerate(sizes):
        if not blocks or taken + gap + size > width:
            blocks.append([])
            taken = 0
        blocks[-1].append(k)
        taken += gap + size
    return blocks


def _labels(rows: Sequence[_Line]) -> list[list[str]]:
    """Return what stands before each row: a pattern over the first of its own."""
    labels = []
    for pattern, of_pattern in groupby(rows, key=lambda row: row.pattern):
        these = list(of_pattern)
        alone = f"{pattern}, {these[0].words}"
        if pattern and len(these) == 1 and len(alone) <= MOST_LABEL:
            labels.append([alone])
            continue
        for k, row in enumerate(these):
            words = f"{INDENT}{row.words}" if pattern else row.words
            labels.append([pattern, words] if pattern and k == 0 else [words])
    return labels


def _short(text: str, width: int) -> list[str]:
    indent = text[: len(text) - len(text.lstrip())]
    return textwrap.wrap(text, width, subsequent_indent=indent + INDENT)


def _letters_told(columns: Sequence[_Line], width: int) -> list[str]:
    """Return what the letters of columns stand for, pattern by pattern."""
    lettered = [(column, _letter(k)) for k, column in enumerate(columns)]
    made = []
    for pattern, of_pattern in groupby(lettered, key=lambda pair: pair[0].pattern):
        told = [f"{letter} {column.words}" for column, letter in of_pattern]
        made += _wrapped(f"{INDENT}{pattern}: " if pattern else INDENT, told, width)
    return made


def _wrapped(head: str, items: Iterable[str], width: int) -> list[str]:
    """Return things after a head, in lines that break between them where they are short enough."""
    hang = head[: len(head) - len(head.lstrip())] + INDENT
    room = width - len(hang) - 1
    kept = [item.replace(" ", NO_BREAK) if len(item) <= room else item for item in items]
    text = head.lstrip() + "; ".join(kept)
    first = head[: len(head) - len(head.lstrip())]
    lines = textwrap.wrap(
        text, width, initial_indent=first, subsequent_indent=hang, break_on_hyphens=False
    )
    return [line.replace(NO_BREAK, " ") for line in lines]


def _cell(finer: FinerExclusions, row: int, column: int) -> str:
    excluded, pairs = int(finer.excluded[row, column]), finer.pairs(row, column)
    if not excluded:
        return FREELY
    if finer.by_rule(row, column):
        return RULE
    return NEVER if excluded == pairs else percent_figure(excluded, pairs)


def _lines(choices: Sequence[Choice], cells: Cells) -> list[_Line]:
    """Return what differs, alike choices together and those of a pattern one after the other."""
    known: dict[tuple[str, tuple[str, ...]], list[int]] = {}
    order: dict[str, None] = {"": None}
    for number, (choice, line) in enumerate(zip(choices, cells, strict=True)):
        if {*line} <= {RULE, FREELY}:
            continue
        pattern = choice.pattern if choice.thickness_mm else ""
        order.setdefault(pattern)
        known.setdefault((pattern, tuple(line)), []).append(number)
    return [
        _Line(pattern, tuple(numbers), _words([choices[k] for k in numbers], bool(pattern)))
        for pattern in order
        for (of, _), numbers in known.items()
        if of == pattern
    ]


def _told(choices: Sequence[Choice]) -> list[str]:
    """Name choices, those of a pattern together: "exchanger 1 fan long, 20 / 30 mm, pull"."""
    patterns: dict[str, list[Choice]] = {}
    for choice in choices:
        patterns.setdefault(choice.pattern, []).append(choice)
    return [
        f"{pattern}, {_words(some, True)}" if some[0].thickness_mm else pattern
        for pattern, some in patterns.items()
    ]


def _words(choices: Sequence[Choice], apart: bool) -> str:
    """Say thickness and fans of choices of one pattern, or where not `apart` their patterns.

    What several share is told once: "20 / 30 mm, no fans / pull or 45 mm, push".
    """
    if not apart:
        return " or ".join(choice.pattern for choice in choices)
    fans: dict[tuple[float, ...], list[tuple[str, ...]]] = {}
    for choice in choices:
        fans.setdefault(choice.thickness_mm, []).append(choice.fans)
    alike: dict[tuple[tuple[str, ...], ...], list[tuple[float, ...]]] = {}
    for thickness_mm, some in fans.items():
        alike.setdefault(tuple(some), []).append(thickness_mm)
    told = []
    for ways, every_mm in alike.items():
        if all(len(these) == 1 for these in every_mm):
            mm = " / ".join(f"{one:g}" for (one,) in every_mm)
            told.append(f"{mm} mm, {' / '.join(one for (one,) in ways)}")
            continue
        told += [
            " and ".join(f"{mm:g} mm, {fan}" for mm, fan in zip(these, way, strict=True))
            for these in every_mm
            for way in ways
        ]
    return " or ".join(told)


def _letter(number: int) -> str:
    """Name a column, as A to Z, then AA, AB and so on.

    >>> _letter(0), _letter(25), _letter(26)
    ('A', 'Z', 'AA')
    """
    before, last = divmod(number, 26)
    return (_letter(before - 1) if before else "") + chr(ord("A") + last)
