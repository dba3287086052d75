"""A search in a process of its own: what it is asked, what it tells, and its main function.

No Qt here: the process that searches has no window. Threads would share the interpreter with the
window, which then stops at every number-crunching step.
"""

from __future__ import annotations

import os
import signal
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection
from time import monotonic

from app.quick_start import start_quickly
from catalog.parts import Part
from geometry.layout import Layout
from geometry.search.answers import MEASURES
from geometry.search.fault import SearchError
from geometry.search.near.misses import NearMisses, near_misses
from geometry.search.near.summary import NearFound, near_found
from geometry.search.near.words import near_text
from geometry.search.problem import Listed, Problem
from geometry.search.run import Searched, Searching, search
from geometry.search.stage import Doing, Stage
from geometry.search.summary import RowSummary, RowTeller, Summary, summary
from geometry.search.wishes import Wishes

TELL_EVERY_S = 0.1
"""Progress is told no more often than this; rows at once."""

LESS_URGENT = 5
"""By how much the search gives way to the window where both want the same core."""


@dataclass(frozen=True)
class SearchOrder:
    """What to search: a layout, wishes, the measures that count by key, and the time (s).

    `near` looks for near misses too; `cutting` lets these cut the enclosure, and `pumps` are those
    that may take the place of a larger one.
    """

    layout: Layout
    wishes: Wishes
    wanted: tuple[str, ...]
    seconds: float
    near: bool = False
    cutting: bool = False
    pumps: tuple[Part, ...] = ()


@dataclass(frozen=True, eq=False)
class Told:
    """How far the search is: its stage in words, the rows that are new, and the answer if any.

    `listed` tells of the zones whose options are listed so far. `near` are the near misses so
    far; `ended` tells that nothing more will come.
    """

    stage: str
    rows: tuple[RowSummary, ...] = ()
    answer: Summary | None = None
    listed: tuple[Listed, ...] = ()
    near: NearFound | None = None
    ended: bool = False


@dataclass(frozen=True)
class Refused:
    """The search could not begin, and why; `internal` where that is a fault of the program."""

    reason: str
    internal: bool = False


def run_search(orders: Connection, pipe: Connection) -> None:
    """Take one order, search, and tell all of it through a pipe; main function of the process.

    Ends by itself when nobody is at the other end any more.
    """
    # Ctrl-C reaches every process of a terminal; the window decides what becomes of the search.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # Values form no cycles; looking for some among millions is nearly a second without a word.
    start_quickly(algebra=True)
    if hasattr(os, "nice"):
        os.nice(LESS_URGENT)
    try:
        for told in tellings(orders.recv()):
            pipe.send(told)
    except SearchError as fault:
        pipe.send(Refused(str(fault)))
    except (EOFError, BrokenPipeError, ConnectionResetError):
        return
    except Exception:  # noqa: BLE001 - handed over to the window's process, raised there
        pipe.send(Refused(traceback.format_exc(), internal=True))
    pipe.close()


class _Teller:
    """Keeps what was told, so that every row is told once."""

    def __init__(self) -> None:
        self._rows: RowTeller | None = None
        self._sent = 0
        self._last_s = -TELL_EVERY_S
        self._near = 0

    def told(self, state: Searching) -> Told | None:
        """Return what is new of a state; None while there is nothing worth the while."""
        found = state.found
        rows: tuple[RowSummary, ...] = ()
        if found is not None:
            self._rows = self._rows or RowTeller(found.problem)
            new = found.answer.rows[self._sent :]
            rows = tuple(self._rows.told(self._sent + n, row) for n, row in enumerate(new, 1))
            self._sent += len(rows)
        now_s = monotonic()
        ended = found is not None and found.done
        if not rows and not ended and now_s - self._last_s < TELL_EVERY_S:
            return None
        self._last_s = now_s
        answer = summary(found) if found is not None else None
        return Told(state.stage.text, rows, answer, state.listed)

    def near(self, problem: Problem, state: NearMisses, *, cutting: bool) -> Told | None:
        """Return the near misses so far; None while that is too soon and none is new."""
        now_s = monotonic()
        new = len(state.found) != self._near
        if not new and now_s - self._last_s < TELL_EVERY_S:
            return None
        self._last_s, self._near = now_s, len(state.found)
        return Told(near_text(state), near=near_found(problem, state, cutting=cutting))


def tellings(order: SearchOrder) -> Iterator[Told]:
    """Yield what a search tells, and at last that it has ended. Raises SearchError."""
    teller = _Teller()
    wanted = [MEASURES[key] for key in order.wanted]
    found: Searched | None = None
    for state in search(order.layout, order.wishes, wanted, order.seconds):
        found = state.found
        told = teller.told(state)
        if told is not None:
            yield told
    near: NearFound | None = None
    if order.near and found is not None:
        near_state = NearMisses()
        for near_state in near_misses(
            found.problem, found.answer, wanted, order.pumps,
            exclusions=found.exclusions, cutting=order.cutting,
        ):  # fmt: skip
            told = teller.near(found.problem, near_state, cutting=order.cutting)
            if told is not None:
                yield told
        near = near_found(found.problem, near_state, cutting=order.cutting)
    yield Told(Stage(Doing.ENDING).text, near=near, ended=True)
