"""Obstacles with several states, and what goes along with them, as choices of a search.

A bracket carries what stands on it, so obstacles that hang on each other make one family, and its
states are chosen together: each different outcome once, that of the layout first. A zone on such an
obstacle is listed anew for each outcome, and each of its options stands in that one only.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from catalog.enclosure import Enclosure, Obstacle
from catalog.model import FrozenMap
from geometry.layout import Layout
from geometry.placement import obstacle_state, owner_state


@dataclass(frozen=True)
class Family:
    """Obstacles that go together; `outcomes` are the states to choose from, the present ones first.

    An outcome names only states that differ from those of the layout.
    """

    root: str
    name: str
    members: frozenset[str]
    outcomes: tuple[Mapping[str, str], ...]
    texts: tuple[str, ...]


def families(layout: Layout) -> list[Family]:
    """Return the families with a choice of states, but for those that carry a stack that stays."""
    enclosure = layout.enclosure
    carrying = {z.owner for s in layout.stacks for z in enclosure.zones if z.id == s.zone}
    gathered: dict[str, list[Obstacle]] = {}
    for one in enclosure.obstacles:
        gathered.setdefault(_root(enclosure, one), []).append(one)
    found = []
    for root, members in gathered.items():
        ids = frozenset(one.id for one in members)
        if ids & carrying:
            continue
        outcomes = dict(_outcomes(layout, members))
        if len(outcomes) > 1:
            name = next(one.name for one in members if one.id == root)
            texts = tuple(_text(layout, members, states) for states in outcomes.values())
            found.append(Family(root, name, ids, tuple(outcomes.values()), texts))
    return found


def with_states(layout: Layout, states: Mapping[str, str]) -> Layout:
    """Return the layout with other states of some obstacles."""
    return layout.but(states=FrozenMap({**layout.states, **states})) if states else layout


def _root(enclosure: Enclosure, one: Obstacle) -> str:
    known = {other.id: other for other in enclosure.obstacles}
    seen = {one.id}
    while one.owner in known and one.owner not in seen:
        one = known[one.owner]
        seen.add(one.id)
    return one.id


def _outcomes(
    layout: Layout, members: list[Obstacle]
) -> Iterator[tuple[tuple[object, ...], Mapping[str, str]]]:
    """Yield where all members end up, with the states that bring them there.

    The layout's own states come first. Of several states with one outcome the first stays.
    """
    now = {one.id: obstacle_state(one, layout.states).id for one in members}
    seen: set[object] = set()
    for picked in product(*(_present_first(one, now[one.id]) for one in members)):
        chosen = dict(zip(now, picked, strict=True))
        states = FrozenMap({k: v for k, v in chosen.items() if v != now[k]})
        every = {**layout.states, **states}
        outcome = tuple(_place(layout.enclosure, one.id, every) for one in members)
        if outcome not in seen:
            seen.add(outcome)
            yield outcome, states


def _place(enclosure: Enclosure, one: str, states: Mapping[str, str]) -> object:
    present, shift = owner_state(enclosure, one, states)
    return shift if present else None


def _present_first(one: Obstacle, now: str) -> list[str]:
    return [now, *(state.id for state in one.states if state.id != now)]


def _text(layout: Layout, members: list[Obstacle], states: Mapping[str, str]) -> str:
    every = {**layout.states, **states}
    told = []
    for one in members:
        above, _ = owner_state(layout.enclosure, one.owner, every)
        if len(one.states) > 1 and above:
            told.append(f"{one.name} {obstacle_state(one, every).name}")
    return ", ".join(told)
