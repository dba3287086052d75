"""What the panel of what fits says: how far a search is, and what a change takes out."""

from __future__ import annotations

from collections.abc import Mapping

from app.ui.search.worker import Told
from geometry.layout import Layout
from geometry.search.taken_out import taken_out
from geometry.search.words import between_text

NOT_WORKED_OUT = "Not worked out: the search was stopped."


def loss_text(before: Layout, after: Layout) -> str:
    """Say what one layout has not of another, as a part of a sentence; nothing where it has all."""
    gone = taken_out(before, after)
    return f"takes out {' + '.join(gone)}; " if gone else ""


def progress_text(told: Told, names: Mapping[str, str]) -> str:
    """Return how far a search is: its stage, with what is counted so far and the bounds on it."""
    answer = told.answer
    if answer is not None and not answer.done:
        return (
            f"{told.stage}; {between_text(answer.least, answer.most)} of {answer.combinations:,} "
            "combinations fit"
        )
    if answer is None and told.listed:
        zones = ", ".join(
            f"{names.get(one.zone, one.zone)} {one.fit_alone:,} of {one.listed:,}"
            for one in told.listed
        )
        return f"{told.stage}; with the other zones empty there fit: {zones}"
    return told.stage


def row_count(count: int) -> str:
    """Say how many rows."""
    return "1 row" if count == 1 else f"{count} rows"
