"""What excludes what of two zones by thickness and fans, as a table for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence

from app.cli.figures import table
from geometry.search.exclusion_words import NEVER, percent_figure
from geometry.search.finer_exclusions import Choice, FinerExclusions
from geometry.search.run import Searched

FREELY = "."
RULE = "rule"
LEGEND = {
    NEVER: f"{NEVER}: none of their ways go together",
    "%": "a figure: so many % of their ways do not go together",
    FREELY: f'"{FREELY}": all of their ways do',
    RULE: f"{RULE}: never, as each holds a pump",
}
INDENT = "  "
LEAST_FOR_WORDS = 44
"""So many letters of a line are left for what stands in a row of the table."""

Group = tuple[int, ...]
"""Numbers of choices of a zone that go together alike with all of another."""


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

    A line for each choice of the first zone, a column for each of the second, which is named above
    by a letter. Alike ones share it; those that go together with everything are told below.
    """
    one, other = names
    rows, free_rows = _groups(tuple(row) for row in _cells(finer))
    columns, free_columns = _groups(zip(*_cells(finer), strict=True))
    cells = [[_cell(finer, row[0], column[0]) for column in columns] for row in rows]
    used = {cell if cell in LEGEND else "%" for row in cells for cell in row}
    made = [f"what excludes what of {one} and {other}, by thickness and fans:"]
    made += textwrap.wrap("; ".join(LEGEND[sign] for sign in LEGEND if sign in used), width)
    letters = [_letter(k) for k in range(len(columns))]
    named = ["\n".join(_words(finer.choices[1], column)) for column in columns]
    legend = list(zip(letters, named, strict=True))
    made += table(("", other), legend, right=frozenset(), width=width)
    wide = max(len(cell) for row in cells for cell in row) + 2
    at_once = max(1, (width - LEAST_FOR_WORDS) // wide)
    for start in range(0, len(columns), at_once):
        some = range(start, min(start + at_once, len(columns)))
        every = [
            (*(cells[k][column] for column in some), "\n".join(_words(finer.choices[0], row)))
            for k, row in enumerate(rows)
        ]
        top = (*(letters[column] for column in some), one)
        made += ["", *table(top, every, right=frozenset(range(len(some))), width=width)]
    for group, choices, mine, theirs in (
        (free_rows, finer.choices[0], one, other),
        (free_columns, finer.choices[1], other, one),
    ):
        if group:
            made += ["", f"{mine}, with everything on {theirs}:"]
            for words in _words(choices, group):
                made += textwrap.wrap(
                    words, width, initial_indent=INDENT, subsequent_indent=INDENT + INDENT
                )
    return made


def _cells(finer: FinerExclusions) -> Iterator[list[str]]:
    mine, theirs = (range(len(some)) for some in finer.choices)
    for row in mine:
        yield [_cell(finer, row, column) for column in theirs]


def _cell(finer: FinerExclusions, row: int, column: int) -> str:
    excluded, pairs = int(finer.excluded[row, column]), finer.pairs(row, column)
    if not excluded:
        return FREELY
    if finer.by_rule(row, column):
        return RULE
    return NEVER if excluded == pairs else percent_figure(excluded, pairs)


def _groups(lines: Iterable[tuple[str, ...]]) -> tuple[list[Group], Group]:
    """Return the numbers of lines that are alike, and of those that go with everything."""
    known: dict[tuple[str, ...], list[int]] = {}
    for number, line in enumerate(lines):
        known.setdefault(line, []).append(number)
    free = [line for line in known if {*line} == {FREELY}]
    return (
        [tuple(numbers) for line, numbers in known.items() if line not in free],
        tuple(number for line in free for number in known[line]),
    )


def _words(choices: Sequence[Choice], group: Group) -> list[str]:
    """Name choices, what they share once: "exchanger 1 fan long, 45 mm, push / pull"."""
    alike: dict[str, list[str]] = {}
    for number in group:
        shared, _, last = choices[number].words.rpartition(", ")
        alike.setdefault(shared, []).append(last)
    return [
        f"{shared}, {' / '.join(last)}" if shared else "; ".join(last)
        for shared, last in alike.items()
    ]


def _letter(number: int) -> str:
    """Name a column, as A to Z, then AA, AB and so on.

    >>> _letter(0), _letter(25), _letter(26)
    ('A', 'Z', 'AA')
    """
    before, last = divmod(number, 26)
    return (_letter(before - 1) if before else "") + chr(ord("A") + last)
