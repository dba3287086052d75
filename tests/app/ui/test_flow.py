"""The window driven as a user does: place, see, mend, undo, save, reopen, export."""

from __future__ import annotations

import datetime
from pathlib import Path

from PIL import Image
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from ui_hand import counts_told

from app.ui.export.dialog import ExportDialog
from app.ui.export.job import ExportOrder
from geometry.layout import Layout

ALT = Qt.KeyboardModifier.AltModifier


def empty_bench(shipped) -> Layout:
    return Layout(name="Empty bench box", enclosure=shipped.enclosure("bench-box"))


def test_a_part_dragged_from_the_panel_into_a_zone_shows_its_leftover_before_it_is_let_go(
    open_window, hand, shipped
) -> None:
    window = open_window(empty_bench(shipped))
    me = hand(window)
    zone = window.session.checked.scene.frames["front-zone"]
    me.take_from_panel("exchanger-2x120-30")
    place = me.at(zone.pose.point((zone.zone.length_mm / 2, 60.0, 20.0)))
    me.carry_to(place)

    assert window.session.trying
    assert window.session.document.layout.stacks == ()
    lit = [k for k in window.board.picture.shown_keys() if k.startswith("lit-zone:side")]
    assert "lit-zone:side:front-zone" in lit
    note = me.texts("note")
    (depth,) = window.session.checked.report.depths
    # Its port end strikes the peg there, which is told first.
    assert note[0] == "blocked"
    assert any(line.startswith(f"{depth.least.mm:.1f} mm left") for line in note)

    me.drop(place)
    assert not window.session.trying
    (stack,) = window.session.document.layout.stacks
    assert stack.zone == "front-zone"
    assert window.session.document.undo_name == "Add Exchanger 2 x 120, 30 mm"
    assert window.session.selected == stack.inner[0].items[0].id


def test_a_part_carried_off_the_board_leaves_no_trace(open_window, hand, shipped) -> None:
    window = open_window(empty_bench(shipped))
    me = hand(window)
    before = window.session.document.layout
    me.take_from_panel("fan-120-25")
    me.carry_to(me.at((200.0, 60.0, 10.0)))
    assert window.session.trying
    me.carry_off()
    assert not window.session.trying
    assert window.session.document.layout is before
    assert not window.session.document.can_undo
    assert me.texts("note") == []


def test_flipping_the_port_end_by_key_makes_the_finding_go_and_undo_brings_it_back(
    open_window, hand, qtbot
) -> None:
    window = open_window()
    me = hand(window)
    stopped = "is stopped by cable peg"
    assert any(stopped in title for title in me.titles())
    me.click(me.at(me.middle_of("E1")))
    assert window.session.selected == "E1"
    me.key("F")
    assert not any(stopped in title for title in me.titles())
    assert window.actions_by_name["undo"].text() == (
        "&Undo Flip port end of Exchanger 2 x 120, 30 mm (E1)"
    )
    qtbot.waitUntil(lambda: "0 blocked" in counts_told(window), timeout=20_000)
    me.key("Ctrl+Z")
    assert any(stopped in title for title in me.titles())
    assert window.actions_by_name["redo"].text().startswith("&Redo Flip port end of ")


def test_a_layout_saved_and_reopened_is_the_same(open_window, hand, tmp_path: Path) -> None:
    window = open_window()
    me = hand(window)
    me.click(me.at(me.middle_of("E1")))
    me.key("F")
    assert window.isWindowModified()
    path = tmp_path / "recorder.json"
    window.files.dialogs.to_save = lambda _: path
    me.key("Ctrl+S")
    assert path.is_file()
    assert not window.isWindowModified()
    saved = window.session.document.layout
    me.key("F")
    assert window.isWindowModified()
    window.files.dialogs.to_open = lambda _: path
    me.key("Ctrl+O")
    assert window.session.document.layout == saved
    assert not window.isWindowModified()
    assert window.files.recent.paths[0] == path


