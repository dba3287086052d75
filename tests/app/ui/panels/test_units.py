"""Sentences of findings follow the unit that was chosen; names of parts do not."""

from __future__ import annotations

import re

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel

from app.ui.board.hits import tip_for
from app.ui.mending.offer_button import OfferButton
from app.ui.panels.part_list import PartDelegate
from app.ui.panels.part_texts import size_text
from app.ui.units import Unit, in_unit

NAME = "Exchanger 2 x 120, 30 mm"


@pytest.mark.parametrize(
    ("told", "wanted"),
    [
        (f"{NAME} (E1) overlaps 25.4 mm", f"{NAME} (E1) overlaps 1.000 in"),
        ("-12.7 mm to 2.54 mm, 0.5 cm³ shared", "-0.500 in to 0.100 in, 0.5 cm³ shared"),
        ("a gap of 0.01 mm", "a gap of 0.0004 in"),
        ("none: 0.0 mm", "none: 0.000 in"),
        ("margin of 2\N{NO-BREAK SPACE}mm", "margin of 0.079 in"),
        ("A2 mm and 3 mmHg stay", "A2 mm and 3 mmHg stay"),
        ("a zone of 120 mm x 90.5 mm", "a zone of 4.724 in x 3.563 in"),
        ("200 mm ± 0.5 mm", "7.874 in ± 0.020 in"),
        ("60 mm +2 mm \N{MINUS SIGN}0.1 mm", "2.362 in +0.079 in \N{MINUS SIGN}0.004 in"),
        ("off by 1e-05 mm", "off by 0.0000004 in"),
        # Half of what shares one unit would be false.
        ("2.5-3 mm, 120 x 30 mm or 15 ± 0.2 mm", "2.5-3 mm, 120 x 30 mm or 15 ± 0.2 mm"),
    ],
)
def test_lengths_in_a_sentence(told: str, wanted: str) -> None:
    assert in_unit(told, Unit.INCH, [NAME, "Exchanger"]) == wanted
    assert in_unit(told, Unit.MM, [NAME]) == told


def test_a_name_stays_at_the_start_of_a_sentence_and_no_part_of_a_number_is_one() -> None:
    told = in_unit("Plate 3 mm is 13 mm off plate 3 mm", Unit.INCH, ["plate 3 mm", "3 mm"])
    assert told == "Plate 3 mm is 0.512 in off plate 3 mm"


def test_without_names_every_length_is_told_in_inches() -> None:
    assert in_unit("Fan 120 x 25, 25.4 mm", Unit.INCH) == "Fan 120 x 25, 1.000 in"


def test_findings_and_remedies_are_told_in_inches_and_back(open_window, hand) -> None:
    window = open_window()
    hand(window).wait_for_remedies()

    def told() -> str:
        shown = [label.text() for label in window.findings.findChildren(QLabel)]
        shown += [b.label.text() for b in window.findings.findChildren(OfferButton)]
        shown += [card.accessibleName() for card in window.findings.cards]
        return "\n".join(shown)

    before = told()
    assert "8.0 mm missing to the 2.0 mm margin" in before
    window.actions_by_name["inches"].trigger()
    in_inches = told()
    assert "0.315 in missing to the 0.079 in margin" in in_inches
    assert "Slide the stack on front bracket 0.413 in down" in in_inches
    # Names keep their millimetres, which are no measurement of this layout.
    assert NAME in in_inches
    assert re.findall(r"\d\.\d mm", in_inches) == []
    window.actions_by_name["inches"].trigger()
    assert told() == before


def test_sizes_of_parts_follow_the_unit_and_tips_tell_both(open_window) -> None:
    window = open_window()
    parts = window.parts.list
    parts.choose("fan-120-25")
    fan, index = parts.chosen, parts.currentIndex()
    assert size_text(fan, Unit.MM) == "120 × 120 × 25"
    # 120 and 25 mm over 25.4.
    assert size_text(fan, Unit.INCH) == "4.72 × 4.72 × 0.98"
    window.session.select("F1")
    told = index.data(Qt.ItemDataRole.AccessibleTextRole)
    assert told.endswith(", 120 × 120 × 25 mm")
    window.actions_by_name["inches"].trigger()
    both = "4.72 × 4.72 × 0.98 in (120 × 120 × 25 mm)"
    assert index.data(Qt.ItemDataRole.AccessibleTextRole).endswith(f", {both}")
    assert both in index.data(Qt.ItemDataRole.ToolTipRole)
    assert "hole pitch 4.134 in" in index.data(Qt.ItemDataRole.ToolTipRole)
    delegate = parts.itemDelegate()
    assert isinstance(delegate, PartDelegate)
    assert delegate._size(fan) == "4.72 × 4.72 × 0.98"
    assert tip_for(window.session.checked.scene, "F1", Unit.INCH).endswith(both)
    assert any(both in label.text() for label in window.part.findChildren(QLabel))


def test_thicker_tanks_are_told_in_inches_too(shipped) -> None:
    part = shipped.part("exchanger-1x80-20")
    assert size_text(part).endswith(" × 20 core, 27 at the tanks")
    assert size_text(part, Unit.INCH).endswith(" × 0.79 core, 1.06 at the tanks")
