"""Depth left and room for cables where they depend on states of obstacles that are chosen too."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from geometry.measures.broadphase import Bools
from geometry.search.judging.left_by_states import Same
from geometry.search.judging.zone_options import ZoneOptions
from geometry.search.listed_anew import Forbidden, listed_anew
from geometry.search.solving.zone_tables import ZoneTables


def left_settled(
    zones: Sequence[ZoneOptions], tables: ZoneTables, families: range
) -> tuple[list[ZoneOptions], ZoneTables]:
    """Return zones and tables in which each option has the depth left that its combination leaves.

    `families` numbers the zones that stand for obstacles whose states are chosen. An option is
    listed once for each different figure.
    """
    every = list(zones)
    for number, zone in enumerate(zones):
        if zone.by_states is not None:
            every[number], tables = _settled(every, tables, number, families)
    return every, tables


def _settled(
    zones: Sequence[ZoneOptions], tables: ZoneTables, number: int, families: range
) -> tuple[ZoneOptions, ZoneTables]:
    zone = zones[number]
    by_states = zone.by_states
    assert by_states is not None
    may = [_may(tables, number, family) for family in families]
    marks = np.concatenate([by_states.of[:, None], *may], axis=1)
    _, first, kind = np.unique(marks, axis=0, return_index=True, return_inverse=True)
    of_kind = [by_states.apart(k, [stands[k] for stands in may]) for k in first.tolist()]
    listed = [[(_forbidden(same, may, families), same) for same in told] for told in of_kind]
    kinds = kind.ravel().tolist()
    every = [one for k in kinds for one in listed[k]]
    keep = np.repeat(np.arange(len(kinds)), [len(listed[k]) for k in kinds]).astype(np.intp)
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
