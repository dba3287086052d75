"""What fits keeps the pump of a stack unless something else is asked for."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from search_hand import choose_parts

from app.shipped_demo import shipped_demo
from app.ui.search.pump_choice import NONE_HELD, bare_text, held_pumps, kept_text
from geometry.layout import Layout

if TYPE_CHECKING:
    from app.ui.window import MainWindow

Open = Callable[..., "MainWindow"]


def test_the_pump_of_a_stack_is_kept_at_first(open_window: Open) -> None:
    window = open_window()
    window.fits.open()
    setup = window.fits.dock.panel.setup
    (pump,) = (p for p in window.session.layout.parts.values() if p.kind == "pump")
    order = setup.order()
    assert (order.wishes.pump, order.wishes.pumps) == ("required", (pump,))
    assert setup.pump_note.text() == f"Every row keeps {pump.name}."
    assert not setup.pump_note.isHidden()
    # Where its zone is not searched it stays, and another would be a second one.
    setup.zones["front-zone"].setChecked(False)
    assert setup.order().wishes.pump == "none"
    assert setup.pump_note.text() == NONE_HELD
    assert not setup.free_pumps.isEnabled()
    setup.zones["front-zone"].setChecked(True)
    assert setup.free_pumps.isEnabled()
    # What is chosen counts for all pumps, and stays.
    setup.pump.setCurrentIndex(setup.pump.findData("allowed"))
    assert setup.pump_note.text() == bare_text(setup.parts.parts)
    wishes = setup.order().wishes
    assert wishes.pump == "allowed"
    assert len(wishes.pumps) > 1
    window.session.apply("Take the front stack out", _without_the_front_stack)
    assert setup.pump.currentData() == "allowed"


def test_no_pump_is_put_in_unasked_where_none_would_be_taken_off(open_window: Open) -> None:
    window = open_window()
    window.fits.open()
    setup = window.fits.dock.panel.setup
    window.session.apply("Take the front stack out", _without_the_front_stack)
    assert setup.order().wishes.pump == "none"
    assert setup.pump_note.text() == NONE_HELD
    window.session.undo()
    assert setup.order().wishes.pump == "required"


def test_it_is_said_that_a_pump_without_a_plate_stands_only_on_its_own_feet(
    open_window: Open,
) -> None:
    window = open_window()
    window.fits.open()
    setup = window.fits.dock.panel.setup
    setup.pump.setCurrentIndex(setup.pump.findData("required"))
    choose_parts(setup.parts, "chosen", ["exchanger-1x120-30", "fan-120-25", "pump-compact"])
    words = "None of the pumps ticked has a plate to be screwed on by: "
    assert setup.pump_note.text().startswith(words)
    assert not setup.pump_note.isHidden()
    assert setup.order().wishes.pumps == ()
    setup.free_pumps.setChecked(True)
    assert setup.pump_note.isHidden()
    assert [pump.id for pump in setup.order().wishes.pumps] == ["pump-compact"]
    setup.free_pumps.setChecked(False)
    both = ["pump-compact", "pump-compact-plate-120"]
    assert bare_text([window.library.part(one) for one in both]).startswith("1 of the 2 pumps ti")
    assert bare_text([window.library.part(both[1])]) == ""


def test_of_several_pumps_in_stacks_it_is_said_that_one_is_kept() -> None:
    layout = shipped_demo()
    front = next(stack for stack in layout.stacks if stack.zone == "front-zone")
    both = layout.but(stacks=(front, front.but(zone="floor-zone", locked=True)))
    assert len(held_pumps(both, ("front-zone", "floor-zone"))) == 1, "what is locked stays"
    assert held_pumps(both, ("floor-zone",)) == ()
    held = held_pumps(layout, ("front-zone",))
    assert "one of the 2 pumps" in kept_text(held * 2)


def _without_the_front_stack(layout: Layout) -> Layout:
    return layout.but(stacks=tuple(one for one in layout.stacks if one.zone != "front-zone"))
