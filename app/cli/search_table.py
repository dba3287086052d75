"""The answer of a search as lines for a terminal."""

from __future__ import annotations

from app.cli.figures import table
from app.cli.search_run import Searched


def search_lines(found: Searched) -> list[str]:
    """Return what was found, as lines."""
    problem = found.problem
    layout = problem.base.scene.layout
    judged = "clear or tight" if problem.wishes.tight_allowed else "clear"
    lines = [f"{layout.enclosure.name}: what fits ({judged})", ""]
    names = {zone.id: zone.name for zone in layout.enclosure.zones}
    rows = [
        (names[zone.zone], f"{zone.listed:,}", f"{len(zone.options):,}") for zone in problem.zones
    ]
    lines += table(("zone", "listed", "fit alone"), rows, right=frozenset((1, 2)), width=100)
    lines += ["", count_text(found)]
    return lines


def count_text(found: Searched) -> str:
    """Say how many combinations fit, and how sure that is."""
    raw = found.problem.tables.combinations
    count = found.count
    if count.done:
        return f"{count.found:,} of {raw:,} combinations fit (exact)"
    return (
        f"between {count.found:,} and {count.at_most:,} of {raw:,} combinations fit "
        "(the count was cut short)"
    )
