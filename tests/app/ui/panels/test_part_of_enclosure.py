"""What the part panel says of an obstacle: what it stands on, and whether it can go."""

from __future__ import annotations


def test_an_obstacle_says_whether_it_can_be_taken_out(open_window) -> None:
    window = open_window()
    window.session.select("card")
    assert window.part._about.text() == (
        "Part of the enclosure: card\nIt stands on board microATX 244 x 244 and moves with it.\n"
        "States: in place, taken out. Choose one in the Enclosure tab."
    )
    window.session.select("bracket-peg")
    assert window.part._about.text() == (
        "Part of the enclosure: peg bracket-peg\nIt stands on front bracket and moves with it."
    )
    window.session.select("supply")
    assert window.part._about.text().endswith("\nIt cannot be taken out or moved.")
