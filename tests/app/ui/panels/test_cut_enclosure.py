"""An enclosure that has been cut says so in its panel, with the caution."""

from __future__ import annotations

from geometry.edits import CUT_CAUTION, trim_obstacle


def test_the_panel_tells_what_was_cut_off_until_it_is_undone(open_window) -> None:
    window = open_window()
    assert window.enclosure.cuts.isHidden()
    window.session.apply("Cut", lambda la: trim_obstacle(la, "bracket-duct", "-z", 38.0))
    assert not window.enclosure.cuts.isHidden()
    assert window.enclosure.cuts.text() == (
        f"cable duct: 38.0 mm cut off its lower end\nCaution: {CUT_CAUTION}"
    )
    window.session.undo()
    assert window.enclosure.cuts.isHidden()
