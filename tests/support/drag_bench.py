"""Drags in a real window, offscreen, with what each move of the pointer cost and where.

One move is a mouse event and all that follows until the board is painted. A move is stale where
what is painted, or any annotation on it, is of an earlier layout. Moves come 60 a second, and what
is done in the turns between them (panels, and a board that is behind) is timed turn by turn.
"""

from __future__ import annotations

import gc
import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from time import perf_counter, thread_time
from typing import Any
from unittest.mock import patch

from PySide6.QtCore import QEvent, QObject, QPoint
from PySide6.QtWidgets import QApplication
from ui_hand import Hand

from app.quick_start import YOUNG_OBJECTS
from app.ui.board.gestures import PartDrag
from app.ui.board.picture import BoardPicture
from app.ui.board.session_overlay import BEHIND
from app.ui.live_check import LiveCheck
from app.ui.window import MainWindow

Step = Callable[[int], tuple[int, int]]

FRAME_MS = 1000 / 60
SHORT_MS = 0.3
"""A turn that takes less had nothing to do."""
WARM_UP = 8
"""Moves that begin the drag, and are not counted."""


def walk(k: int) -> tuple[int, int]:
    """Return how far from its start the pointer is at move `k`: to and fro, up and down."""
    return (int(5 + 60 * math.sin(k / 18)), int(-40 * math.sin(k / 11)))


def along(k: int) -> tuple[int, int]:
    """Return the same for a move that stays level."""
    return (int(6 + 30 * math.sin(k / 9)), 0)


@dataclass
class Move:
    """What one move cost, in milliseconds of the window's thread, and what it did."""

    wall_ms: float = 0.0
    """By the clock, until painted."""
    cpu_ms: float = 0.0
    check_ms: float = 0.0
    layout_ms: float = 0.0
    """Laying all annotations out, and getting them ready to be painted."""
    repaint_ms: float = 0.0
    remade: int = 0
    """Groups and parts of them that were laid out anew."""
    rebuilt: int = 0
    """Groups that were made ready to be painted anew."""
    pairs: int = 0
    """Pairs of solids measured."""
    paints: int = 0
    share_painted: float = 0.0
    """Share of the board that was painted."""
    stale: bool = False
    """Whether a verdict or an annotation is of an earlier layout when the move is painted."""


@dataclass
class Drag:
    """The moves of one drag."""

    moves: list[Move] = field(default_factory=list)
    turns_ms: list[float] = field(default_factory=list)
    """What was done at a stretch when a move was painted already."""
    unmarked: int = 0
    """Frames in which a verdict or an annotation was older and the note did not say so."""
    first_ms: float = 0.0
    """What the move cost with which the drag began, for which the whole board is made ready."""

    def of(self, what: str) -> list[float]:
        """Return one figure of all moves, the least first."""
        return sorted(float(getattr(move, what)) for move in self.moves)

    def at(self, what: str, share: float) -> float:
        """Return the figure that this share of the moves does not exceed."""
        every = self.of(what)
        return share_of(every, share)

    def told(self, name: str) -> str:
        """Return a line for the report."""
        parts = [
            f"{what} {self.at(f'{what}_ms', 0.5):.1f} / {self.at(f'{what}_ms', 0.95):.1f} / "
            f"{self.at(f'{what}_ms', 0.99):.1f}"
            for what in ("cpu", "wall", "check", "layout", "repaint")
        ]
        turns = sorted(ms for ms in self.turns_ms if ms > SHORT_MS)
        return (
            f"{name}: ms a move, median / 95 % / 99 %: {', '.join(parts)}; first move "
            f"{self.first_ms:.0f} ms; turn between moves {share_of(turns, 0.5):.1f} / "
            f"{share_of(turns, 0.95):.1f} / {share_of(turns, 0.99):.1f}; "
            f"of {len(self.moves)} moves "
            f"{sum(m.stale for m in self.moves)} stale when painted, {self.unmarked} unmarked"
        )

    def least(self, other: Drag) -> Drag:
        """Return of each move what cost less, of two drags with the same moves.

        One painted with all of its annotations counts before one that left some behind.
        """
        return replace(
            self,
            moves=[
                min(one, two, key=lambda move: (move.stale, move.cpu_ms))
                for one, two in zip(self.moves, other.moves, strict=True)
            ],
            turns_ms=self.turns_ms + other.turns_ms,
            unmarked=self.unmarked + other.unmarked,
            first_ms=min(self.first_ms, other.first_ms),
        )


