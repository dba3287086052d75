"""What excludes what of two zones by thickness and fans, as lines for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from geometry.search.finer_exclusions import FinerExclusions
from geometry.search.run import Searched

INDENT = "    "


def finer_lines(found: Searched, zones: tuple[str, str], width: int) -> list[str]:
    """Return for each choice of the first zone which of the second it keeps out, and how often."""
    names = found.problem.names
    one, other = (names.get(zone, zone) for zone in zones)
    head = f"what excludes what of {one} and {other}, by thickness and fans:"
    finer = next((f.of(zones) for f in found.finer if {*f.zones} == {*zones}), None)
    if finer is not None:
        return ["", head, *(line for told in _told(finer) for line in _wrapped(told, width))]
    nothing = "was not counted" if not found.done or _clash(found, zones) else "nothing"
    return ["", head, f"  {nothing}"]


def _clash(found: Searched, zones: tuple[str, str]) -> bool:
    """Whether some options of two zones exclude each other."""
    of = found.problem.zones
    return any({of[i].zone, of[j].zone} == {*zones} for i, j in found.problem.tables.clash)


def _told(finer: FinerExclusions) -> Iterator[str]:
    free, pumps = [], False
    for row, mine in enumerate(finer.choices[0]):
        never, partly = [], []
        for column, theirs in enumerate(finer.choices[1]):
            share = finer.share(row, column)
            if finer.by_rule(row, column):
                pumps = True
            elif share == 1.0:
                never.append(theirs.words)
            elif share:
                partly.append(f"{theirs.words} ({max(100 * share, 0.1):.1f} % not)")
        if not never and not partly:
            free.append(mine.words)
            continue
        yield f"{mine.words}:"
        if never:
            yield f"{INDENT}never with {'; '.join(never)}"
        if partly:
            yield f"{INDENT}not in all ways with {'; '.join(partly)}"
    if pumps:
        yield "what has a pump never with what has a second one: by rule"
    if free:
        yield f"with everything there: {'; '.join(free)}"


def _wrapped(text: str, width: int) -> list[str]:
    own = text[: len(text) - len(text.lstrip())]
    return textwrap.wrap(
        text.lstrip(), width, initial_indent=f"  {own}", subsequent_indent=f"  {own}{INDENT}"
    )
