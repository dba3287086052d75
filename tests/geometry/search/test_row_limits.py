"""What tolerances leave of a row, by hand and as the check of the applied row has it.

ISO 2768-1 class m: 25 mm ± 0.2, 200 mm ± 0.5.
"""

from __future__ import annotations

from math import sqrt
from statistics import NormalDist

import pytest
from odd_rooms import odd_case
from small_rooms import block, brick, fan, free, layout, room, row, zone

from geometry.checks.finding_figures import stack_figure
from geometry.checks.runner import check_layout
from geometry.layout import Layout, Settings
from geometry.search.answers import MEASURES, Row
from geometry.search.row_limits import (
    LeftInPlace,
    left_in_place,
    short_before,
    tight_at_worst,
)
from geometry.search.run import search
from geometry.search.wishes import Judging, Wishes
from geometry.search.words import in_place_lines, row_text, tight_count_text, tight_lines

FAN = fan(25.0)


def rows_of(
    *, post_x: float | None = None, judge: Judging = "worst case", tight: bool = True
) -> tuple[Row, ...]:
    """A fan on the rear wall of a room 200 mm long, before a post or the front wall."""
    rear = zone("rear-zone", "rear", (0, 140, 20), "+z", "-y", row(1))
    posts = [] if post_x is None else [block("post", (post_x, 60, 60), (post_x + 10, 100, 100))]
    lay = layout(room((200, 180, 200), [rear], posts), [], settings=Settings(judge=judge))
    wishes = Wishes(fans=(FAN,), slide_steps=1, tight_allowed=tight)
    *_, last = search(lay, wishes, [MEASURES["fans"]], 10.0)
    assert last.found is not None
    return last.found.answer.rows


def best_of(lay: Layout) -> Row:
    """Return the row with the most fans of 25 mm."""
    wishes = Wishes(fans=(FAN,), slide_steps=1, tight_allowed=True)
    *_, last = search(lay, wishes, [MEASURES["fans"]], 10.0)
    assert last.found is not None
    (best,) = last.found.answer.rows
    return best


def test_what_is_left_in_place_as_drawn_at_worst_and_statistically_by_hand() -> None:
    # 200 - 25 = 175; at worst 0.5 + 0.2 less; statistically the root of 0.25 + 0.04.
    (best,) = rows_of()
    left = left_in_place(best)
    assert left.drawn_mm == pytest.approx(175.0)
    assert left.worst_mm == pytest.approx(174.3)
    assert left.likely_mm == pytest.approx(175.0 - sqrt(0.29))
    assert (left.zone, left.beside_mm) == ("rear zone", None)
    assert left.limit.startswith("front")
    first, second = left.taking
    assert "200 ± 0.5 (71%)" in first
    assert second == "Fan 120 x 25, thickness 25 ± 0.2 (29%)"
    told, where = in_place_lines(left, 1)
    assert told == (
        "left with all in place: 175.0 mm as drawn, 174.3 mm in the worst case, statistically "
        "174.5 mm or more"
    )
    assert where.startswith("least at worst: rear zone, to front")
    assert "; most is taken by " in where
    assert "25 ± 0.2" not in where, "one dimension was asked for"


def test_of_two_stacks_that_leave_alike_either_may_be_the_least() -> None:
    # Two fans on the rear wall, one over the other: each leaves 175 mm, at worst 174.3 and by
    # itself statistically 175 - sqrt(0.5^2 + 0.2^2). Below the limit of the lesser of both falls
    # 0.135 % in all, so half of that at each: 3.205 standard deviations instead of 3 (NIST
    # handbook of statistical methods, 1.3.6.7.1, and Boole's inequality).
    tiers = [zone(f"tier-{z}", "rear", (0, 140, z), "+z", "-y", row(1)) for z in (20, 170)]
    left = left_in_place(best_of(layout(room((200, 180, 320), tiers), [], settings=Settings())))
    deviations = -NormalDist().inv_cdf(NormalDist().cdf(-3) / 2)
    assert deviations == pytest.approx(3.205, abs=0.001)
    assert left.likely_mm == pytest.approx(175.0 - deviations / 3 * sqrt(0.29), abs=1e-5)
    assert left.worst_mm == pytest.approx(174.3)


def test_of_two_stacks_one_that_leaves_much_more_changes_no_limit() -> None:
    # The upper fan leaves 175 mm, the lower 120 - 25 before a post: 0.3 for 120 mm (class m).
    tiers = [zone(f"tier-{z}", "rear", (0, 140, z), "+z", "-y", row(1)) for z in (20, 170)]
    post = block("post", (120, 60, 60), (130, 100, 100))
    left = left_in_place(best_of(layout(room((200, 180, 320), tiers, [post]), [])))
    assert left.drawn_mm == pytest.approx(95.0)
    assert left.likely_mm == pytest.approx(95.0 - sqrt(0.3**2 + 0.2**2), abs=1e-5)


def test_a_row_without_stacks_or_with_nothing_ahead_is_open() -> None:
    assert in_place_lines(LeftInPlace()) == ["left with all in place: open"]