def share_of(every: list[float], share: float) -> float:
    """Return the value that this share of values, the least first, does not exceed."""
    return every[min(len(every) - 1, int(share * len(every)))] if every else 0.0


class _Paints(QObject):
    """Counts what is painted of the board."""

    def __init__(self, move: Callable[[], Move]) -> None:
        super().__init__()
        self._move = move

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        """Note a paint and its share of the viewport."""
        if event.type() is QEvent.Type.Paint:
            whole = watched.width() * watched.height()  # type: ignore[attr-defined]
            move = self._move()
            move.paints += 1
            move.share_painted += sum(r.width() * r.height() for r in event.region()) / whole  # type: ignore[attr-defined]
        return False


@contextmanager
def timed(owner: Any, name: str, note: Callable[[float], None]) -> Iterator[None]:
    """Note how long each call of a function takes (ms of the thread)."""
    real = getattr(owner, name)

    def run(*args: Any, **kwargs: Any) -> Any:
        start = thread_time()
        try:
            return real(*args, **kwargs)
        finally:
            note((thread_time() - start) * 1000)

    with patch.object(owner, name, run):
        yield


@contextmanager
def collecting_seldom() -> Iterator[None]:
    """Let the garbage collector run as seldom as in the program itself."""
    usual = gc.get_threshold()
    gc.set_threshold(YOUNG_OBJECTS, *usual[1:])
    try:
        yield
    finally:
        gc.set_threshold(*usual)


def dragged(
    window: MainWindow, me: Hand, owner: str, step: Step, moves: int, *, patiently: bool = False
) -> Drag:
    """Drag a part about with the mouse, and leave everything as it was.

    One who drags patiently gives every move and the board the time that they want, so that what is
    counted does not hang on how fast the machine is.
    """
    board, picture = window.board, window.board.picture
    port = board.viewport()
    start = me.at(me.middle_of(owner))
    window.session.select(owner)
    QApplication.processEvents()
    me.press(start)
    drag, now = Drag(), Move()
    paints = _Paints(lambda: now)
    port.installEventFilter(paints)
    painted: list[tuple[float, float]] = []
    board.painted.connect(lambda: painted.append((perf_counter(), thread_time())))

    def checked(ms: float) -> None:
        now.check_ms += ms

    def laid_out(ms: float) -> None:
        now.layout_ms += ms

    def older() -> bool:
        return window.session.stale or picture.behind

    def marked() -> bool:
        return BEHIND in me.texts("note")

    def pump() -> None:
        """Let the window do what is due, and time it; a paint ends what counts as the move's."""
        cpu = thread_time()
        QApplication.processEvents()
        end = thread_time()
        done = painted[0][1] if painted else end if now is move else cpu
        now.cpu_ms += (done - cpu) * 1000
        if now is not move or painted:
            drag.turns_ms.append((end - done) * 1000)
        drag.unmarked += older() and not marked()

    with (
        collecting_seldom(),
        timed(LiveCheck, "ask", checked),
        timed(BoardPicture, "refresh", laid_out),
    ):
        for k in range(moves + WARM_UP):
            now = move = Move()
            before = (picture.remade, board.still.rebuilt)
            wall, cpu = perf_counter(), thread_time()
            painted.clear()
            me.send_move(start + QPoint(*step(k)))
            now.cpu_ms = (thread_time() - cpu) * 1000
            move.stale = older()
            drag.unmarked += move.stale and not marked()
            after = (picture.remade, board.still.rebuilt)
            for _ in range(3):
                if not painted:
                    before_ms = now.cpu_ms
                    pump()
                    now.repaint_ms += now.cpu_ms - before_ms
            move.wall_ms = ((painted[0][0] if painted else perf_counter()) - wall) * 1000
            survey = window.session.checked.report.survey
            move.pairs = survey.pairs.measured_now if survey is not None else 0
            move.remade, move.rebuilt = (b - a for a, b in zip(before, after, strict=True))
            turned = False
            while (
                not turned
                or (perf_counter() - wall) * 1000 < FRAME_MS
                or (patiently and picture.behind)
            ):
                now = Move()
                painted.clear()
                pump()
                turned = True
            if k >= WARM_UP:
                drag.moves.append(move)
            drag.first_ms = max(drag.first_ms, move.cpu_ms if k < WARM_UP else 0.0)
    assert isinstance(board.gesture, PartDrag)
    board.cancel_gesture()
    me.release(start)
    port.removeEventFilter(paints)
    QApplication.processEvents()
    return drag
