"""What is put into a stack slides it only where it must, and then that is told."""

from __future__ import annotations

from geometry.edits import insert_item, set_slide
from geometry.layout import Layout


def slid_fan(shipped, slide_mm: float) -> Layout:
    """The bench box with a fan on the first of two cells that are 8 mm farther apart than a core's.

    The slots are 12 mm long either way, so that a core leaves -4 to 12 mm of slide.
    """
    room = shipped.enclosure("bench-box")
    zones = tuple(
        zone.but(cells=(zone.cells[0], zone.cells[1].but(u_mm=zone.cells[1].u_mm + 8.0)))
        if zone.id == "front-zone"
        else zone
        for zone in room.zones
    )
    layout = Layout(name="Bench", enclosure=room.but(zones=zones))
    fan = shipped.part("fan-120-25")
    return set_slide(
        insert_item(layout, "front-zone", "inner", 0, fan, "1")[0], "S1", slide_mm, 0.0
    )


def test_a_core_that_slides_the_stack_says_so(open_window, shipped) -> None:
    before = slid_fan(shipped, -10.0)
    window = open_window(before)
    window.session.select("F1")
    window.stack.add_layer(shipped.part("exchanger-2x120-30"))
    assert window.session.document.layout.stacks[0].slide_u_mm == -4.0
    assert window.notice.text == (
        "The stack on zone front bracket was slid 10.0 mm along -z and is slid 4.0 mm along -z, as "
        "far as its slots ask. Ctrl+Z undoes it."
    )
    window.session.undo()
    assert window.session.document.layout == before


def test_fans_keep_the_slide_and_nothing_is_told(open_window, shipped) -> None:
    window = open_window(slid_fan(shipped, -3.0))
    window.session.select("F1")
    window.stack.add_layer(shipped.part("exchanger-2x120-30"))
    window.session.apply("Slide stack", lambda la: set_slide(la, "S1", -15.0, 0.0))
    window.stack.set_plan("push-pull")
    (stack,) = window.session.document.layout.stacks
    assert len(stack.inner) == 3
    assert stack.slide_u_mm == -15.0
    assert "slid" not in window.notice.text