def test_the_sheet_is_exported_behind_the_user(open_window, hand, qtbot, tmp_path: Path) -> None:
    window = open_window()
    me = hand(window)
    me.key("Ctrl+E")
    dialog = window.findChild(ExportDialog)
    out = tmp_path / "sheet.png"
    dialog.file.setText(str(out))
    dialog.paper.setCurrentText("A4")
    dialog.dpi.setCurrentIndex(dialog.dpi.findData(150))
    dialog.accept()
    qtbot.waitUntil(lambda: "Clearance sheet saved" in window.notice.text, timeout=20_000)
    with Image.open(out) as picture:
        # A4 upright at 150 dpi: 210 mm / 25.4 x 150 = 1240 px, 297 mm -> 1754 px.
        assert sorted(picture.size) == [1240, 1754]


def test_an_export_that_is_stopped_writes_nothing(open_window, qtbot, tmp_path: Path) -> None:
    window = open_window()
    out = tmp_path / "sheet.png"
    order = ExportOrder(
        window.session.document.layout, out, "A3", 300, None, datetime.date(2026, 1, 31)
    )
    job = window.files.export_to(order)
    with qtbot.waitSignal(job.finished, timeout=20_000):
        window.strip.stop.click()
    assert "nothing was written" in window.notice.text
    assert not out.exists()


def test_r_turns_a_part_that_is_dragged_from_the_panel(open_window, hand, shipped) -> None:
    window = open_window(empty_bench(shipped))
    me = hand(window)
    me.take_from_panel("exchanger-2x120-30")
    place = me.at((200.0, 60.0, 200.0))
    me.carry_to(place, ALT)
    lying = window.session.layout.free[0]
    assert (lying.x_to, lying.z_to) == ("+x", "+z")
    QTest.keyClick(window.parts.list, Qt.Key.Key_R)
    # Turned on the page of the side view, which is seen along +y.
    standing = window.session.layout.free[0]
    assert standing.x_to[1] == "z"
    assert standing.z_to[1] == "x"
    me.drop(place, ALT)
    assert window.session.document.layout.free[0].x_to == standing.x_to
    assert window.board.gesture is None
    window.session.undo()
    assert window.session.document.layout.free == ()


def test_a_part_drops_into_the_layer_under_the_pointer(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    stack = window.session.document.layout.stacks[0]
    count = len(stack.inner)
    fan, core = me.middle_of("F1"), me.middle_of("E1")
    me.take_from_panel("gasket-2x120-3")
    # Between the fans at the plate and the exchanger, at their common face.
    place = me.at(((fan[0] + core[0]) / 2, core[1], core[2]))
    me.carry_to(place)
    note = me.texts("note")
    assert any("front bracket, inner side" in line for line in note)
    me.drop(place)
    after = window.session.document.layout.stacks[0]
    assert len(after.inner) == count + 1
    kinds = [window.session.document.layout.part(la.items[0].part).kind for la in after.inner]
    assert kinds[: kinds.index("exchanger")].count("gasket") == 2


def test_a_part_under_way_stays_with_its_document(open_window) -> None:
    window = open_window()
    session = window.session
    session.select("F1")
    window.board.place_by_keys(session.layout.part("fan-120-25"))
    gesture = window.board.gesture
    assert gesture is not None
    left = []
    session.document_replaced.connect(lambda: left.append((window.board.gesture, session.trying)))
    window.files.open_demo()
    assert left == [(None, False)]
    # The same id means another part there.
    assert "F1" in session.checked.scene.placed
    assert session.selected is None


def test_an_undo_while_a_part_is_dragged_ends_the_drag(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    window.session.select("R1")
    window.actions_by_name["duplicate"].trigger()
    made = window.session.selected
    at = me.at(me.middle_of(made))
    me.press(at)
    me.move(at + QPoint(30, 30))
    assert window.session.trying
    window.session.undo()
    assert window.board.gesture is None
    assert not window.session.trying
    assert window.session.selected is None
    me.move(at + QPoint(60, 60))
    me.release(at + QPoint(60, 60))
    assert window.session.document.redo_name.startswith("Duplicate Reservoir")
    assert made not in window.session.checked.scene.placed
