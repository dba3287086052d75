"""The board follows a part on its way within the frame; where it cannot, it says so till it has."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from functools import partial

import numpy as np
import pytest
from PySide6.QtCore import QPoint
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication
from ui_hand import Hand

from app.drawing.board import board_drawing
from app.drawing.board_making import Shows
from app.ui.board.session_overlay import BEHIND
from app.ui.live_check import LiveCheck, _Job
from app.ui.window import MainWindow
from geometry.drop import drop_targets, zones_for


@pytest.fixture
def dragging(open_window, qtbot) -> tuple[MainWindow, Hand, QPoint]:
    window = open_window(size=(1280, 800))
    qtbot.waitUntil(lambda: window.settled_in, timeout=20_000)
    me = Hand(window, qtbot)
    start = me.at(me.middle_of("R1"))
    me.press(start)
    me.move(start + QPoint(30, 10))
    qtbot.waitUntil(lambda: not window.board.picture.behind)
    return window, me, start


def seen(window: MainWindow) -> QImage:
    QApplication.processEvents()
    return window.board.viewport().grab().toImage()


def farthest_apart(one: QImage, other: QImage) -> int:
    """Return by how much of 255 two pictures differ at most, in any pixel and colour."""
    a, b = (np.frombuffer(image.constBits(), np.uint8).astype(int) for image in (one, other))
    return int(np.abs(a - b).max())


@pytest.fixture
def no_time(monkeypatch) -> None:
    """No frame has time for more than the check and the outline, as with a very large layout."""
    monkeypatch.setattr("app.ui.board.pointer_work.FRAME_MS", 0.0)


@pytest.fixture
def all_time(monkeypatch) -> None:
    """Every frame has time for all of the board, however busy the machine is."""
    monkeypatch.setattr("app.ui.board.pointer_work.FRAME_MS", 60_000.0)


def test_a_move_shows_all_annotations_of_its_own_layout(dragging, all_time) -> None:
    window, me, start = dragging
    picture = window.board.picture
    for k in range(12):
        laid_out = picture.laid_out
        me.send_move(start + QPoint(40 + 9 * k, 10 - 7 * k))
        assert not picture.behind
        assert picture.laid_out == laid_out + 1
        assert BEHIND not in me.texts("note")
        drawing = board_drawing(
            window.session.checked,
            picture.frame,
            window.board.mm_per_px,
            Shows(frozenset(["R1"])),
            sheet=picture.sheet,
        )
        shown = {group.key: group for group in drawing.groups}
        for key, group in shown.items():
            assert picture.group(key) == group
        # Over them lie the zones that could take the part, its outline and its note; no more.
        rest = {key.partition(":")[0] for key in picture.shown_keys() if key not in shown}
        assert rest <= {"lit-zone", "ghost", "note"}


def test_without_time_a_move_shows_the_outline_and_its_note_and_says_what_is_behind(
    dragging, no_time
) -> None:
    window, me, start = dragging
    picture = window.board.picture
    before = picture.laid_out
    ghost = picture.group("ghost:side")
    me.send_move(start + QPoint(60, -20))
    assert picture.group("ghost:side") != ghost
    assert picture.laid_out == before
    assert picture.behind
    assert me.texts("note")[-1] == BEHIND


@pytest.fixture
def let_go(monkeypatch) -> threading.Event:
    """Every check is done behind the user, and none answers until this is set."""
    let_go, answer = threading.Event(), _Job.run
    monkeypatch.setattr(_Job, "run", lambda job: (let_go.wait(20.0), answer(job)))
    monkeypatch.setattr("app.ui.session.LiveCheck", partial(LiveCheck, budget_ms=-1.0))
    return let_go


@pytest.mark.parametrize("owner", ["R1", "F1"])
def test_while_the_check_has_not_answered_the_note_says_so_though_the_board_has_followed(
    open_window, qtbot, all_time, let_go, owner: str
) -> None:
    window = open_window(size=(1280, 800))
    qtbot.waitUntil(lambda: window.settled_in, timeout=20_000)
    me, picture, session = Hand(window, qtbot), window.board.picture, window.session
    start = me.at(me.middle_of(owner))
    me.press(start)
    for k in range(3):
        me.send_move(start + QPoint(30 + 30 * k, 10 - 12 * k))
        assert session.stale
        assert not picture.behind
        assert me.texts("note")[-1] == BEHIND
    let_go.set()
    qtbot.waitUntil(lambda: not session.stale, timeout=20_000)
    qtbot.waitUntil(lambda: not picture.behind, timeout=20_000)
    assert BEHIND not in me.texts("note")


def test_an_offer_that_is_previewed_before_the_check_has_answered_says_so(
    open_window, qtbot, let_go
) -> None:
    window = open_window(size=(1280, 800))
    me, session = Hand(window, qtbot), window.session
    session.preview(session.layout.but(stacks=(), free=()))
    assert session.stale
    assert me.texts("note") == [BEHIND]
    let_go.set()
    qtbot.waitUntil(lambda: not session.stale, timeout=20_000)
    assert me.texts("note") == []


def test_the_board_follows_and_no_longer_says_that_it_is_behind(dragging, no_time, qtbot) -> None:
    window, me, start = dragging
    picture = window.board.picture
    me.send_move(start + QPoint(60, -20))
    assert picture.behind
    qtbot.waitUntil(lambda: not picture.behind)
    assert BEHIND not in me.texts("note")
    assert picture.drawing == board_drawing(
        window.session.checked,
        picture.frame,
        window.board.mm_per_px,
        Shows(frozenset(["R1"])),
    )


def test_what_was_painted_in_pieces_looks_as_if_painted_whole(dragging, qtbot) -> None:
    window, me, start = dragging
    for k in range(12):
        me.send_move(start + QPoint(30 + 7 * k, 10 - 5 * k))
        qtbot.waitUntil(lambda: not window.board.picture.behind)
    pieced = seen(window)
    assert pieced.devicePixelRatio() == float(os.environ.get("QT_SCALE_FACTOR", "1"))
    window.board.still.drop()
    # A clip that cuts a smoothed edge may round one of 255 steps otherwise.
    assert farthest_apart(pieced, seen(window)) <= 2


@pytest.mark.parametrize("scale", ["1.25", "1.5"])
def test_painted_in_pieces_it_looks_whole_where_pixels_end_within_dots_of_the_screen(
    scale: str,
) -> None:
    """In a process of its own: the scale of a screen is read once."""
    name = test_what_was_painted_in_pieces_looks_as_if_painted_whole.__name__
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-p",
        "no:cacheprovider",
        f"{__file__}::{name}",
    ]
    environment = {**os.environ, "QT_SCALE_FACTOR": scale}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    assert "1 passed" in done.stdout, done.stdout + done.stderr


def test_moves_that_come_faster_than_the_board_follows_do_not_starve_it(
    dragging, no_time, qtbot
) -> None:
    window, me, start = dragging
    picture = window.board.picture
    laid_out = picture.laid_out
    for k in range(60):
        me.move(start + QPoint(30 + k, 10))
        qtbot.wait(5)
    assert picture.laid_out >= laid_out + 2


@pytest.mark.parametrize("frame_ms", [0.0, 60_000.0])
def test_after_letting_go_the_board_is_as_laid_out_from_nothing(
    dragging, monkeypatch, frame_ms: float
) -> None:
    monkeypatch.setattr("app.ui.board.pointer_work.FRAME_MS", frame_ms)
    window, me, start = dragging
    picture = window.board.picture
    me.send_move(start + QPoint(60, -20))
    me.release(start + QPoint(60, -20))
    assert not picture.behind
    assert not picture.follow.behind
    assert not window.session.stale
    assert not window.board.still.on
    assert me.texts("note") == []
    assert picture.drawing == board_drawing(
        window.session.checked,
        picture.frame,
        window.board.mm_per_px,
        Shows(frozenset([window.session.selected])),
    )
    assert "checking" not in window.findings._counts.text()
    assert "hecking" not in window.stack._figures.text()


def test_a_zoom_under_way_shows_the_board_at_its_new_scale(dragging, qtbot) -> None:
    window = dragging[0]
    window.board.zoom_by(1.25)
    picture = window.board.picture
    assert not picture.behind
    shown = seen(window)
    window.board.still.drop()
    assert shown == seen(window)


def test_panels_keep_their_last_answer_marked_while_the_pointer_moves_and_follow_when_it_rests(
    dragging, qtbot, monkeypatch
) -> None:
    window, me, start = dragging
    shown = []
    show_report = window.findings.show_report
    monkeypatch.setattr(
        window.findings,
        "show_report",
        lambda *given, **told: (shown.append(told["stale"]), show_report(*given, **told)),
    )
    for k in range(10):
        me.send_move(start + QPoint(40 + 3 * k, -k))
        # Between a move and its paint no panel is refreshed; they only say that they are older.
        assert shown == []
        assert window.findings._counts.text() == "checking…"
        assert "total" in window.stack._figures.text()
        assert "checking…" in window.stack._figures.text()
    qtbot.waitUntil(lambda: "checking" not in window.stack._figures.text(), timeout=5_000)
    qtbot.waitUntil(lambda: "checking" not in window.findings._counts.text(), timeout=5_000)
    assert shown[-1] is False
    report = window.session.checked.report
    assert f"{report.blocked} blocked" in window.findings._counts.text()
    assert len(window.findings.cards) == len(window.session.balloons)


def test_a_panel_that_came_to_its_turn_at_the_last_move_is_marked_only_until_the_pointer_rests(
    dragging, qtbot, monkeypatch
) -> None:
    window, me, start = dragging
    qtbot.waitUntil(lambda: "checking" not in window.findings._counts.text(), timeout=5_000)
    monkeypatch.setattr("app.ui.board.panel_pace.PACE_S", 0.0)
    # Each move brings a panel to its turn; after this many, each has been the last one.
    for count in (2, 3):
        for k in range(count):
            me.move(start + QPoint(50 + 5 * k, count))
        qtbot.waitUntil(lambda: "checking" not in window.findings._counts.text(), timeout=5_000)
        qtbot.waitUntil(lambda: "checking" not in window.stack._figures.text(), timeout=5_000)


def test_a_pointer_that_never_rests_has_panels_follow_at_their_pace(
    dragging, qtbot, monkeypatch
) -> None:
    window, me, start = dragging
    monkeypatch.setattr("app.ui.board.panel_pace.PACE_S", 0.1)
    # However slow the machine is: the pointer does not rest between two moves.
    window._pace._rest.setInterval(20_000)
    shown = []
    show_report = window.findings.show_report
    monkeypatch.setattr(
        window.findings,
        "show_report",
        lambda *given, **told: (shown.append(told["stale"]), show_report(*given, **told)),
    )

    def moved_on() -> bool:
        me.move(start + QPoint(40 + len(shown) + next(steps), 5))
        return len(shown) >= 2

    steps = iter(range(10_000))
    qtbot.waitUntil(moved_on, timeout=20_000)
    # Each of them is marked: the next move makes it older.
    assert all(shown)


def test_moves_that_lead_to_the_same_place_are_checked_once(open_window, hand) -> None:
    window = open_window(size=(1280, 800))
    me = hand(window)
    start = me.at(me.middle_of("F1"))
    me.press(start)
    me.move(start + QPoint(0, -20))
    me.move(start + QPoint(0, -8))
    gesture, checked = window.board.gesture, window.session.checked
    drop = gesture.drop
    for by in (QPoint(0, -9), QPoint(1, -9), QPoint(1, -8)):
        me.move(start + by)
        assert gesture.drop == drop
    assert window.session.checked is checked
    me.move(start + QPoint(0, -200))
    assert gesture.drop != drop
    assert window.session.checked is not checked
    me.move(start + QPoint(0, -8))
    assert gesture.drop == drop
    assert window.session.checked.report.findings == checked.report.findings
    window.board.cancel_gesture()


def test_a_finding_that_is_gone_before_the_board_has_followed_is_lit_no_longer(
    dragging, no_time, qtbot
) -> None:
    window, me, start = dragging
    picture, follow = window.board.picture, window.board.picture.follow
    picture.set_lit(len(window.session.balloons) - 1)
    picture.redraw()
    # The board follows a step, and then finds a layout in which nothing is wrong.
    me.send_move(start + QPoint(60, -20))
    steps = picture._steps()
    next(steps)
    window.session.try_layout(window.session.layout.but(stacks=(), free=()))
    qtbot.waitUntil(lambda: not window.session.stale)
    assert len(window.session.balloons) <= picture._lit
    for _ in steps:
        pass
    assert picture.behind
    qtbot.waitUntil(lambda: not (picture.behind or follow.behind))


def test_what_is_asked_for_within_a_longer_hold_is_drawn_at_its_end(dragging) -> None:
    window = dragging[0]
    dragging[1].release(dragging[2])
    picture = window.board.picture
    laid_out = picture.laid_out
    picture.hold()
    picture.set_end_view(True)
    with picture.at_once():
        pass
    assert picture.laid_out == laid_out
    picture.release()
    assert picture.laid_out > laid_out


def test_zones_that_there_was_no_time_to_look_at_are_lit_when_they_have_been(
    open_window, qtbot, monkeypatch
) -> None:
    monkeypatch.setattr("app.ui.board.gesture_board.LOOK_MS", -1.0)
    window = open_window(size=(1280, 800))
    qtbot.waitUntil(lambda: window.settled_in, timeout=20_000)
    me = Hand(window, qtbot)
    start = me.at(me.middle_of("F1"))
    me.press(start)
    me.send_move(start + QPoint(30, 10))
    drag = window.board.gesture
    scene = window.session.settled.scene
    every = zones_for(drop_targets(scene, scene.placed["F1"].part, "F1"))
    assert drag is not None
    assert set(drag.zones) < set(every)

    def lit() -> set[str]:
        keys = (key.split(":") for key in window.board.picture.shown_keys())
        return {key[2] for key in keys if key[0] == "lit-zone"}

    qtbot.waitUntil(lambda: lit() == set(every), timeout=20_000)
    assert drag.zones == every
