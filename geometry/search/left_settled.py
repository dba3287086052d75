"""Depth left and room for cables where they depend on states of obstacles that are chosen too."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from geometry.measures.broadphase import Bools
from geometry.search.fault import SearchError
from geometry.search.judging.left_by_states import Same
from geometry.search.judging.zone_options import ZoneOptions
from geometry.search.listed_anew import Forbidden, listed_anew
from geometry.search.long_work import Steps, share_of, told_as
from geometry.search.solving.zone_tables import ZoneTables

KINDS_A_STEP = 100
"""Of so many kinds of options what is left is parted at once, some milliseconds."""

MOST_LISTED = 400_000
"""So many options of a zone are listed at most by what their figures are, a kilobyte each."""


def left_settled(
    zones: Sequence[ZoneOptions], tables: ZoneTables, families: range
) -> Steps[tuple[list[ZoneOptions], ZoneTables]]:
    """Return in steps zones and tables whose options have the depth left that combinations leave.

    `families` numbers the zones that stand for obstacles whose states are chosen. An option is
    listed once for each different figure.
    """
    every = list(zones)
    for number, zone in enumerate(zones):
        if zone.by_states is not None:
            settling = _settled(every, tables, number, families)
            told = partial(share_of, (number / len(zones), (number + 1) / len(zones)))
            every[number], tables = yield from told_as(settling, told)
    return every, tables


def _settled(
    zones: Sequence[ZoneOptions], tables: ZoneTables, number: int, families: range
) -> Steps[tuple[ZoneOptions, ZoneTables]]:
    zone = zones[number]
    by_states = zone.by_states
    assert by_states is not None
    may = [_may(tables, number, family) for family in families]
    marks = np.concatenate([by_states.of[:, None], *may], axis=1)
    _, first, kind = np.unique(marks, axis=0, return_index=True, return_inverse=True)
    yield 0.0
    listed = []
    for done, k in enumerate(first.tolist()):
        apart = by_states.apart(k, [stands[k] for stands in may])
        listed.append([(_forbidden(same, may, families), same) for same in apart])
        if done % KINDS_A_STEP == 0:
            yield done / len(first)
    kinds = kind.ravel().tolist()
    many = np.array([len(some) for some in listed], dtype=np.intp)[kinds]
    if many.sum() > MOST_LISTED:
        raise SearchError(_too_many(zone.zone, int(many.sum())))
    every = [one for k in kinds for one in listed[k]]
    keep = np.repeat(np.arange(len(kinds)), many).astype(np.intp)
    yield 1.0
    made, tables = listed_anew(zones, tables, number, keep, [ruled_out for ruled_out, _ in every])
    left_mm, ends_mm = np.array([(same.left_mm, same.ends_mm) for _, same in every]).T
    return replace(made, left_mm=left_mm, ends_mm=ends_mm, by_states=None), tables


def _may(tables: ZoneTables, number: int, family: int) -> Bools:
    """Return which options of a zone stand with which states of obstacles."""
    may = np.ones((tables.sizes[number], tables.sizes[family]), dtype=bool)
    for state in range(tables.sizes[family]):
        met = tables.against(number, family, state)
        if met is not None:
            may[:, state] = ~met
    return may


def _forbidden(same: Same, may: Sequence[Bools], families: range) -> Forbidden:
    """Return which states of obstacles are not those with which the same is left."""
    found: Mapping[int, Bools] = {
        family: ~np.isin(np.arange(stands.shape[1]), states)
        for family, stands, states in zip(families, may, same.states, strict=True)
        if len(states) < stands.shape[1]
    }
    return found


def _too_many(zone: str, listed: int) -> str:
    return (
        f'what is left before stacks on zone "{zone}" depends on states of obstacles in {listed:,} '
        f"ways, more than {MOST_LISTED:,} (leave their states as they are, or list fewer slides)"
    )
