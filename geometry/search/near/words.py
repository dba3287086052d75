"""Near misses and relaxations in words."""

from __future__ import annotations

from geometry.checks.rules.worst_case import KIND as WORST_CASE
from geometry.finding import Finding
from geometry.search.near.misses import NearMiss, NearMisses
from geometry.search.near.tries import LEAST_GAIN
from geometry.search.row_limits import taking

FAULTS_TOLD = 3

NO_CHANGE = "No single change that was tried makes it fit"

ROWS_CUT_SHORT = "the rows were cut short by time: with more of them other near misses are found"

GAIN_WORDS = {"area": "cm2 face area", "volume": "cm3 core volume", "fans": "fans"}


def gain_text(miss: NearMiss) -> str:
    """Say how much more of what a near miss has than every row: "+156 cm2 face area"."""
    return ", ".join(
        f"+{gain:.0f} {GAIN_WORDS[key]}".removesuffix("s" if round(gain) == 1 else "")
        for key, gain in miss.gains.items()
        if gain > LEAST_GAIN
    )


def short_text(short_mm: float, at_worst: bool, told: str) -> str:
    """Say what is missing, `told` being the length, and whether that is so at worst only."""
    if short_mm <= 0:
        return "at worst"
    return f"{told} at worst" if at_worst else told


def miss_text(miss: NearMiss) -> str:
    """Say what a near miss is: "row 1 with Exchanger 3 x 140, 30 mm on front wall"."""
    with_what = f"{miss.holds} on {miss.zone_name}"
    if miss.also is not None:
        with_what = f"{miss.also[1]} and {with_what}"
    return f"row {miss.row} with {with_what}" if miss.row else with_what


def fault_text(fault: Finding) -> str:
    """Say a fault; of one that is there only at worst, also which dimension takes the most."""
    if fault.kind != WORST_CASE or fault.tolerance is None:
        return fault.title
    return f"{fault.title}; most is taken by {taking(fault.tolerance.worst)[0]}"


def refused_text(miss: NearMiss) -> str:
    """Say why a near miss is refused: the titles of its first faults, and how many more."""
    titles = [fault_text(fault) for fault in miss.refused_for]
    more = len(titles) - FAULTS_TOLD
    return "; ".join(titles[:FAULTS_TOLD] + ([f"and {more} more"] if more > 0 else []))


def near_text(near: NearMisses) -> str:
    """Say how far the look for near misses has come.

    >>> near_text(NearMisses(of=1084))
    'Near misses: 1,084 stacks have more of what counts than any row'
    >>> near_text(NearMisses(looked_at=12, of=1084))
    'Near misses: 12 of 1,084 checked, none so far'
    >>> near_text(NearMisses(looked_at=300, of=1084, close=34, close_looked_at=2))
    'Near misses: changes tried for 2 of 34, none so far'
    """
    if not near.looked_at:
        return f"Near misses: {near.of:,} stacks have more of what counts than any row"
    so_far = f"{len(near.found)} so far" if near.found else "none so far"
    if not near.close_looked_at and not near.found:
        return f"Near misses: {near.looked_at:,} of {near.of:,} checked, {so_far}"
    return f"Near misses: changes tried for {near.close_looked_at:,} of {near.close:,}, {so_far}"


def letting_in_text(mended: int, of: int) -> str:
    """Say of near misses, those that some change lets in first, what is told of each.

    >>> letting_in_text(5, 5)
    'any one of the changes under each makes it fit, checked in full'
    >>> letting_in_text(1, 4)
    'any one of the changes under the first makes it fit, checked in full; for the other 3 no \
single change that was tried does'
    >>> letting_in_text(0, 4)
    'no single change that was tried makes any of them fit'
    """
    if not mended:
        return f"{NO_CHANGE.lower().removesuffix('it fit')}any of them fit"
    if mended == of:
        return "any one of the changes under each makes it fit, checked in full"
    first = "the first" if mended == 1 else f"the first {mended}"
    others = "the other" if of - mended == 1 else f"the other {of - mended}"
    return (
        f"any one of the changes under {first} makes it fit, checked in full; for {others} no "
        "single change that was tried does"
    )


def extent_text(near: NearMisses) -> str:
    """Say what was not looked at for near misses; empty where all was, of rows that are whole.

    >>> extent_text(NearMisses(looked_at=300, of=1084, close=34, close_looked_at=34, done=True))
    'checked the 300 of 1,084 candidates with the least interference; the others miss by more'
    >>> extent_text(NearMisses(looked_at=120, of=1084))
    'stopped: 120 of 1,084 candidates checked; more time finds more'
    >>> extent_text(NearMisses(looked_at=300, of=1084, close=34, close_looked_at=2))
    'stopped: 300 of 1,084 candidates checked, changes tried for 2 of 34 near; more time finds more'
    >>> extent_text(NearMisses(looked_at=9, of=9, done=True, rows_whole=False))
    'the rows were cut short by time: with more of them other near misses are found'
    """
    rows = "" if near.rows_whole else ROWS_CUT_SHORT
    return "; ".join(part for part in (_looked_text(near), rows) if part)


def _looked_text(near: NearMisses) -> str:
    looked_at = f"{near.looked_at:,} of {near.of:,}"
    if near.done:
        if near.looked_at == near.of:
            return ""
        return (
            f"checked the {looked_at} candidates with the least interference; "
            "the others miss by more"
        )
    if not near.of:
        return "stopped before they were begun; more time finds more"
    if near.looked_at < near.of and not near.close_looked_at and not near.found:
        return f"stopped: {looked_at} candidates checked; more time finds more"
    close = f"changes tried for {near.close_looked_at:,} of {near.close:,} near"
    return f"stopped: {looked_at} candidates checked, {close}; more time finds more"
