"""Looks behind the user for the smallest changes that clear a finding, or all of them."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal

from app.ui.mending.offers import Goal, Mended, MendState
from app.ui.mending.remedy_search import BREATH_S
from geometry.remedies import fault_key

if TYPE_CHECKING:
    from app.ui.session import Session
    from catalog.parts import Part
    from geometry.checks.runner import Checked
    from geometry.search.mending.mend import Mends

TELL_S = 0.1
"""Progress is told no more often than this."""


class _Job(QRunnable):
    def __init__(
        self,
        search: MendSearch,
        number: int,
        checked: Checked,
        parts: Sequence[Part],
        goal: Goal,
        *,
        cutting: bool,
    ) -> None:
        super().__init__()
        self._search, self._number, self._checked = search, number, checked
        self._parts, self._goal, self._cutting = parts, goal, cutting

    def run(self) -> None:
        """Search until the end, or until this search is not the one that is wanted."""
        try:
            self._search_on()
        except Exception as fault:  # noqa: BLE001 - handed over to the window's thread, raised there
            self._search.told.emit(self._number, fault)

    def _search_on(self) -> None:
        # Loaded here: what it takes would only delay the window's start.
        from geometry.search.mending.mend import mends

        finding = None
        if self._goal is not None:
            told = self._checked.report.findings
            finding = next(f for f in told if fault_key(f) == self._goal)
        last = 0.0
        for found in mends(self._checked, self._parts, finding, cutting=self._cutting):
            if self._search.number != self._number:
                return
            now = time.monotonic()
            if found.done or now - last >= TELL_S:
                last = now
                self._search.told.emit(self._number, found)
            time.sleep(BREATH_S)


class MendSearch(QObject):
    """Keeps what was found for the document's layout; one goal is searched at a time.

    `changed`: there is more, or an edit has made all of it void. `cutting` lets changes of the
    enclosure itself be looked for.
    """

    changed = Signal()
    told = Signal(int, object)

    def __init__(
        self, session: Session, parts: Sequence[Part], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._parts = session, parts
        self.number = 0
        """The number of the search that is wanted; one with another number stops itself."""
        self.cutting = False
        self._goal: Goal = None
        self._base = session.settled.scene.layout
        self._states: dict[Goal, MendState] = {}
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self.told.connect(self._on_told)
        session.shown_changed.connect(self._follow)

    @property
    def found(self) -> Mended:
        """What was found so far for the document's layout."""
        return Mended(self._base, dict(self._states))

    @property
    def running(self) -> bool:
        """Whether it is searching."""
        return any(state.running for state in self._states.values())

    def start(self, goal: Goal) -> None:
        """Search for what clears a fault, or all; another search that runs is stopped.

        Nothing is done while remedies are still looked for: the list of faults may still grow. Nor
        for a fault of a layout that is tried out, which the document's own does not have.
        """
        told = self._session.settled.report.findings
        if self._session.looking or not (goal is None or goal in map(fault_key, told)):
            return
        self._halt()
        self.number += 1
        self._goal = goal
        self._states[goal] = MendState(running=True, cutting=self.cutting)
        layout = self._session.settled.scene.layout
        parts = {part.id: part for part in self._parts} | dict(layout.parts)
        self._pool.start(
            _Job(
                self,
                self.number,
                self._session.settled,
                tuple(parts.values()),
                goal,
                cutting=self.cutting,
            )
        )
        self.changed.emit()

    def stop(self) -> None:
        """Stop, and keep what was found so far."""
        self._halt()
        self.changed.emit()

    def set_cutting(self, cutting: bool) -> None:
        """Let changes of the enclosure be looked for, or not; what was found before is void."""
        if cutting != self.cutting:
            self.cutting = cutting
            self._forget()
            self.changed.emit()

    def close(self) -> None:
        """Stop and wait until the thread has let go."""
        self._halt()
        self._pool.waitForDone()

    def _halt(self) -> None:
        self.number += 1
        for goal, state in self._states.items():
            if state.running:
                self._states[goal] = replace(state, running=False, stopped=True)

    def _forget(self) -> None:
        self.number += 1
        self._states.clear()

    def _follow(self) -> None:
        layout = self._session.settled.scene.layout
        if layout is self._base:
            return
        self._base = layout
        if self._states:
            self._forget()
            self.changed.emit()

    def _on_told(self, number: int, found: Mends | Exception) -> None:
        if number != self.number:
            return
        if isinstance(found, Exception):
            self.stop()
            raise found
        self._states[self._goal] = MendState(
            found.found,
            found.tried,
            found.untried,
            running=not found.done,
            cutting=self._states[self._goal].cutting,
            locked=found.locked,
        )
        self.changed.emit()
