"""How the window behaves towards the user: wheel, notices, hints, names, what is asked when."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QAbstractSpinBox, QApplication, QComboBox
from ui_hand import counts_told, marked_findings

from app.sheet.compose import Names
from app.ui.export.dialog import ExportDialog
from app.ui.export.job import Progress
from app.ui.file_commands import _file_name
from app.ui.new_dialog import NewDialog
from app.ui.panels.part_texts import listed_name
from geometry.edits import add_free, flip_port_end, set_state
from geometry.finding import Verdict
from geometry.free_spot import free_drop
from geometry.layout import Layout
from geometry.scene import build_scene

WHEEL_FOCUS = Qt.FocusPolicy.WheelFocus & ~Qt.FocusPolicy.StrongFocus
"""What alone gives a field the keyboard because the wheel was turned over it."""


def turn_wheel(widget) -> bool:
    """Turn the wheel by a notch over a widget; whether the widget took it."""
    middle = QPointF(widget.rect().center())
    event = QWheelEvent(
        middle, widget.mapToGlobal(middle), QPoint(), QPoint(0, -120), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    event.setAccepted(True)
    QApplication.sendEvent(widget, event)
    return event.isAccepted()


def test_the_wheel_changes_a_field_only_with_the_keyboard_in_it(open_window) -> None:
    window = open_window()
    window.tabs.setCurrentWidget(window.enclosure)
    margin, judge = window.enclosure.margin, window.enclosure.judge
    before = window.session.document.layout
    window.board.setFocus()
    turn_wheel(margin)
    turn_wheel(judge)
    assert window.session.document.layout is before
    assert judge.currentText() == before.settings.judge
    margin.setFocus()
    turn_wheel(margin)
    assert window.session.document.layout.settings.margin_mm == before.settings.margin_mm - 1.0


def test_no_field_to_count_or_choose_in_takes_the_wheel_from_what_is_scrolled(
    open_window, tmp_path
) -> None:
    window = open_window()
    window.fits.open()
    dialog = ExportDialog(tmp_path / "sheet.png", Names(), window)
    window.board.setFocus()
    kinds = (QAbstractSpinBox, QComboBox)
    fields = [w for top in (window, dialog) for kind in kinds for w in top.findChildren(kind)]
    for field in (window.fits.dock.panel.setup.seconds, window.parts.kind, dialog.paper):
        assert field in fields
    for field in fields:
        assert not turn_wheel(field), field.accessibleName()
        assert not field.focusPolicy() & WHEEL_FOCUS, field.accessibleName()


def test_another_document_is_shown_whole(open_window) -> None:
    window = open_window()
    whole = window.board.px_per_mm
    window.board.zoom_by(6.0)
    window.files.open_demo()
    assert window.board.px_per_mm == pytest.approx(whole, rel=0.01)


def test_a_window_is_no_larger_than_the_screen(open_window) -> None:
    window = open_window(size=(2, 2))
    room = window.screen().availableGeometry()
    assert window.width() <= room.width()
    assert window.height() <= room.height()


def test_a_notice_lies_over_the_board_and_goes_with_the_next_edit(open_window) -> None:
    window = open_window()
    place = window.pane.geometry()
    window.session.refused.emit("That part is locked.")
    QApplication.processEvents()
    assert window.notice.isVisible()
    assert window.pane.geometry() == place
    window.session.apply("Rename", lambda layout: layout.but(name="Another name"))
    assert window.notice.text == ""


def test_an_arrow_out_of_the_plane_is_answered_in_the_status_line(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    me.focus_board()
    window.session.select("E1")
    before = window.session.document.layout
    me.key("Right")
    assert "slides along it only" in window.statusBar().currentMessage()
    assert window.notice.text == ""
    assert window.session.document.layout is before


def test_a_free_part_starts_off_all_others_and_follows_the_arrows(
    open_window, hand, shipped
) -> None:
    window = open_window()
    part = shipped.part("reservoir-tube-150")
    drop = free_drop(window.session.settled.scene, part, None)
    layout, made = drop.edit(window.session.document.layout)
    solids = build_scene(layout).solids_of[made]
    others = [s for s in window.session.settled.scene.solids if s.hard]
    for mine in (p.bounds for s in solids if s.hard for p in s.prisms):
        for other in (p.bounds for s in others for p in s.prisms):
            apart = [other[k] >= mine[k + 3] or mine[k] >= other[k + 3] for k in range(3)]
            assert any(apart)
    window.board.place_by_keys(part)
    assert "Arrow keys move it" in window.notice.text
    start = window.board.gesture.drop.at_mm
    me = hand(window)
    me.key("Right")
    me.key("Shift+Up")
    moved = window.board.gesture.drop.at_mm
    assert [b - a for a, b in zip(start, moved, strict=True)] == [1.0, 0.0, 10.0]
    me.key("Return")
    assert window.session.document.layout.free[-1].at_mm == moved


def test_figures_that_are_older_than_the_picture_say_so(open_window, shipped) -> None:
    window = open_window()
    window.session._live._budget_ms = -1.0
    window.session.try_layout(window.session.document.layout.but(name="Under way"))
    assert window.session.stale
    assert window.findings._counts.text() == "checking…"
    # The panel marks its last figures at once, and those that it comes to at its pace as well.
    assert "total" in window.stack._figures.text()
    assert "checking…" in window.stack._figures.text()
    window._pace.now()
    assert "checking…" in window.stack._figures.text()
    assert "1? blocked" in counts_told(window)
    window.session.end_trial()


def test_a_report_older_than_the_picture_may_tell_of_a_stack_that_is_gone(
    open_window, shipped
) -> None:
    window = open_window()
    window.session.select("E1")
    window.session._live._budget_ms = -1.0
    layout = window.session.document.layout
    stack = window.session.settled.scene.placed["E1"].stack
    stacks = tuple(one for one in layout.stacks if one.id != stack.id)
    window.session.try_layout(layout.but(stacks=stacks))
    assert window.session.stale
    assert window.board.picture.items.group("solid:side:E1") is None
    window.session.end_trial()
    assert window.board.picture.items.group("solid:side:E1") is not None


def test_parts_clear_are_counted_as_parts(open_window, qtbot) -> None:
    window = open_window()
    # Until worst cases are in, every count may still change.
    assert counts_told(window).count("?") == 3
    qtbot.waitUntil(lambda: not window.session.looking, timeout=20_000)
    clear = window.session.checked.report.clear
    assert counts_told(window).endswith(f"{clear} parts clear")


def test_the_mark_stays_on_its_finding_when_the_numbers_change(open_window) -> None:
    window = open_window()
    verdicts = [finding.verdict for finding in window.session.balloons]
    assert verdicts == [Verdict.BLOCKED, Verdict.TIGHT]
    window.views.go_to_finding(1)
    # Turned end for end, the exchanger leaves the peg: the tight one is the first now.
    window.session.apply("Flip", lambda layout: flip_port_end(layout, "E1"))
    assert [finding.verdict for finding in window.session.balloons] == [Verdict.TIGHT]
    assert marked_findings(window) == [0]
    window.session.undo()
    assert marked_findings(window) == [1]


def test_a_pump_keeps_its_whole_name(shipped) -> None:
    names = [listed_name(p) for p in shipped.parts.values() if p.kind == "pump_reservoir"]
    assert "Standing, 90 x 90 x 120" in names
    assert not any(name.startswith("And") for name in names)


def test_a_port_says_whether_it_is_plugged_or_what_is_assumed(open_window) -> None:
    window = open_window()
    window.session.select("R1")
    texts = [
        box.itemText(k) for box in window.part.ports.boxes.values() for k in range(box.count())
    ]
    assert "open, room for 24 x 20 assumed" in texts
    assert "open, Fitting 24 x 20" in texts
    assert "plugged, low, 4 x 18" in texts
    assert len(set(texts[: window.part.ports.boxes["1"].count()])) == len(
        texts[: window.part.ports.boxes["1"].count()]
    )


def test_holders_go_by_name_and_what_is_taken_out_holds_nothing(open_window, shipped) -> None:
    layout = Layout(name="One fan", enclosure=shipped.enclosure("bench-box"))
    layout, fan = add_free(layout, shipped.part("fan-80-25"), (300.0, 60.0, 250.0))
    window = open_window(layout)
    window.session.select(fan)
    box = window.part.held_on

    def held_on() -> list[str]:
        return [box.itemText(k) for k in range(box.count())]

    assert {"roof", "rear wall", "drive cage"} <= set(held_on())
    cage = next(o for o in layout.enclosure.obstacles if o.name == "drive cage")
    out = next(state for state in cage.states if state.out)
    window.session.apply("Out", lambda la: set_state(la, cage.id, out.id))
    assert "drive cage" not in held_on()


def test_what_is_placed_moves_into_another_enclosure(open_window, shipped) -> None:
    window = open_window()
    parts = set(window.session.settled.scene.placed)
    window.files.change_enclosure()
    dialog = window.findChild(NewDialog)
    names = [dialog.list.item(k).text() for k in range(dialog.list.count())]
    assert dialog.enclosure.id == window.session.document.layout.enclosure.id
    dialog.list.setCurrentRow(names.index(shipped.enclosure("small-cube").name))
    dialog.accept()
    assert window.session.document.layout.enclosure.id == "small-cube"
    assert set(window.session.settled.scene.placed) == parts
    window.session.undo()
    assert window.session.document.layout.enclosure.id == "bench-box"


def test_a_choice_of_enclosure_is_not_asked_for_before_the_changes_are_settled(
    open_window,
) -> None:
    window = open_window()
    window.session.apply("Rename", lambda layout: layout.but(name="Changed"))
    window.files.ask_about_changes = lambda: "stay"
    window.files.new()
    assert window.findChild(NewDialog) is None
    assert window.session.document.layout.name == "Changed"
    window.files.ask_about_changes = lambda: "discard"


def test_names_for_the_title_block_are_typed_once(open_window, tmp_path) -> None:
    window = open_window()
    dialog = ExportDialog(tmp_path / "sheet.png", Names(owner="Field acoustics"), window)
    dialog.names["creator"].setText("K. Example")
    chosen = []
    dialog.chosen.connect(lambda *all_of_it: chosen.append(all_of_it[4]))
    dialog.accept()
    assert chosen == [Names(owner="Field acoustics", creator="K. Example")]


@pytest.mark.parametrize(
    ("name", "file"),
    [
        ("Field recorder, bench box", "field-recorder-bench-box"),
        ("a / b -- c", "a-b-c"),
        ("!!", "layout"),
    ],
)
def test_file_names_have_single_hyphens(name: str, file: str) -> None:
    assert _file_name(name) == file


def test_a_notice_covers_no_heading_and_stands_over_an_export(open_window) -> None:
    window = open_window()
    notice = window.notice
    notice.hint("Choose a part in the list first (Ctrl+F).")
    assert notice.geometry().bottom() == window.middle.rect().bottom()
    window.strip.show_progress(Progress(1, 4, "Checking"))
    notice.hint("A sheet is being exported already; wait for it, or stop it.")
    QApplication.processEvents()
    assert not notice.geometry().intersects(window.strip.geometry())
    window.strip.hide()
    QApplication.processEvents()
    assert notice.geometry().bottom() == window.middle.rect().bottom(), "nothing is below it now"


def test_of_many_sheets_the_first_and_the_last_are_named(open_window, tmp_path) -> None:
    window = open_window()
    names = ("a.png", "a-2.png", "a-3.png")
    window.files._on_saved(tuple(tmp_path / name for name in names))
    assert window.notice.text == f"Clearance sheet saved in {tmp_path}: a.png to a-3.png"
    window.files._on_saved((tmp_path / "a.png",))
    assert window.notice.text == f"Clearance sheet saved in {tmp_path}: a.png"


def test_a_notice_of_a_line_covers_nothing_of_the_board(open_window) -> None:
    window = open_window()
    for tell in (
        lambda: window.notice.brief("Row 1 of what fits: done; Ctrl+Z undoes it."),
        lambda: window.notice.tell("Saved: clearance.png", "Open folder", list),
    ):
        tell()
        QApplication.processEvents()
        assert window.notice.isVisible()
        assert not window.notice.geometry().intersects(window.pane.geometry())


def test_a_low_window_keeps_the_strip_of_notices_for_the_board(open_window) -> None:
    window = open_window()
    window.setMinimumSize(300, 200)
    assert window.middle.foot.isVisible()
    window.resize(800, 360)
    QApplication.processEvents()
    assert window.middle.foot.isHidden()
    assert window.pane.geometry() == window.middle.rect()


def test_plain_notices_go_by_themselves_and_errors_stay(open_window) -> None:
    window = open_window()
    notice = window.notice
    for show in (
        lambda: notice.brief("Saved."),
        lambda: notice.hint("Choose a part in the list first (Ctrl+F)."),
        lambda: notice.tell("Saved.", "Open folder", list),
    ):
        show()
        assert notice._timer.isActive()
        notice._on_time()
        assert notice.text == ""
    for stay in (
        lambda: notice.error("It is locked."),
        lambda: notice.ask("It was changed.", "Overwrite it", list),
        lambda: notice.hint("Arrow keys move it.", stays=True),
    ):
        notice.brief("Saved.")
        stay()
        assert not notice._timer.isActive()
        assert notice.text != ""


def test_a_notice_that_has_the_keyboard_does_not_go(open_window) -> None:
    window = open_window()
    window.notice.tell("Saved.", "Open folder", list)
    window.notice._button.setFocus()
    QApplication.processEvents()
    window.notice._on_time()
    assert window.notice.text == "Saved."
    assert window.notice._timer.isActive()


def test_the_title_names_the_whole_folder(open_window, tmp_path, monkeypatch) -> None:
    window = open_window()
    window.session.document.save_as(tmp_path / "w.json")
    monkeypatch.chdir(tmp_path)
    assert window.open_path(Path("w.json"))
    assert window.windowTitle() == f"w[*] ({tmp_path})"


def test_the_status_line_leaves_out_words_and_cuts_none(open_window) -> None:
    settings = open_window().statusBar().settings
    whole = settings.text()
    words = whole.split(settings.GAP)
    assert settings.shown_text == whole
    for width in range(settings.width(), 0, -7):
        settings.resize(width, settings.height())
        shown = [w for w in settings.shown_text.split(settings.GAP) if w]
        assert shown == words[: len(shown)]
    assert settings.shown_text == ""