def test_what_comes_in_from_beside_is_told_with_what_brings_it_in() -> None:
    # The fan of 120 mm stands from 20 to 140 mm, a beam from 140.3 mm on, 40 mm off the wall: 0.3
    # mm beside the way. Play of 0.5 mm and more bring it in, and 15 mm are left before it.
    rear = zone("rear-zone", "rear", (0, 140, 20), "+z", "-y", row(1))
    beam = block("beam", (40, 20, 140.3), (60, 140, 160))
    lay = layout(room((200, 180, 200), [rear], [beam]), [], settings=Settings())
    left = left_in_place(best_of(lay))
    assert left.drawn_mm == pytest.approx(175.0)
    assert left.worst_mm == pytest.approx(15.0 - 0.2 - 0.3)  # 25 ± 0.2, 40 ± 0.3
    assert (left.limit, left.beside_mm) == ("beam", pytest.approx(0.3))
    assert any("play of its screws along z" in one for one in left.bringing)
    assert not any("play" in one for one in left.taking)
    (_, where) = in_place_lines(left, 1)
    assert "to beam, 0.3 mm beside the way as drawn, brought in most by " in where


def test_what_is_tight_at_worst_is_told_with_the_dimensions_that_take_it() -> None:
    # 2.3 mm before the post at 27.3; at worst 0.2 by the fan and 0.2 by the post's place: 1.9 mm.
    (best,) = rows_of(post_x=27.3)
    told = tight_at_worst(best)
    assert told is not None
    (tight,) = told
    assert tight.short_mm == pytest.approx(0.1)
    assert "in the worst case 1.9 mm is left" in tight.title
    assert sorted(tight.taking) == [
        "Fan 120 x 25, thickness 25 ± 0.2 (50%)",
        "post, shape 1 place along x 27.3 ± 0.2 (50%)",
    ]
    assert tight_count_text(told) == "1"
    (line,) = tight_lines(told, 1)
    assert line == f"tight at worst: {tight.title}; most is taken by {tight.taking[0]}"
    found = check_layout(best.layout, remedies=False).report.findings
    assert [f.title for f in found if f.kind == "worst_case"] == [tight.title]
    assert left_in_place(best).worst_mm == pytest.approx(1.9)


def test_clear_at_worst_is_not_said_where_tolerances_were_not_looked_at() -> None:
    (best,) = rows_of(post_x=27.3, judge="nominal")
    assert tight_at_worst(best) is None
    assert tight_count_text(None) == "not judged"
    assert left_in_place(best).worst_mm == pytest.approx(1.9), "the figure is given all the same"
    (best,) = rows_of(post_x=40.0)
    assert tight_at_worst(best) == ()
    assert tight_count_text(()) == "clear"


def test_what_is_tight_as_drawn_is_tight_at_worst_too() -> None:
    # 1.5 mm before the post at 26.5, where 2 mm are asked for; 1.1 mm at worst.
    (best,) = rows_of(post_x=26.5)
    told = tight_at_worst(best)
    assert told is not None
    (tight,) = told
    assert tight.as_drawn
    assert tight.short_mm == pytest.approx(0.9)
    assert sorted(tight.taking) == [
        "Fan 120 x 25, thickness 25 ± 0.2 (50%)",
        "post, shape 1 place along x 26.5 ± 0.2 (50%)",
    ]
    assert tight_count_text(told) == "1"
    (line,) = tight_lines(told, 1)
    assert line == (
        f"tight as drawn already: {tight.title}; at worst most is taken by {tight.taking[0]}"
    )
    assert line in row_text(best)


def test_what_fell_short_before_the_search_is_not_counted_and_said_so() -> None:
    # A block from 169 to 199 mm, 1 mm before the front wall, where 2 mm are asked for.
    rear = zone("rear-zone", "rear", (0, 140, 20), "+z", "-y", row(1))
    cube = brick("cube", (30, 30, 30))
    lay = layout(
        room((200, 180, 200), [rear]), [cube], [], [free("B1", cube, (184, 60, 0))],
        settings=Settings(judge="worst case"),
    )  # fmt: skip
    best = best_of(lay)
    assert tight_at_worst(best) == ()
    assert short_before(best) == 1
    assert row_text(best).endswith("not counted: 1 gap that fell short before the search")


@pytest.mark.parametrize(
    ("seed", "kind"),
    [(362, "clearance"), (402, "leftover_depth"), (404, "clearance"), (458, "port_end")],
)
def test_rows_of_rooms_with_gaps_that_are_tight_as_drawn_are_not_called_clear(
    seed: int, kind: str
) -> None:
    case = odd_case(seed).case
    wanted = [MEASURES[name] for name in ("area", "fans", "parts")]
    *_, last = search(case.layout, case.wishes, wanted, 30.0)
    assert last.found is not None
    clear: set[bool] = set()
    kinds: set[str] = set()
    for one in last.found.answer.rows[:6]:
        report = check_layout(one.layout, remedies=False).report
        tight = {
            f.title: f.kind
            for f in report.findings
            if f.verdict.value == "tight"
            and (f.kind, f.ids) not in last.found.problem.standing
            and f.kind in ("clearance", "port_end", "leftover_depth", "worst_case")
        }
        told = tight_at_worst(one)
        assert told is not None
        assert {each.title: each.as_drawn for each in told} == {
            title: of != "worst_case" for title, of in tight.items()
        }
        clear.add(not told)
        kinds.update(tight.values())
    assert clear == {True, False}
    assert kind in kinds


@pytest.mark.parametrize("post_x", [27.0, 27.3, 40.0, None])
def test_it_is_what_the_check_says_of_the_applied_row(post_x: float | None) -> None:
    for one in rows_of(post_x=post_x):
        report = check_layout(one.layout, remedies=False).report
        figures = [stack_figure(report, depth) for depth in report.depths]
        known = [figure for figure in figures if figure is not None]
        left = left_in_place(one)
        assert left.drawn_mm == min(d.least.mm for d in report.depths)
        assert left.worst_mm == min(f.worst.worst_mm for f in known)
        assert left.likely_mm == min(f.likely_least_mm for f in known)
