"""The check behind a drag: within a frame, or behind the user and marked as older."""

from __future__ import annotations

import time

import pytest
from PySide6.QtCore import QPoint
from ui_hand import counts_told

from app.demo import demo_layout
from app.document.document import Document
from app.ui.live_check import LiveCheck
from app.ui.session import Session, ZoneSide
from catalog.model import FrozenMap
from geometry.checks.runner import Checked, check_layout, run_checks
from geometry.drop import Drop, DropPlaces
from geometry.edits import EditError, add_free, move_free
from geometry.finding import Report
from geometry.layout import Layout
from geometry.scene import Scene


@pytest.fixture
def two_fans(shipped) -> Layout:
    layout = Layout(name="Two fans", enclosure=shipped.enclosure("bench-box"))
    fan = shipped.part("fan-80-25")
    layout, _ = add_free(layout, fan, (300.0, 60.0, 250.0))
    return add_free(layout, fan, (300.0, 150.0, 250.0))[0]


def moved(layout: Layout, x_mm: float) -> Layout:
    return move_free(layout, "F1", (x_mm, 60.0, 250.0))


def quick(layout: Layout, document: Document) -> Report:
    """What a check says while something is dragged."""
    return check_layout(layout, document.checked, remedies=False, worst_cases=False).report


def test_a_quick_check_is_answered_at_once(qtbot, two_fans) -> None:
    document = Document.new(two_fans)
    live = LiveCheck(budget_ms=10_000.0)
    layout = moved(two_fans, 280.0)
    checked = live.ask(layout, document.checked)
    assert live.up_to_date
    assert checked.scene.layout is layout
    assert checked.report == quick(layout, document)


def test_a_slow_check_is_answered_later_and_only_the_newest_counts(qtbot, two_fans) -> None:
    document = Document.new(two_fans)
    live = LiveCheck(budget_ms=-1.0)
    answers = []
    live.answered.connect(answers.append)
    layouts = [moved(two_fans, x) for x in (250.0, 260.0, 270.0, 280.0)]
    for layout in layouts:
        shown = live.ask(layout, document.checked)
        assert shown.scene.layout is layout
        assert shown.report is document.checked.report
        assert not live.up_to_date
    qtbot.waitUntil(lambda: live.up_to_date, timeout=10_000)
    # What was shown meanwhile is what the answer is of: the board needs to draw no scene twice.
    assert answers[-1].scene is shown.scene
    assert answers[-1].scene.layout is layouts[-1]
    assert answers[-1].report == quick(layouts[-1], document)
    # The first was under way and the last was waiting; those between were passed over.
    assert len(answers) <= 2


def test_what_is_forgotten_is_not_told(qtbot, two_fans) -> None:
    document = Document.new(two_fans)
    live = LiveCheck(budget_ms=-1.0)
    answers = []
    live.answered.connect(answers.append)
    live.ask(moved(two_fans, 250.0), document.checked)
    live.forget()
    assert live.up_to_date
    qtbot.wait(300)
    assert answers == []


@pytest.fixture
def session(qtbot, two_fans):
    opened = Session(Document.new(two_fans))
    yield opened
    opened.close()


def test_the_session_marks_a_report_that_is_older_than_the_scene(qtbot, session, two_fans) -> None:
    session._live = LiveCheck(session, budget_ms=-1.0)
    session._live.answered.connect(session._on_answer)
    layout = moved(two_fans, 250.0)
    session.try_layout(layout)
    assert session.stale
    assert session.layout is layout
    qtbot.waitUntil(lambda: not session.stale, timeout=10_000)
    assert session.trying
    session.end_trial()
    assert session.layout is two_fans
    assert not session.document.can_undo


def test_a_refused_edit_changes_nothing_and_says_why(session, two_fans) -> None:
    said = []
    session.refused.connect(said.append)

    def refuse(_: Layout) -> Layout:
        raise EditError("that cannot be done; do this instead")

    assert not session.apply("Try", refuse)
    assert said == ["That cannot be done; do this instead."]
    assert session.document.layout is two_fans


