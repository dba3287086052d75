"""A fan on a wall wants an opening behind it, at the slide at which it stands: sums by hand.

A fan of 120 mm stands from 20 mm up the front wall; its slots let it 6 mm down and up.
"""

from __future__ import annotations

import pytest
from search_oracle import made_ready
from small_rooms import fan, layout, room, row, zone

from catalog.enclosure import Opening, Panel
from catalog.shapes import Box
from geometry.checks.runner import check_layout
from geometry.search.wishes import Wishes

FAN = fan(25.0)


def slides_that_fit(
    up_mm: tuple[float, float] | None, *, owner: str = "front", wall: str = "front", tight: bool
) -> dict[float, bool]:
    """Which slides a search lists, and whether the check calls them clear.

    `up_mm` is from where to where an opening runs up the wall; None for no opening.
    """
    own = zone("z", owner, (300, 20, 20), "+z", "+y", row(1, slot_u_mm=6.0))
    openings = ()
    if up_mm is not None:
        at_x = 300.0 if wall == "front" else -2.0
        shape = Box(at_mm=(at_x, 20, up_mm[0]), size_mm=(2, 100, up_mm[1] - up_mm[0]))
        openings = (Opening(id="grille", name="grille", wall=wall, shape=shape),)  # type: ignore[arg-type]
    panels = (Panel(id="lid", name="lid", wall="front"),)
    lay = layout(room((300, 160, 220), [own], panels=panels, openings=openings), [])
    problem = made_ready(lay, Wishes(fans=(FAN,), slide_steps=3, tight_allowed=tight))
    (options,) = problem.zones
    assert options.listed == 1 + 3
    found = {}
    for k, option in enumerate(options.options):
        if option.stack is not None:
            report = check_layout(problem.judged_layout((k,)), remedies=False).report
            found[option.slide_mm[0]] = not (report.blocked or report.tight)
    return found


@pytest.mark.parametrize("owner", ["front", "lid"])
def test_only_slides_with_an_opening_behind_the_fan_are_clear(owner: str) -> None:
    # The fan covers 14 to 134 mm, 20 to 140, or 26 to 146.
    assert slides_that_fit((4, 18), owner=owner, tight=False) == {-6.0: True}
    assert slides_that_fit((4, 20), owner=owner, tight=False) == {-6.0: True}, "touching is no hole"
    assert slides_that_fit((142, 150), owner=owner, tight=False) == {6.0: True}
    assert slides_that_fit((100, 110), owner=owner, tight=False) == {-6: True, 0: True, 6: True}
    assert slides_that_fit((4, 18), owner=owner, tight=True) == {-6: True, 0: False, 6: False}


def test_where_no_opening_is_described_every_wall_may_be_open() -> None:
    assert slides_that_fit(None, tight=False) == {-6: True, 0: True, 6: True}
    assert slides_that_fit((50, 90), wall="rear", tight=False) == {}
