"""A change listed for one finding clears that one, by no more than it takes.

Other findings may name the same obstacle, or the same two things; they stay as they are.
"""

from __future__ import annotations

import pytest
from small_rooms import block, brick, fan, fan_layer, free, layout, room, row, stack, zone

from catalog.shapes import Plug
from geometry.checks.runner import Checked, check_layout
from geometry.finding import Finding
from geometry.layout import Layout
from geometry.remedies import faults
from geometry.search.mending.mend import Mend, mends


def finding_of(checked: Checked, kind: str, *ids: str) -> Finding:
    return faults(checked.report)[kind, frozenset(ids)]


def listed(checked: Checked, asked: Finding, *, cutting: bool = False) -> tuple[Mend, ...]:
    parts = tuple(checked.scene.layout.parts.values())
    *_, last = mends(checked, parts, asked, cutting=cutting)
    return last.found


def beam_over_blocks(beam_high_mm: float) -> Layout:
    """A beam at z = 20 that block A, 25 mm high, laps by 5 mm, and block B by 20 or all of it."""
    beam = block("beam", (120, 90, 20), (360, 110, 20 + beam_high_mm))
    part = brick("block", (60, 60, 25))
    frees = [free("A", part, (160, 100, 0)), free("B", part, (300, 100, 15))]
    return layout(room((500, 200, 300), [], [beam]), [part], [], frees)


@pytest.mark.parametrize("beam_high_mm", [60.0, 18.0])
def test_a_trim_goes_no_deeper_than_what_is_asked_for_takes(beam_high_mm: float) -> None:
    # A needs 25 + 2 - 20 = 7 mm at the lower end. B needs 22 mm, or with the low beam, which lies
    # wholly within B's height, no trim at that end gives it room.
    checked = check_layout(beam_over_blocks(beam_high_mm), remedies=False)
    found = listed(checked, finding_of(checked, "overlap", "A", "beam"), cutting=True)
    assert [mend.name for mend in found if mend.cuts] == [
        "Trim beam by 7.0 mm at its lower end (cuts the enclosure)"
    ]


LEAD = Plug(
    id="lead", name="Lead", at_mm=(0, 0, 25), facing="+z", width_mm=6, height_mm=6, plug_mm=40
)  # fmt: skip


def fan_under_shelf() -> Checked:
    """A fan in slots of 6 mm whose frame is 3 mm in the foot of a shelf, and its lead in the top.

    The frame ends at y = 160; the lead reaches z = 65, the underside of the shelf is at 55.
    """
    blower = fan(25, plugs=(LEAD,))
    own = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1, slot_v_mm=6.0))
    foot, top = block("f", (20, 157, 0), (200, 260, 75)), block("t", (20, 20, 55), (200, 157, 75))
    shelf = block("shelf", (0, 0, 0), (1, 1, 1)).but(shapes=(*foot.shapes, *top.shapes))
    made = layout(
        room((240, 260, 200), [own], [shelf]), [blower],
        [stack("S", "floor-zone", fan_layer("F", blower, ("c1",)))],
    )  # fmt: skip
    return check_layout(made, remedies=False)


def test_a_slide_is_found_though_another_finding_of_the_same_two_things_stays() -> None:
    # 3 mm would touch, and a gap below the margin is not told where the same two share room
    # elsewhere; 3 + 2 mm keep it.
    checked = fan_under_shelf()
    assert set(faults(checked.report)) == {
        (kind, frozenset({"F.1", "shelf"})) for kind in ("overlap", "plug_room")
    }
    found = listed(checked, finding_of(checked, "overlap", "F.1", "shelf"))
    assert [mend.name for mend in found] == [
        "Slide the stack on floor zone 5.0 mm towards the access side (along -y)"
    ]


def test_what_leaves_the_finding_asked_for_as_it_is_is_not_listed() -> None:
    # The fan turned, its lead is out of the ledge; its frame, 3 mm in it in slots of 2 mm, is not.
    aside = LEAD.but(at_mm=(50, 60, 12), facing="+y")
    blower = fan(25, plugs=(aside,))
    own = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1, slot_v_mm=2.0))
    ledge = block("ledge", (20, 157, 0), (200, 260, 60))
    made = layout(
        room((240, 260, 200), [own], [ledge]), [blower],
        [stack("S", "floor-zone", fan_layer("F", blower, ("c1",)))],
    )  # fmt: skip
    checked = check_layout(made, remedies=False)
    asked, other = (finding_of(checked, of, "F.1", "ledge") for of in ("overlap", "plug_room"))
    assert listed(checked, asked) == ()
    assert "Turn Fan 120 x 25 (F.1) by 180 degrees" in {m.name for m in listed(checked, other)}


def test_an_end_is_trimmed_though_its_length_is_off_by_a_hair_in_binary() -> None:
    # 246.1 + 23 - 246.1 is a little more than 23 in binary: by all its tenths nothing was left.
    beam = block("beam", (246.1, 90, 20), (269.1, 110, 60))
    part = brick("block", (60, 60, 25))
    lay = layout(room((500, 200, 90), [], [beam]), [part], [], [free("A", part, (218, 100, 0))])
    checked = check_layout(lay, remedies=False)
    found = listed(checked, finding_of(checked, "overlap", "A", "beam"), cutting=True)
    assert "Trim beam by 3.9 mm at its rear end (cuts the enclosure)" in [m.name for m in found]
