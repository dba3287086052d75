"""Works out behind the user what takes longer than one waits after letting go of a part: the worst
cases of all tolerances, and remedies, each of which is an edit that is checked again in full.
"""

from __future__ import annotations

import time

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal
from shiboken6 import isValid

from geometry.checks.runner import Checked, check_layout, in_worst_case, run_checks
from geometry.finding import Report
from geometry.layout import Layout

BREATH_S = 0.002
"""A pause after each layout that was tried, so that the window's own thread gets its turn."""


class _StoppedError(Exception):
    """The search is not wanted any more."""


class _Job(QRunnable):
    def __init__(self, search: RemedySearch, number: int, checked: Checked) -> None:
        super().__init__()
        self._search, self._number, self._checked = search, number, checked

    def run(self) -> None:
        """Try edits until all findings are gone through, or until another search is wanted."""
        try:
            found = self._found()
        except _StoppedError:
            return
        except Exception as fault:  # noqa: BLE001 - handed over to the window's thread, raised there
            self._tell(fault)
            return
        self._tell(found)

    def _tell(self, found: Checked | Exception) -> None:
        """Hand over what was found, if the window that asked is still there to take it."""
        if self._search.number == self._number and isValid(self._search):
            self._search.done.emit(self._number, found)

    def _found(self) -> Checked:
        """Return the report with its worst cases, tolerances and remedies."""
        from geometry.checks.finding_figures import depth_figure, with_tolerances
        from geometry.remedies import with_remedies

        scene = self._checked.scene
        report = run_checks(scene, self._checked, remedies=False)
        report = with_tolerances(report, self._need_wanted)
        for depth in report.depths:
            for left in depth.cells:
                self._need_wanted()
                depth_figure(report, left)
        self._checked = Checked(scene, report)
        return Checked(scene, with_remedies(scene, report, self._recheck, self._confirm))

    def _need_wanted(self) -> None:
        """Raise where another search is wanted, or none."""
        if self._search.number != self._number:
            raise _StoppedError

    def _recheck(self, layout: Layout, *_: bool) -> Report:
        self._need_wanted()
        time.sleep(BREATH_S)
        return check_layout(layout, self._checked, remedies=False, worst_cases=False).report

    def _confirm(self, layout: Layout, after: Report) -> Report:
        self._need_wanted()
        return in_worst_case(layout, after, self._checked)


class RemedySearch(QObject):
    """`found` carries the layout's report with its remedies.

    `failed` tells that a fault of the program has ended the search, which is raised after it.
    """

    found = Signal(object)
    failed = Signal()
    done = Signal(int, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.number = 0
        """The number of the search that is wanted; one with another number stops itself."""
        self.running = False
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self.done.connect(self._on_done)

    def start(self, checked: Checked) -> None:
        """Look for the remedies of a report; a search that runs is stopped."""
        self.number += 1
        self.running = True
        self._pool.start(_Job(self, self.number, checked))

    def stop(self) -> None:
        """Stop looking."""
        self.number += 1
        self.running = False

    def close(self) -> None:
        """Stop looking and wait until the thread has let go."""
        self.stop()
        self._pool.waitForDone()

    def _on_done(self, number: int, found: Checked | Exception) -> None:
        if number != self.number:
            return
        self.running = False
        if isinstance(found, Exception):
            self.failed.emit()
            raise found
        self.found.emit(found)