def test_the_selection_goes_when_its_part_goes(session) -> None:
    session.select("F1")
    session.apply("Clear", lambda layout: layout.but(free=()))
    assert session.selected is None


def test_of_a_zone_that_a_part_on_its_way_comes_to_the_layout_tells(qtbot, shipped) -> None:
    """Panels follow a drag at their own pace; told as another selection they held its moves up."""
    session = Session(Document.new(demo_layout(shipped)))
    session.select("F1")
    selected, shown = [], []
    session.selection_changed.connect(lambda: selected.append(session.at_hand))
    session.shown_changed.connect(lambda: shown.append(session.at_hand))
    home, scene = session.at_hand, session.checked.scene
    assert home is not None
    part = scene.placed["F1"].part
    places = DropPlaces(scene, part, "F1").every()
    target = next(t for t in places if t.fits and t.zone != home.zone)
    layout, _ = Drop(part, "F1", target=target).edit(session.layout)
    session.try_layout(layout, "F1")
    there = ZoneSide(target.zone, target.side)
    assert (selected, shown) == ([], [there])
    session.end_trial()
    session.select("F1")
    assert selected == [home]
    session.close()


def test_remedies_come_later_and_belong_to_the_newest_layout(qtbot, session, two_fans) -> None:
    quick = session.checked.report
    assert session.looking
    assert all(finding.remedies == () for finding in quick.findings)
    layout = moved(two_fans, 300.0).but(name="Newer")
    session.apply("Rename", lambda _: layout)
    qtbot.waitUntil(lambda: not session.looking, timeout=20_000)
    assert session.layout is layout
    assert session.checked.report == check_layout(layout).report


def test_a_drag_stops_the_search_for_remedies_and_its_end_begins_it_again(
    qtbot, session, two_fans
) -> None:
    session.try_layout(moved(two_fans, 290.0))
    assert not session._search.running
    qtbot.wait(50)
    assert session.looking
    session.end_trial()
    qtbot.waitUntil(lambda: not session.looking, timeout=20_000)


class SlowCheck:
    """Stands in for the check: slow, without holding up other threads; then the real answer."""

    def __init__(self, seconds: float) -> None:
        self.seconds, self.runs = seconds, 0

    def __call__(self, scene: Scene, before: Checked, **wishes: bool) -> Report:
        self.runs += 1
        end = time.thread_time() + self.seconds
        while time.thread_time() < end:
            sum(range(1_000))
        return run_checks(scene, before, **wishes)


def test_a_slow_check_runs_behind_a_drag_that_goes_on_with_its_last_answer_marked(
    qtbot, open_window, hand, two_fans, monkeypatch
) -> None:
    window = open_window(two_fans)
    me = hand(window)
    slow = SlowCheck(0.25)
    monkeypatch.setattr("app.ui.live_check.run_checks", slow)
    start = me.at(me.middle_of("F1"))
    me.press(start)
    places, marked = [], 0
    for k in range(1, 25):
        me.move(start + QPoint(-6 * k, 0))
        places.append({one.id: one for one in window.session.layout.free}["F1"].at_mm[0])
        if window.session.stale:
            marked += 1
            assert "checking…" in window.findings._counts.text()
            assert "?" in counts_told(window)
    # The part follows at every move, though a check takes as long as fifteen frames.
    assert sorted(places, reverse=True) == places
    assert len(set(places)) >= 20
    # Only the first was waited for; then the newest waits, and those between are passed over.
    assert marked >= 20
    assert slow.runs <= 12
    qtbot.waitUntil(lambda: not window.session.stale, timeout=20_000)
    shown = window.session.checked
    assert (
        shown.report.findings
        == check_layout(shown.scene.layout, remedies=False, worst_cases=False).report.findings
    )
    assert "?" not in counts_told(window)
    window.board.cancel_gesture()
    assert window.session.document.layout is two_fans


