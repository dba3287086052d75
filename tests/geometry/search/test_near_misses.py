"""Near misses of a search and what single change lets each in: sums by hand, margins 2 mm.

On the floor a two-fan exchanger has its core at x = 50 to 290, its return end from 35 and its port
end to 320; turned end for end the port end reaches 20 and the return end 305. On the front wall a
stack piles up to the rear wall. Fittings are 24 mm long.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

import pytest
from small_rooms import IN_OR_OUT, PUMP, block, brick, exchanger, fan, free, layout, room, row, zone

from catalog.enclosure import Obstacle, ZoneSide
from catalog.parts import Exchanger, Part
from catalog.store import Library
from geometry.checks.runner import check_layout
from geometry.edits import CUT_MARK, set_judge, set_margin, trim_obstacle
from geometry.layout import Layout, Settings
from geometry.search.answers import MEASURES, Answer
from geometry.search.mending.relax import Relaxation
from geometry.search.near.cuts import any_cut
from geometry.search.near.largest import slid_in, with_slid_in
from geometry.search.near.misses import NearMisses, near_misses
from geometry.search.near.refused import missing_mm
from geometry.search.near.summary import near_summary
from geometry.search.near.words import (
    gain_text,
    letting_in_text,
    miss_text,
    refused_text,
    short_text,
)
from geometry.search.problem import Problem
from geometry.search.run import search
from geometry.search.summary import summary
from geometry.search.wishes import Judging, Wishes


def looked_for(
    lay: Layout,
    wishes: Wishes,
    parts: Sequence[Part] = (),
    *,
    cutting: bool = False,
    want: str = "area",
) -> tuple[Problem, Answer, NearMisses]:
    wanted = [MEASURES[want]]
    *_, last = search(lay, wishes, wanted, 20.0)
    assert last.found is not None
    problem, answer = last.found.problem, last.found.answer
    *_, near = near_misses(problem, answer, wanted, parts, cutting=cutting)
    assert near.done
    fronts = [made(row.layout) for row in answer.rows]
    best = {key: max((of[key] for of in fronts), default=0.0) + 1e-6 for key in ("area", "fans")}
    for miss in near.found:
        # Each is refused, gains on every row, and every change lets it in: all checked from anew,
        # as the search judges.
        refused = check_layout(set_judge(miss.layout, problem.judge), remedies=False).report
        assert refused.blocked or (refused.tight and not wishes.tight_allowed)
        assert max(miss.gains.values()) > 0
        for relaxation in miss.relaxations:
            assert any(made(relaxation.layout)[key] > most for key, most in best.items())
            after = check_layout(set_judge(relaxation.layout, problem.judge), remedies=False).report
            assert not after.blocked
            assert wishes.tight_allowed or not after.tight
    return problem, answer, near


def made(lay: Layout) -> dict[str, float]:
    """How much core area (cm2) and how many fans stand in a layout."""
    items = [i for s in lay.stacks for la in (*s.inner, *s.outer) for i in la.items]
    parts = [lay.part(item.part) for item in items]
    cores = [part for part in parts if isinstance(part, Exchanger)]
    return {
        "area": sum(core.core_length_mm * core.core_width_mm for core in cores) / 100.0,
        "fans": float(sum(part.kind == "fan" for part in parts)),
    }


def told(near: NearMisses) -> list[list[str]]:
    return [[relaxation.name for relaxation in miss.relaxations] for miss in near.found]


def only(near: NearMisses) -> Relaxation:
    ((relaxation,),) = [miss.relaxations for miss in near.found]
    return relaxation


def floor(*obstacles: Obstacle, slot_u_mm: float = 0.0) -> Layout:
    own = zone("floor-zone", "floor", (50, 40, 0), "+x", "+y", row(2, slot_u_mm=slot_u_mm))
    return layout(room((500, 200, 300), [own], obstacles), [])


def front(x_mm: float, outer: ZoneSide | None = None) -> Layout:
    own = zone("front-zone", "front", (x_mm, 40, 60), "+z", "+y", row(2), outer=outer)
    return layout(room((x_mm, 200, 400), [own]), [])


PEG = block("peg", (317, 90, 0), (337, 110, 200), kind="peg")
RAIL = block("rail", (0, 40, 0), (25, 160, 60), states=IN_OR_OUT, kind="frame")
CORES = (exchanger(1, 30), exchanger(2, 30))
TWO = Wishes(exchangers=CORES, fans=(fan(25),))


def test_an_obstacle_that_comes_out_lets_more_in_without_a_cut() -> None:
    # The peg is 3 mm deep in the port end, and the rail 5 mm once it is turned; only the rail may
    # be taken out. Rows have one fan's face, 144 cm2; the near miss has two.
    _, answer, near = looked_for(floor(PEG, RAIL), TWO)
    assert [r.figures["area"] for r in answer.rows] == [144.0]
    assert told(near) == [["Take out rail"]]
    (miss,) = near.found
    assert (gain_text(miss), miss.row, miss.short_mm) == ("+144 cm2 face area", 1, 7.0)
    assert miss_text(miss) == "row 1 with Exchanger 2 x 120, 30 on floor zone"
    assert "is stopped by rail: overlaps 5.0 mm" in refused_text(miss)
    assert only(near).kind == "state"
    assert not any_cut(near.found)


def test_a_cut_is_named_as_one_marks_the_enclosure_and_is_the_least_that_does() -> None:
    problem, _, near = looked_for(floor(PEG, RAIL), TWO, cutting=True)
    assert told(near) == [
        ["Trim peg by 5.0 mm at its rear end (cuts the enclosure)"], ["Take out rail"],
    ]  # fmt: skip
    assert any_cut(near.found)
    miss = near.found[0]
    (cut,) = miss.relaxations
    assert (cut.kind, cut.cuts, cut.amount_mm) == ("trim", True, 5.0)
    assert cut.layout.enclosure.name == problem.base.scene.layout.enclosure.name + CUT_MARK
    less = check_layout(trim_obstacle(miss.layout, "peg", "-x", 4.9), remedies=False).report
    assert less.tight


def test_what_may_not_be_cut_stays_whole() -> None:
    board = block("board", (317, 90, 0), (337, 110, 200), kind="board")
    beam = block("beam", (0, 40, 0), (25, 160, 60), kind="frame")
    _, _, near = looked_for(floor(board, beam), TWO, cutting=True)
    assert told(near) == [[]]
    assert near.found[0].short_mm == 5.0


def test_a_smaller_margin_is_told_where_clear_was_asked_for() -> None:
    # 30 + 24 mm of 55.4 leave 1.4 mm.
    lay = front(55.4)
    _, _, near = looked_for(lay, Wishes(exchangers=(exchanger(2, 30),)))
    margin = only(near)
    assert margin.name == "Ask for a margin of 1.4 mm instead of 2.0 mm"
    assert (margin.kind, margin.amount_mm, margin.cuts) == ("margin", 0.6, False)
    more = check_layout(set_margin(near.found[0].layout, 1.5), remedies=False).report
    assert more.tight == 1
    _, answer, near = looked_for(lay, Wishes(exchangers=(exchanger(2, 30),), tight_allowed=True))
    assert [r.figures["area"] for r in answer.rows] == [288.0]
    assert near.found == ()


def test_what_is_let_in_is_judged_as_the_layout_was_whatever_the_search_judged_by() -> None:
    # As drawn 1.4 mm are left; the layout itself asks for the worst case.
    lay = front(55.4).but(settings=Settings())
    _, _, near = looked_for(lay, Wishes(exchangers=(exchanger(2, 30),), judge="nominal"))
    assert near.found[0].checked.scene.layout.settings.judge == "nominal"
    assert near.found[0].layout.settings == Settings()
    assert only(near).layout.settings == Settings(margin_mm=1.4)


def test_a_smaller_margin_is_what_the_worst_case_leaves() -> None:
    # 56 mm leave the 2 mm that are asked for, and less when dimensions are off.
    lay = front(56).but(settings=Settings())
    _, _, near = looked_for(lay, Wishes(exchangers=(exchanger(2, 30),)))
    margin = only(near)
    (miss,) = near.found
    assert (margin.kind, margin.amount_mm is not None) == ("margin", True)
    kept = round(2.0 - (margin.amount_mm or 0.0), 1)
    # The margin in whole tenths that the worst case leaves, and no more.
    assert margin.amount_mm == pytest.approx(ceil(10 * miss.short_mm - 1e-6) / 10)
    more = check_layout(set_margin(miss.layout, round(kept + 0.1, 1)), remedies=False).report
    assert more.tight


def test_fans_go_to_one_face_or_through_the_plate() -> None:
    # Push-pull alone was asked for: 25 + 30 + 25 mm, and 25 + 30 + 24 with the fittings, in 75.
    lay = front(75, ZoneSide(plate_mm=2.0, depth_mm=30.0))
    wishes = Wishes(exchangers=(exchanger(2, 30),), fans=(fan(25),), fan_places=("both",))
    _, _, near = looked_for(lay, wishes)
    # With the ports to the plate fewer things are refused, so that is what is changed.
    assert told(near)[0] == [
        "Set the fans on front zone from push-pull to push",
        "Move fans F3, F4 to the outer side of front zone",
    ]
    assert {relaxation.kind for relaxation in near.found[0].relaxations} == {"fans"}


def test_a_change_that_takes_off_the_gain_lets_nothing_in() -> None:
    # With 75 mm fans stand on one face of the core; those on both would be more, but taking them
    # off one again is the row itself.
    wishes = Wishes(exchangers=(exchanger(2, 30),), fans=(fan(25),), fan_places=("far", "both"))
    _, answer, near = looked_for(front(75), wishes, want="fans")
    assert [row.figures["fans"] for row in answer.rows] == [2.0]
    assert told(near) == [[]]
    assert gain_text(near.found[0]) == "+2 fans"


@pytest.mark.parametrize("rail", [RAIL, block("beam", (0, 40, 0), (25, 160, 60), kind="frame")])
def test_what_would_change_several_rows_alike_is_told_once(rail: Obstacle) -> None:
    # On the roof a core or fans alone trade area for fans, so there are several rows; what is kept
    # off the floor by peg and rail is the same for each.
    base = floor(PEG, rail)
    roof = zone("roof-zone", "roof", (200, 160, 300), "+x", "-y", row(1))
    base = base.but(enclosure=base.enclosure.but(zones=(*base.enclosure.zones, roof)))
    wanted = [MEASURES[key] for key in ("area", "fans", "leftover")]
    *_, last = search(base, TWO, wanted, 20.0)
    assert last.found is not None
    assert len(last.found.answer.rows) > 2
    *_, near = near_misses(last.found.problem, last.found.answer, wanted)
    told_of = [(m.zone, m.holds, tuple(f.title for f in m.refused_for)) for m in near.found]
    assert told_of
    assert len(set(told_of)) == len(told_of)
    assert bool(near.found[0].relaxations) == (rail is RAIL)


def test_the_compact_pump_lets_in_what_the_large_one_keeps_out() -> None:
    # Core 30, fan 25, plate 3: 72 mm are left of 130. The large pump is 66 mm high, its fitting 24
    # more; the compact one 40 mm, and 64 + 2 fit.
    library = Library()
    large, compact = (library.part(f"pump-{size}-plate-120") for size in ("large", "compact"))
    wishes = Wishes(
        exchangers=(exchanger(2, 30),), fans=(fan(25),), pumps=(large,), pump="required"  # type: ignore[arg-type]
    )  # fmt: skip
    _, _, near = looked_for(front(130), wishes, tuple(library.parts.values()))
    swaps = near.found[0].relaxations
    assert f"for {compact.name}" in swaps[0].name
    assert {relaxation.kind for relaxation in swaps} == {"pump"}
    _, _, near = looked_for(front(130), wishes)
    assert all(not miss.relaxations for miss in near.found)


def test_a_slide_between_the_listed_ones_is_told() -> None:
    # Listed are 0 and both ends, 8 mm. The port end needs 5 mm back, and the return end may come to
    # 29.5, 2 mm from a rail of 27.5. Turned and 8 mm ahead the port end comes to 28, and 0.5 mm of
    # margin are left.
    rail = block("rail", (0, 40, 0), (27.5, 160, 60))
    _, _, near = looked_for(floor(PEG, rail, slot_u_mm=8.0), TWO)
    by_slide = {miss.layout.stacks[0].slide_u_mm: miss.relaxations for miss in near.found}
    assert {at: [one.name for one in found] for at, found in by_slide.items()} == {
        0.0: ["Slide the stack on floor zone 5.0 mm to the rear (along -x)"],
        8.0: ["Ask for a margin of 0.5 mm instead of 2.0 mm"],
    }


def test_the_same_parts_turned_are_slid_too() -> None:
    # As it lies the exchanger comes back to a port end at 312, and 0.5 mm of margin are missing at
    # the end of its slots. Turned its port end has 1 mm to the rail at 19, and its return end, to
    # 305, may go 6.5 mm ahead.
    peg = block("peg", (313.5, 90, 0), (333.5, 110, 200), kind="peg")
    rail = block("rail", (0, 40, 0), (19, 160, 60), kind="frame")
    _, answer, near = looked_for(floor(peg, rail, slot_u_mm=8.0), TWO)
    assert [row.figures["area"] for row in answer.rows] == [144.0]
    (miss,) = near.found
    first = miss.relaxations[0]
    assert first.name == "Slide the stack on floor zone 1.0 mm to the front (along +x)"
    assert (first.kind, first.cuts, miss.slide_mm) == ("slide", False, 1.0)
    assert {item.turn for item in miss.layout.stacks[0].inner[0].items} == {2}


def test_the_largest_of_a_zone_counts_what_a_slide_lets_in() -> None:
    # As above: at the listed slides one fan's face goes in, 120 mm long, and a slide of 5 mm lets
    # in two, 240 mm. Both are 30 mm thick.
    rail = block("rail", (0, 40, 0), (27.5, 160, 60))
    lay = floor(PEG, rail, slot_u_mm=8.0)
    wanted = [MEASURES["area"]]
    *_, last = search(lay, TWO, wanted, 20.0)
    assert last.found is not None
    *_, near = near_misses(last.found.problem, last.found.answer, wanted)
    listed = summary(last.found).largest
    slid = slid_in(last.found.problem, near.found)
    told = with_slid_in(listed, slid)
    assert [one for one in told if one in listed] == [*listed]
    (more,) = [one for one in told if one not in listed]
    assert [one.mm for one in listed if one.what == "longest core"] == [120.0]
    assert (more.what, more.mm, more.zone) == ("longest core", 240.0, "floor-zone")
    assert more.option.endswith("Slide the stack on floor zone 5.0 mm to the rear (along -x)")


def test_nothing_is_near_where_everything_fits_or_nothing_could() -> None:
    _, _, near = looked_for(floor(), TWO)
    assert near.found == ()
    # Of twelve pegs 25 mm apart every place meets more than three: that is not near.
    pegs = [block(f"peg-{k}", (20 + 25 * k, 90, 0), (30 + 25 * k, 110, 200)) for k in range(12)]
    _, _, near = looked_for(floor(*pegs), TWO)
    assert near.found == ()


def test_by_worst_case_the_least_cut_is_deeper() -> None:
    lay = floor(PEG, RAIL).but(settings=Settings())
    _, _, near = looked_for(lay, TWO, cutting=True)
    cuts = [r for miss in near.found for r in miss.relaxations if r.kind == "trim"]
    (cut,) = [one for one in cuts if "peg" in one.name]
    assert cut.amount_mm is not None
    assert cut.amount_mm > 5.0
    (miss,) = [m for m in near.found if cut in m.relaxations]
    less = trim_obstacle(miss.layout, "peg", "-x", round(cut.amount_mm - 0.1, 1))
    assert check_layout(less, remedies=False).report.tight


@pytest.mark.parametrize("stop_after", [1, 5])
def test_it_can_be_stopped_at_any_yield(stop_after: int) -> None:
    wanted = [MEASURES["area"]]
    *_, last = search(floor(PEG, RAIL), TWO, wanted, 20.0)
    assert last.found is not None
    states = near_misses(last.found.problem, last.found.answer, wanted)
    seen = [next(states) for _ in range(stop_after)]
    assert not any(state.done for state in seen)
    states.close()  # type: ignore[attr-defined]


def test_what_no_change_lets_in_comes_last_and_is_told_as_such() -> None:
    board = block("board", (317, 90, 0), (337, 110, 200), kind="board")
    beam = block("beam", (0, 40, 0), (25, 160, 60), kind="frame")
    for fixed, words in (((PEG, RAIL), "under each makes it fit"), ((board, beam), "makes any of")):
        _, _, near = looked_for(floor(*fixed), TWO)
        mended = [bool(miss.relaxations) for miss in near.found]
        assert mended == sorted(mended, reverse=True)
        assert words in letting_in_text(sum(mended), len(mended))
    assert letting_in_text(1, 3).endswith("for the other 2 no single change that was tried does")


def test_what_is_missing_at_worst_only_is_told_as_such() -> None:
    """56 mm leave the 2 mm that are asked for as drawn, 55.4 mm do not."""
    for room_mm, at_worst in ((56.0, True), (55.4, False)):
        lay = front(room_mm).but(settings=Settings())
        judge: Judging = "worst case" if at_worst else "nominal"
        _, _, near = looked_for(lay, Wishes(exchangers=(exchanger(2, 30),), judge=judge))
        (miss,) = near.found
        assert near_summary(miss).at_worst == miss.at_worst == at_worst
        told = short_text(miss.short_mm, miss.at_worst, "0.6 mm")
        assert told == ("0.6 mm at worst" if at_worst else "0.6 mm")


def test_what_decides_stands_first_among_the_reasons() -> None:
    """The peg is 3 mm deep in the port end, the ledge 10 mm in what stands on the floor."""
    ledge = block("ledge", (0, 40, 20), (440, 160, 60))
    _, _, near = looked_for(floor(PEG, RAIL, ledge), TWO)
    assert near.found
    for miss in near.found:
        missing = [missing_mm(fault) for fault in miss.refused_for]
        assert missing == sorted(missing, reverse=True)
        assert missing[0] == miss.short_mm
    assert any(len(miss.refused_for) > 1 for miss in near.found)


def test_a_cut_is_no_deeper_for_what_struck_the_obstacle_before() -> None:
    # A free block is 14 mm in the peg whatever is put in: 5 mm let the core in, as without it.
    part = brick("brick", (40, 40, 40))
    alone = floor(PEG, RAIL)
    beside = layout(alone.enclosure, [part], [], [free("B", part, (311, 100, 160))])
    for lay in (alone, beside):
        *_, last = search(lay, TWO, [MEASURES["area"]], 20.0)
        assert last.found is not None
        problem, answer = last.found.problem, last.found.answer
        *_, near = near_misses(problem, answer, [MEASURES["area"]], cutting=True)
        trims = [r.name for miss in near.found for r in miss.relaxations if r.kind == "trim"]
        assert trims == ["Trim peg by 5.0 mm at its rear end (cuts the enclosure)"]


def test_what_stands_side_by_side_is_told_as_two_columns() -> None:
    # Two one-fan exchangers leave 40 mm between their cores, room for two return ends alone: the
    # port end of the one in front reaches x = 360, 3 mm into the peg, and none has room crosswise.
    own = zone("floor-zone", "floor", (50, 20, 0), "+x", "+y", row(2, apart_mm=160))
    peg = block("peg", (357, 90, 0), (377, 110, 200), kind="peg")
    lay = layout(room((600, 160, 300), [own], [peg]), [])
    wishes = Wishes(
        exchangers=(exchanger(1, 30),), fans=(fan(25),), fan_places=("far",), side_by_side=True
    )
    _, _, near = looked_for(lay, wishes, cutting=True)
    column = "Exchanger 1 x 120, 30 + Fan 120 x 25"
    assert {miss.holds for miss in near.found} == {f"{column}, beside it {column}"}


def test_the_largest_of_the_zone_that_carries_the_pump_carries_one_too() -> None:
    # A pump alone fits on the fan of one zone, so that no exchanger is the largest there.
    own = [
        zone("floor-zone", "floor", (50, 40, 0), "+x", "+y", row(1)),
        zone("roof-zone", "roof", (50, 160, 300), "+x", "-y", row(1)),
    ]
    wishes = Wishes(exchangers=(exchanger(1, 30),), fans=(fan(25),), pumps=(PUMP,), pump="required")
    *_, last = search(layout(room((500, 200, 300), own), []), wishes, [MEASURES["area"]], 20.0)
    found = last.found
    assert found is not None
    best = found.answer.rows[0].combination
    for one in found.largest:
        at = next(k for k, z in enumerate(found.problem.zones) if z.zone == one.zone)
        rest = [o for z, o in enumerate(found.problem.options(best)) if z != at]
        for most in (one.thickest, one.longest, one.deepest):
            if most is not None:
                assert sum(option.pump for option in (most[0], *rest)) == 1
