"""The window driven as a user does: place, see, mend, undo, save, reopen, export."""

from __future__ import annotations

from pathlib import Path

from PIL import Image

from geometry.layout import Layout


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
    lit = [k for k in window.board.picture.items.keys() if k.startswith("lit-zone:side")]  # noqa: SIM118
    assert "lit-zone:side:front-zone" in lit
    figure = me.texts("note")[0]
    (depth,) = window.session.checked.report.depths
    assert figure.startswith(f"{depth.least.mm:.1f} mm")

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
    open_window, hand
) -> None:
    window = open_window()
    me = hand(window)
    stopped = "is stopped by cable peg"
    assert any(stopped in title for title in me.titles())
    me.click(me.at(me.middle_of("E1")))
    assert window.session.selected == "E1"
    me.key("F")
    assert not any(stopped in title for title in me.titles())
    assert window.actions_by_name["undo"].text() == "&Undo Flip port end"
    assert "0 blocked" in window.statusBar().counts
    me.key("Ctrl+Z")
    assert any(stopped in title for title in me.titles())
    assert window.actions_by_name["redo"].text() == "&Redo Flip port end"


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
    dialog = window.findChild(__import__("app.ui.export_dialog", fromlist=["x"]).ExportDialog)
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
    import datetime

    from app.ui.export_job import ExportOrder

    window = open_window()
    out = tmp_path / "sheet.png"
    order = ExportOrder(
        window.session.document.checked, out, "A3", 300, None, datetime.date(2026, 1, 31)
    )
    job = window.files.export_to(order)
    with qtbot.waitSignal(job.finished, timeout=20_000):
        window.strip.stop.click()
    assert "nothing was written" in window.notice.text
    assert not out.exists()
