"""After every move of a drag the board, painted only where it changed, is as if painted at once.

Parts go about at random, by single pixels and across the views, out of their stacks and back; the
picture of each move is held dot by dot against one of the same groups that is painted from nothing,
and the groups of some moves against those laid out from nothing.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

import numpy as np
import pytest
from filled_rooms import filled
from large_rooms import hall
from numpy.typing import NDArray
from PySide6.QtCore import QPoint
from ui_hand import Hand

from app.demo import demo_layout
from app.drawing.board import board_drawing
from app.drawing.board_making import Shows
from app.ui.board.gestures import PartDrag
from app.ui.board.still_board import StillBoard
from app.ui.window import MainWindow
from catalog.store import Library
from geometry.layout import Layout

MOVES = 16
EVERY = 3
"""How many moves there are for one of which all is also laid out from nothing."""

FARTHEST = 2
"""A clip that cuts a smoothed edge may round one or two of 255 steps otherwise."""


def walk(rng: random.Random) -> Iterator[QPoint]:
    """Yield how far from its start the pointer is: near by mostly, then somewhere else."""
    at = QPoint(0, 0)
    for k in range(MOVES):
        if k % 8 == 7:
            at = QPoint(rng.randint(-300, 300), rng.randint(-200, 200))
        elif k % 3 == 0:
            at += QPoint(rng.randint(-30, 30), rng.randint(-30, 30))
        else:
            at += QPoint(rng.randint(-4, 4), rng.randint(-2, 2))
        yield at


def level_walk(rng: random.Random) -> Iterator[QPoint]:
    """Yield the same for a stack that stays in its slots."""
    for k in range(MOVES):
        yield QPoint(20 + rng.randint(-2, 2) if k % 4 == 0 else rng.randint(-45, 45), 0)


def painted_at_once(still: StillBoard) -> NDArray[np.uint8]:
    """Return what a board shows, painted from nothing."""
    assert still._looks is not None
    anew = StillBoard(still._view)
    anew.show(still._groups, still._looks)
    anew.show_over(still._over_groups, still._looks)
    return dots(anew)


def dots(still: StillBoard) -> NDArray[np.uint8]:
    """Return the picture of a board, rows of dots with their colours."""
    picture = still.picture()
    assert picture is not None
    image = picture.toImage()
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), -1)
    return rows[:, : 4 * image.width()].reshape(image.height(), -1, 4).copy()


def assert_laid_out_as_from_nothing(window: MainWindow) -> None:
    picture, session = window.board.picture, window.session
    assert not picture.behind
    assert session.selected is not None
    assert picture.drawing == board_drawing(
        session.checked,
        picture.frame,
        window.board.mm_per_px,
        Shows(frozenset([session.selected])),
        sheet=picture.sheet,
    )


CASES = (
    ("demo", "R1", walk),
    ("demo", "F1", walk),
    ("demo", "F1", level_walk),
    ("tower", "free", walk),
    ("tower", "stack", level_walk),
    ("hall", "stack", level_walk),
)


def room_of(name: str, library: Library) -> Layout:
    if name == "demo":
        return demo_layout(library)
    return filled(library, "tall-tower").layout if name == "tower" else hall(60)


@pytest.mark.parametrize(("name", "owner", "steps"), CASES)
def test_painted_in_pieces_it_is_the_picture_painted_at_once(
    open_window: Callable[..., MainWindow],
    qtbot,
    monkeypatch: pytest.MonkeyPatch,
    shipped: Library,
    name: str,
    owner: str,
    steps: Callable[[random.Random], Iterator[QPoint]],
) -> None:
    monkeypatch.setattr("app.ui.board.pointer_work.FRAME_MS", 60_000.0)
    layout = room_of(name, shipped)
    window = open_window(layout, size=(1280, 800))
    window.session._live._budget_ms = 60_000.0
    me, still = Hand(window, qtbot), window.board.still
    if owner == "free":
        owner = layout.free[0].id
    elif owner == "stack":
        owner = window.session.checked.scene.items_of(layout.stacks[0])[0].id
    window.session.select(owner)
    start = me.at(me.middle_of(owner))
    me.press(start)
    changed = 0
    before = None
    for k, at in enumerate(steps(random.Random(7))):
        me.move(start + at)
        if not isinstance(window.board.gesture, PartDrag):
            continue
        pieced = dots(still)
        apart = np.abs(pieced.astype(int) - painted_at_once(still)).max(axis=2)
        wrong = np.argwhere(apart > FARTHEST)
        assert not len(wrong), f"at {at}: {len(wrong)} dots, {wrong.min(0)} to {wrong.max(0)}"
        if k % EVERY == 0:
            assert_laid_out_as_from_nothing(window)
        changed += before is not None and not np.array_equal(before, pieced)
        before = pieced
    # The part has really been about.
    assert changed >= 5
    window.board.cancel_gesture()


@pytest.mark.parametrize("between", ["nothing", "zoomed", "panned", "dark"])
def test_the_next_drag_starts_from_what_is_ready_as_long_as_it_shows_alike(
    open_window: Callable[..., MainWindow], qtbot, shipped: Library, between: str
) -> None:
    window = open_window(demo_layout(shipped), size=(1280, 800))
    me, still = Hand(window, qtbot), window.board.still

    def drag() -> int:
        """Return how many groups the first move made ready."""
        start, before = me.at(me.middle_of("R1")), still.rebuilt
        me.press(start)
        me.move(start + QPoint(25, -10))
        assert isinstance(window.board.gesture, PartDrag)
        made = still.rebuilt - before
        apart = np.abs(dots(still).astype(int) - painted_at_once(still)).max()
        assert apart <= FARTHEST
        me.release(start + QPoint(25, -10))
        return made

    first = drag()
    if between == "zoomed":
        window.board.zoom_by(1.1)
    elif between == "panned":
        window.board.pan_by(7.0, 3.0)
    elif between == "dark":
        window.preferences.theme = "dark"
    again = drag()
    assert first > 100
    if between == "nothing":
        assert again < first / 2
    else:
        assert again > 100