@pytest.fixture
def faulty(monkeypatch):
    """The first check that is done behind the user ends in a fault of the program."""
    done = []

    def check(scene: Scene, *rest: object, **how: object) -> Report:
        done.append(scene)
        if len(done) == 1:
            raise PlantedError
        return run_checks(scene, *rest, **how)

    monkeypatch.setattr("app.ui.live_check.run_checks", check)
    return done


class PlantedError(Exception):
    """A fault of the program."""


def test_after_a_fault_the_layout_that_waits_is_checked(qtbot, two_fans, faulty) -> None:
    document = Document.new(two_fans)
    live = LiveCheck(budget_ms=-1.0)
    answers = []
    live.answered.connect(answers.append)
    with qtbot.captureExceptions() as raised:
        live.ask(moved(two_fans, 250.0), document.checked)
        newest = live.ask(moved(two_fans, 260.0), document.checked)
        qtbot.waitUntil(lambda: live.up_to_date, timeout=10_000)
    assert [kind for kind, _, _ in raised] == [PlantedError]
    assert [answer.scene for answer in answers] == [newest.scene]


def test_an_answer_about_the_document_before_is_not_told_of_another(
    qtbot, session, two_fans
) -> None:
    session._live = LiveCheck(session, budget_ms=-1.0)
    session._live.answered.connect(session._on_answer)
    session.try_layout(moved(two_fans, 250.0))
    empty = two_fans.but(parts=FrozenMap(), free=())
    session.set_document(Document.new(empty))
    shown = []
    session.shown_changed.connect(lambda: shown.append(session.checked.report.blocked))
    session.try_layout(empty.but(name="Empty as well"))
    qtbot.waitUntil(lambda: not session.stale, timeout=10_000)
    assert set(shown) == {0}


def test_a_search_for_remedies_that_breaks_is_over(qtbot, monkeypatch, two_fans) -> None:
    def fail(*_: object, **__: object) -> Report:
        raise PlantedError

    monkeypatch.setattr("app.ui.mending.remedy_search.run_checks", fail)
    with qtbot.captureExceptions() as raised:
        session = Session(Document.new(two_fans))
        assert not session.as_drawn
        qtbot.waitUntil(lambda: bool(raised), timeout=10_000)
    assert [kind for kind, _, _ in raised] == [PlantedError]
    assert not session.looking
    # Worst cases were not looked at, and what is shown says so.
    assert session.as_drawn == (two_fans.settings.judge == "worst case")
    monkeypatch.undo()
    session.apply("Move", lambda layout: moved(layout, 280.0))
    assert not session.as_drawn
    qtbot.waitUntil(lambda: not session.looking, timeout=20_000)
    assert session.settled.report == check_layout(session.layout).report
    session.close()


@pytest.fixture
def _faulty_is_a_fault(monkeypatch) -> None:
    """A layout of that name ends its check in a fault of the program."""

    def check(layout: Layout, *rest: object, **how: object) -> Checked:
        if layout.name == "Faulty":
            raise PlantedError
        return check_layout(layout, *rest, **how)

    monkeypatch.setattr("app.ui.session.check_layout", check)


@pytest.mark.usefixtures("_faulty_is_a_fault")
def test_an_edit_that_cannot_be_checked_is_not_made(session, two_fans) -> None:
    with pytest.raises(PlantedError):
        session.apply("Break", lambda layout: layout.but(name="Faulty"))
    assert session.document.layout is two_fans
    assert session.settled.scene.layout is two_fans
    assert not session.document.can_undo
    assert session.apply("Rename", lambda layout: layout.but(name="Sound"))
    assert session.layout.name == "Sound"


@pytest.mark.usefixtures("_faulty_is_a_fault")
def test_a_document_that_cannot_be_checked_does_not_take_the_place_of_another(
    session, two_fans
) -> None:
    document = session.document
    with pytest.raises(PlantedError):
        session.set_document(Document.new(two_fans.but(name="Faulty")))
    assert session.document is document
    assert session.settled.scene.layout is two_fans
    session.apply("Rename", lambda layout: layout.but(name="Sound"))
    assert session.layout.name == "Sound"
