"""The panels: parts list, stack, part, enclosure, history, findings."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QEnterEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from ui_hand import counts_told, layer_rows

from app.ui.panels.part_list import PART_ROLE
from catalog.parts import Drive, Fan, Part
from geometry.edits import add_free, set_margin
from geometry.layout import Layout, PortUse


def listed(window) -> list[str]:
    model = window.parts.list.model()
    parts = (model.index(k).data(PART_ROLE) for k in range(model.rowCount()))
    return [part.id for part in parts if part is not None]


def placed_layer_names(window) -> list[str]:
    layout = window.session.document.layout
    return [layout.part(la.items[0].part).kind for la in layout.stacks[0].inner]


# the parts list


def test_the_list_answers_to_search_and_to_the_trades_other_words(open_window, hand) -> None:
    window = open_window()
    everything = listed(window)
    window.parts.focus_search()
    QTest.keyClicks(window.parts.search, "radiator 3x120 45")
    assert listed(window)
    assert all(one.startswith("exchanger-3x120-45") for one in listed(window))
    QTest.keyClick(window.parts.search, Qt.Key.Key_Escape)
    assert listed(window) == everything
    QTest.keyClicks(window.parts.search, "no such thing")
    assert listed(window) == []
    assert window.parts.list.isHidden()


def test_the_list_is_filtered_by_kind_and_by_frame_size(open_window) -> None:
    window = open_window()
    window.parts.kind.setCurrentIndex(window.parts.kind.findData("fan"))
    window.parts.frame.setCurrentIndex(window.parts.frame.findData(92.0))
    assert listed(window) == ["fan-92-15", "fan-92-25", "fan-92-38"]


# the stack


def test_push_pull_and_push_pull_put_fans_on_the_sides_in_one_click(open_window) -> None:
    window = open_window()
    window.session.select("E1")
    assert placed_layer_names(window) == ["fan", "gasket", "exchanger", "fan", "pump"]
    assert window.stack.plan_buttons["push-pull"].isChecked()
    # Air goes inward on the inner side, so the fans at the plate push.
    window.stack.plan_buttons["push"].click()
    assert placed_layer_names(window) == ["fan", "gasket", "exchanger", "pump"]
    assert window.session.document.undo_name == "Fans: push"
    window.stack.plan_buttons["pull"].click()
    assert placed_layer_names(window) == ["gasket", "exchanger", "fan", "pump"]
    window.stack.plan_buttons["none"].click()
    assert placed_layer_names(window) == ["gasket", "exchanger", "pump"]
    assert window.stack.plan_buttons["none"].isChecked()
    for _ in range(3):
        window.session.undo()
    assert placed_layer_names(window) == ["fan", "gasket", "exchanger", "fan", "pump"]


def test_fans_that_only_the_layout_knows_can_be_taken_out_and_put_back(open_window) -> None:
    window = open_window()
    window.session.take_zone("floor-zone")
    window.stack.set_parts(())
    floor = next(s.id for s in window.session.layout.stacks if s.zone == "floor-zone")
    window.stack.plan_buttons["push-pull"].click()
    window.stack.plan_buttons["none"].click()
    (stack,) = (s for s in window.session.document.layout.stacks if s.id == floor)
    assert [len(layer.items) for layer in stack.inner] == [1]
    window.stack.plan_buttons["push"].click()
    (stack,) = (s for s in window.session.document.layout.stacks if s.id == floor)
    assert [len(layer.items) for layer in stack.inner] == [2, 1]


def test_layers_are_added_moved_and_removed(open_window, shipped) -> None:
    empty = Layout(name="Empty", enclosure=shipped.enclosure("bench-box"))
    window = open_window(empty)
    window.session.take_zone("front-zone")
    window.stack.add_layer(shipped.part("exchanger-2x120-30"))
    window.stack.add_layer(shipped.part("fan-120-25"))
    assert placed_layer_names(window) == ["exchanger", "fan"]
    assert len(window.session.document.layout.stacks[0].inner[1].items) == 2
    layer_rows(window)[1].moved.emit(1, -1)
    assert placed_layer_names(window) == ["fan", "exchanger"]
    layer_rows(window)[0].removed.emit(0)
    assert placed_layer_names(window) == ["exchanger"]


def test_what_the_add_menu_offers_fits_the_zone(open_window) -> None:
    window = open_window()
    window.session.take_zone("rear-zone")
    window.stack._fill_add_menu()
    menus = {action.text(): action.menu() for action in window.stack._add_menu.actions()}
    fans = [action.text() for action in menus["Fans"].actions()]
    assert {name.split(" x ")[0] for name in fans} == {"Fan 80", "Fan 92"}
    assert "Exchangers" in menus


def test_what_an_adapter_takes_can_be_added_on_it(open_window, shipped) -> None:
    window = open_window(Layout(name="Empty", enclosure=shipped.enclosure("bench-box")))
    window.session.take_zone("rear-zone")
    window.stack.add_layer(shipped.part("adapter-1x92-120"))
    window.stack._fill_add_menu()
    menus = {action.text(): action.menu() for action in window.stack._add_menu.actions()}
    assert "Fan 120 x 25" in [action.text() for action in menus["Fans"].actions()]
    window.stack.add_layer(shipped.part("fan-120-25"))
    assert placed_layer_names(window) == ["adapter", "fan"]
    kinds = {finding.kind for finding in window.session.checked.report.findings}
    assert "hole_pattern" not in kinds


def test_the_slide_is_typed_along_the_enclosures_axes(open_window) -> None:
    window = open_window()
    window.session.select("E1")
    field = window.stack.settings.slide_u
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "-8")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert window.session.document.layout.stacks[0].slide_u_mm == -8.0
    assert window.session.document.undo_name == "Slide stack"


def test_lengths_are_typed_in_inches_when_inches_are_shown(open_window) -> None:
    window = open_window()
    window.actions_by_name["inches"].trigger()
    field = window.enclosure.margin
    window.tabs.setCurrentWidget(window.enclosure)
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "0.25")
    QTest.keyClick(field, Qt.Key.Key_Return)
    # 0.25 in x 25.4 mm/in = 6.35 mm.
    assert window.session.document.layout.settings.margin_mm == pytest.approx(6.35)


def test_the_bar_names_total_clear_and_leftover(open_window) -> None:
    window = open_window()
    window.session.select("E1")
    depth = window.stack.side_depth
    assert depth is not None
    text = window.stack._figures.text().replace("&nbsp;", " ")
    assert f"total {depth.total_mm:.1f} mm" in text
    assert f"clear {depth.clear_mm:.1f} mm" in text
    assert f"leftover {depth.least.mm:.1f} mm" in text
    assert "limited by" in window.stack._limit.text()


# the part


def test_a_free_part_is_placed_turned_and_held_by_numbers(open_window, shipped) -> None:
    layout = Layout(name="One fan", enclosure=shipped.enclosure("bench-box"))
    layout, fan = add_free(layout, shipped.part("fan-80-25"), (300.0, 60.0, 250.0))
    window = open_window(layout)
    window.session.select(fan)
    window.views.show_details()
    field = window.part.place[2]
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "123.4")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert window.session.document.layout.free[0].at_mm == (300.0, 60.0, 123.4)
    box = window.part.held_by
    box.setCurrentText("adhesive")
    box.activated.emit(box.currentIndex())
    window.part.held_on.setCurrentText("floor")
    window.part.held_on.activated.emit(window.part.held_on.currentIndex())
    held = window.session.document.layout.free[0].held
    assert (held.by, held.on) == ("adhesive", "floor")
    window.part.z_to.setCurrentText("+x")
    window.part.z_to.activated.emit(window.part.z_to.currentIndex())
    free = window.session.document.layout.free[0]
    assert free.z_to == "+x"
    assert free.x_to[1] != "x"


def test_ports_are_plugged_and_given_fittings(open_window) -> None:
    window = open_window()
    window.session.select("E1")
    boxes = window.part.ports.boxes
    assert len(boxes) == 2
    port, box = next(iter(boxes.items()))
    box.setCurrentIndex(box.findData("plugged"))
    box.activated.emit(box.currentIndex())
    placed = window.session.checked.scene.placed["E1"]
    assert placed.use.ports[port] == PortUse(plugged=True)
    assert window.session.document.undo_name == f"Plug port {port}"
    box.setCurrentIndex(box.findData("fitting-barb-10-13"))
    box.activated.emit(box.currentIndex())
    use = window.session.checked.scene.placed["E1"].use.ports[port]
    assert use == PortUse(fitting="fitting-barb-10-13")


# the enclosure


def test_an_obstacle_is_taken_out_and_the_name_is_typed(open_window) -> None:
    window = open_window()
    layout = window.session.document.layout
    movable = [o for o in layout.enclosure.obstacles if len(o.states) > 1]
    out = next((o, s) for o in movable for s in o.states if s.out)
    box = window.enclosure.states[out[0].id]
    box.setCurrentIndex(box.findData(out[1].id))
    box.activated.emit(box.currentIndex())
    assert window.session.document.layout.states[out[0].id] == out[1].id
    window.tabs.setCurrentWidget(window.enclosure)
    window.enclosure.name.setFocus()
    window.enclosure.name.selectAll()
    QTest.keyClicks(window.enclosure.name, "Second try")
    QTest.keyClick(window.enclosure.name, Qt.Key.Key_Return)
    assert window.session.document.layout.name == "Second try"


def test_a_margin_for_a_pair_of_roles_is_added_and_removed(open_window) -> None:
    window = open_window()
    window.enclosure._add_pair()
    (pair,) = window.session.document.layout.settings.margins
    assert pair.roles == ("body", "cable")
    window.enclosure._set_pair(pair.roles, 5.0)
    assert window.session.document.layout.settings.margins[0].margin_mm == 5.0
    window.enclosure._set_pair(pair.roles, None)
    assert window.session.document.layout.settings.margins == ()


# history


def test_the_history_names_every_step_and_goes_back_to_any(open_window) -> None:
    window = open_window()
    start = window.session.document.layout
    window.session.select("E1")
    for name in ("flip", "turn_over", "duplicate"):
        window.actions_by_name[name].trigger()
    part = "Exchanger 2 x 120, 30 mm (E1)"
    steps = (f"Flip port end of {part}", f"Turn port face of {part}", f"Duplicate {part}")
    edits = window.history.list
    lines = [edits.item(k).text() for k in range(edits.count())]
    assert lines == ["As opened", *steps]
    window.history._go(edits.item(0))
    assert window.session.document.layout == start
    lines = [edits.item(k).text() for k in range(1, edits.count())]
    assert lines == [f"{step} (undone)" for step in steps]
    window.history._go(edits.item(2))
    assert window.session.document.history_names == steps[:2]


def test_a_long_step_is_read_whole_in_a_narrow_panel(open_window) -> None:
    window = open_window(size=(1024, 640))
    steps = window.history.list
    name = "Swap to Exchanger 2 x 120, 30 mm with fans on both faces and the pump on the other fan"
    window.tabs.setCurrentWidget(window.history)
    window.session.apply(name, lambda layout: set_margin(layout, 3.0))
    QApplication.processEvents()
    step = steps.item(1)
    shown = steps.visualItemRect(step)
    assert shown.width() <= steps.viewport().width()
    # So many lines as the text takes at that width.
    room = shown.adjusted(4, 0, -4, 0)
    wanted = steps.fontMetrics().boundingRect(room, Qt.TextFlag.TextWordWrap, name)
    assert wanted.height() > 1.5 * steps.fontMetrics().height()
    assert shown.height() >= wanted.height()
    assert step.toolTip().startswith(name)


# findings


def test_choosing_a_finding_brings_it_to_the_middle_and_flashes(open_window, qtbot) -> None:
    window = open_window()
    window.board.zoom_by(2.0)
    window.board.pan_by(2000, 2000)
    card = window.findings.cards[0]
    QTest.mouseClick(card, Qt.MouseButton.LeftButton, pos=QPoint(20, 20))
    place = window.board.picture.place_of_finding(0)
    middle = window.board.mapToScene(window.board.viewport().rect().center())
    assert (place - middle).manhattanLength() < 3 * window.board.mm_per_px
    assert window.board.picture.flashing
    assert window.session.selected in window.session.balloons[0].ids
    qtbot.waitUntil(lambda: not window.board.picture.flashing, timeout=3000)


def test_hovering_a_finding_lights_its_parts(open_window) -> None:
    window = open_window()
    card = window.findings.cards[0]
    at = QPointF(5, 5)
    QApplication.sendEvent(card, QEnterEvent(at, at, at))
    lit = [k for k in window.board.picture.items.shown_keys() if k.startswith("lit:side:")]
    placed = window.session.checked.scene.placed
    expected = {f"lit:side:{one}" for one in window.session.balloons[0].ids if one in placed}
    assert expected
    assert expected <= set(lit)


def test_a_remedy_is_applied_as_one_edit_that_undo_takes_back(open_window, hand) -> None:
    window = open_window()
    hand(window).wait_for_remedies()
    card = window.findings.cards[0]
    blocked = window.session.checked.report.blocked
    button = card.mends.buttons[0]
    assert button.label.text().startswith("Flip port end")
    button.click()
    assert window.session.checked.report.blocked == blocked - 1
    assert len(window.session.document.history_names) == 1
    window.session.undo()
    assert window.session.checked.report.blocked == blocked


def test_checks_that_were_not_run_are_listed_and_counted(open_window, shipped) -> None:
    layout = Layout(name="One exchanger", enclosure=shipped.enclosure("bench-box"))
    layout, _ = add_free(layout, shipped.part("exchanger-2x120-30"), (200.0, 100.0, 200.0))
    window = open_window(layout)
    not_run = window.session.checked.report.not_run
    text = window.findings._not_run.text()
    assert all(one.reason in text for one in not_run)
    # The word is that of the command line, the sheet and the README.
    assert window.findings._not_run_title.isVisible()
    assert window.findings._not_run_title.text() == f"Not run ({len(not_run)})"
    assert window.statusBar()._not_run.text() == f"{len(not_run)} not run"


def test_every_finding_and_count_has_a_word_beside_its_colour(open_window, qtbot) -> None:
    window = open_window()
    qtbot.waitUntil(lambda: not window.session.looking, timeout=20_000)
    for card, finding in zip(window.findings.cards, window.session.balloons, strict=True):
        assert card._word.text() == finding.verdict.value
        assert finding.verdict.value in card.accessibleName()
    report = window.session.checked.report
    counted = (report.blocked, report.tight, report.clear)
    assert counts_told(window) == "{} blocked  {} tight  {} parts clear".format(*counted)


def test_a_part_without_ports_is_asked_for_no_port_end(open_window) -> None:
    window = open_window()
    layout = window.session.layout
    blower = next(part for part in layout.parts.values() if isinstance(part, Fan))
    solid = next(part for part in window.library.parts.values() if isinstance(part, Drive))

    def asked(part: Part) -> tuple[bool, str]:
        placed, part_id = add_free(layout, part, (100.0, 100.0, 100.0))
        window.session.apply("Place", lambda _: placed)
        window.session.select(part_id)
        return not window.part.x_to.isHidden(), window.part._x_label.text()

    assert asked(blower)[0] is False
    assert asked(solid) == (True, "Length to")
    window.session.select("R1")
    assert window.part._x_label.text() == "Port end to"
