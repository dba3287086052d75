"""The stages of a search in plain words: what is done at the moment, and how far it has come."""

from __future__ import annotations

import re

STAGES: tuple[tuple[str, str], ...] = (
    (
        r"how many options of (.+): (\d+) of (\d+)",
        r"seeing how much there is to try; zone \2 of \3",
    ),
    (
        r"options of (.+), ([\d,]+) stacks looked at: (\d+) of (\d+)",
        r"\1: \2 stacks put together; \3 of \4 zones done",
    ),
    (
        r"options of (.+), ([\d,]+) listed, (\S+) judged: (\d+) of (\d+)",
        r"\1: \2 stacks to choose from, \3 checked; \4 of \5 zones done",
    ),
    (
        r"pairs of zones, (.+), judged (\S+): (\d+) of (\d+)",
        r"checking what goes together on \1, \2; \3 of \4 pairs of zones done",
    ),
    (
        r"pairs of zones: (\d+) of (\d+)",
        r"checking what goes together; \1 of \2 pairs of zones done",
    ),
    (r"best trade-offs: (.*)", r"looking for the best rows; \1"),
    (r"counting: (.*)", r"counting what fits; \1"),
    (
        r"estimating: about (\S+) from ([\d,]+) runs",
        r"estimating how many fit; about \1 by \2 random samples",
    ),
    (
        r"near misses: ([\d,]+) stacks would be more",
        r"near misses: \1 stacks have more of what counts than any row",
    ),
)
"""What the search calls its stages, and what is told of them; others are told as they are."""


def plain_stage(stage: str) -> str:
    """Return a stage in plain words, with a capital.

    >>> plain_stage("options of front wall, 1,200 listed, 30% judged: 0 of 3")
    'Front wall: 1,200 stacks to choose from, 30% checked; 0 of 3 zones done'
    >>> plain_stage("done")
    'Done'
    """
    told = stage
    for called, plain in STAGES:
        if re.fullmatch(called, stage):
            told = re.sub(called, plain, stage)
            break
    return told[:1].upper() + told[1:]
