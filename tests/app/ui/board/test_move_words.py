"""What the note beside a part on its way says of the fit: never clear beside a fault."""

from __future__ import annotations

import pytest
from ui_hand import Hand

from app.drawing.drafting import Drafting
from app.drawing.overlay import Note, note_group
from app.drawing.primitives import Ink, Text
from app.ui.board.move_words import plain_lines
from app.ui.window import MainWindow
from geometry.finding import Verdict
from geometry.measures.pose import Vec


def drag(me: Hand, part_id: str, by_mm: Vec) -> None:
    """Drag a part by so much in the side view, and hold it until its check has answered."""
    middle = me.middle_of(part_id)
    me.press(me.at(middle))
    for share in (0.2, 0.6, 1.0):
        me.move(me.at(tuple(a + share * b for a, b in zip(middle, by_mm, strict=True))))  # type: ignore[arg-type]
    me.qtbot.waitUntil(lambda: not me.board.picture.older, timeout=20_000)


def inks(window: MainWindow) -> dict[str, Ink]:
    group = window.board.picture.group("note")
    assert group is not None
    return {one.text: one.ink for one in group.primitives if isinstance(one, Text)}


def blocked_on(window: MainWindow, *ids: str) -> list[str]:
    found = window.session.checked.report.findings
    return [f.title for f in found if f.verdict is Verdict.BLOCKED and not {*ids}.isdisjoint(f.ids)]


def test_a_stack_slid_off_its_slots_is_blocked_whatever_depth_it_leaves(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    drag(me, "E1", (0.0, 0.0, -25.0))
    moved = window.session.checked.scene.layout.stack("S1")
    off_mm = max(abs(moved.slide_u_mm), abs(moved.slide_v_mm))
    # A pixel is about a millimetre.
    assert off_mm == pytest.approx(25.0, abs=1.5)
    # Its slots reach 12.5 mm off their middle.
    (title,) = blocked_on(window, "S1", "E1")
    assert title == f"Stack on front bracket is {off_mm - 12.5:.1f} mm off its slots along z"
    said = me.texts("note")
    (least,) = (d.least for d in window.session.checked.report.depths if d.stack == "S1")
    assert said[:3] == ["blocked", title, f"{least.mm:.1f} mm left over cell 1"]
    assert inks(window)["blocked"] is Ink.BLOCKED
    assert Ink.CLEAR not in inks(window).values()


def test_a_part_pulled_over_another_names_how_many_faults_and_the_greatest(
    open_window, hand
) -> None:
    window = open_window()
    me = hand(window)
    drag(me, "E1", (-60.0, 0.0, 0.0))
    assert len(blocked_on(window, "E1", "P1")) == 2
    said = me.texts("note")
    assert said[0] == "2 blocked"
    assert said[2].endswith("(E1) overlap 33.0 mm")
    assert Ink.CLEAR not in inks(window).values()


def test_what_a_slide_across_would_free_is_told_by_its_overlap_and_not_as_missing_depth(
    open_window, hand
) -> None:
    """Cables that were grazed by some millimetres were told as 66.3 mm of depth missing."""
    window = open_window()
    me = hand(window)
    drag(me, "E2", (-15.0, 0.0, 0.0))
    (depth,) = (d for d in window.session.checked.report.depths if d.stack == "S2")
    assert depth.least.mm < -50.0
    short, sideways = f"{-depth.least.mm:.1f}", f"{depth.least.sideways_mm:.1f}"
    said = me.texts("note")
    assert said[0].endswith("blocked")
    assert f"overlaps {sideways} mm sideways" in " ".join(said)
    assert not any(short in text for text in (*said, *me.texts("depth:S2")))
    # The room kept for its cables is in the way, 50 mm off the supply itself.
    title = next(t for t in blocked_on(window, "E2") if "is stopped by" in t or "has no room" in t)
    assert "upply cables of power supply" in title


def test_the_least_of_all_cells_is_said_and_that_of_the_panel(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    drag(me, "E1", (-25.0, 0.0, 0.0))
    (depth,) = (d for d in window.session.checked.report.depths if d.stack == "S1")
    own = {left.cell: left.mm for left in depth.cells}
    assert own["1"] == pytest.approx(1.5)
    assert own["2"] > 60
    said = me.texts("note")
    # The fitting that stands 1.5 mm from the card is what limits the depth: said once.
    assert said[0] == "1.5 mm left over cell 1, tight"
    assert said[1].startswith("front bracket, inner side")
    assert Ink.CLEAR not in inks(window).values()


def test_a_free_part_that_meets_nothing_has_no_fault_told(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    drag(me, "R1", (-100.0, 0.0, 0.0))
    assert me.texts("note")[0] == f"{len(blocked_on(window, 'R1'))} blocked"
    me.board.cancel_gesture()
    drag(me, "R1", (0.0, 0.0, -2.0))
    assert not blocked_on(window, "R1")
    assert not any("blocked" in line for line in me.texts("note"))


def test_a_long_text_is_broken_by_its_width_and_told_whole() -> None:
    """By letters, a line of wide ones was cut: "17.1 mm missing to the 2.0…", then "as drawn"."""
    text = "Exchanger 2 x 120, 30 mm (E2) overlaps Pump, compact body 60 x 60 x 40 (P1) "
    text = f"{text}by 15.1 mm; 17.1 mm missing to the 2.0 mm margin as drawn"
    drafting = Drafting.on_screen(0.5)
    note = Note((0.0, 0.0), tuple(plain_lines(text)))
    drawn = note_group(note, (-1e3, -1e3, 1e3, 1e3), drafting)
    said = [one.text for one in drawn.primitives if isinstance(one, Text)]
    assert len(said) > 1
    assert " ".join(said) == text


def test_a_part_that_leaves_its_layer_says_so_and_what_becomes_of_push_and_pull(
    open_window, hand
) -> None:
    window = open_window()
    me = hand(window)
    # In the demo: fans, gasket, exchanger, fans, pump. It changes places with the fans after it.
    drag(me, "E1", (-25.0, 0.0, 0.0))
    (stack, *_) = window.session.layout.stacks
    assert [layer.items[0].id for layer in stack.inner] == ["F1", "G1", "F3", "E1", "P1"]
    said = me.texts("note")
    assert "moves from layer 3 to layer 4" in said
    assert "fans: push-pull becomes push" in said
    me.board.cancel_gesture()
    # Off its zone it goes alone.
    drag(me, "E1", (-130.0, 0.0, 0.0))
    assert {one.id: one for one in window.session.layout.free}["E1"]
    assert "moves alone; the rest of its stack stays" in me.texts("note")
    me.board.cancel_gesture()
    # In its slots the whole stack goes, in the same order.
    drag(me, "E1", (0.0, 0.0, -25.0))
    said = me.texts("note")
    slide_mm = window.session.checked.scene.layout.stack(stack.id).slide_u_mm
    assert slide_mm == pytest.approx(-25.0, abs=1.5)
    assert f"stack slides −{-slide_mm:.1f} mm, 0.0 mm" in said
    assert not any("layer" in line or "alone" in line for line in said)
