"""How far parts may sit off in the holes by which they are screwed on, worked by hand.

M4 in holes of 4.5 mm (ISO 273 medium fit) has 0.25 mm each way, so two parts screwed to each other
are off by 0.5 mm at most: the clearance of a floating fastener, hole less screw, as in the
formulas of ASME Y14.5 for two clearance holes (from memory).
"""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import pytest
from small_rooms import block, brick, exchanger, fan, fan_layer, free, layout, one, room, row, zone
from small_rooms import stack as stack_of

from geometry.checks.runner import check_layout
from geometry.layout import Held, Layer, Layout
from geometry.stackup.stack_ups import Figure
from geometry.stackup.words import contributor_words, told_apart

FAN = fan().but(id="fan", name="Fan")
CORE = exchanger(2, 30, port_facing="-z").but(id="x", name="Exchanger", ports=())


def beside_a_post(*layers: Layer) -> Layout:
    """A stack for two fans on the floor, from x = 40 to 280 but for end tanks; a post at x = 330.

    The post is as tall as the room.
    """
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(2))
    post = block("post", (330, 40, 0), (340, 160, 150))
    enclosure = room((400, 200, 150), [floor], [post])
    return layout(enclosure, [CORE, FAN], [stack_of("S", "floor-zone", *layers)])


def gap_between(of: Layout, first: str, second: str) -> Figure:
    """Return the figure of the bodies of two things."""
    survey = check_layout(of).report.survey
    assert survey is not None
    assert survey.tolerances is not None
    solids = {s.owner: s for s in reversed(survey.scene.solids)}
    return survey.tolerances.between((solids[first],), (solids[second],))


def plays(figure: Figure) -> list[tuple[str, str, float]]:
    return [
        (c.owner, c.path, c.loss_mm)
        for c in figure.worst.contributors
        if c.path.startswith("screw_play")
    ]


ROW_A = fan_layer("A", FAN, ["c1", "c2"])
ROW_B = fan_layer("B", FAN, ["c1", "c2"])


@pytest.mark.parametrize(
    ("layers", "item", "expected"),
    [
        ([ROW_A], "A.2", ["A.1"]),
        # Long screws go through the fans: the exchanger hangs on the floor by its own play.
        ([ROW_A, one("E1", CORE)], "E1", ["E1"]),
        # Fans on the far face are screwed to the exchanger, and sit off with it.
        ([ROW_A, one("E1", CORE), ROW_B], "B.2", ["B.1", "E1"]),
        ([ROW_A, one("E1", CORE), ROW_B], "A.2", ["A.1"]),
        ([ROW_A, ROW_B], "B.2", ["B.1"]),
    ],
)
def test_each_joint_adds_its_play(layers: list[Layer], item: str, expected: list[str]) -> None:
    figure = gap_between(beside_a_post(*layers), item, "post")
    assert plays(figure) == [(owner, "screw_play[0]", 0.5) for owner in expected]


def test_play_in_the_sums_of_a_gap() -> None:
    # The second fan ends at 280, 50 before the post. Off may be: the post's place 330 +-0.5, the
    # screws' play +-0.5, the zone's place 40 +-0.3, the cell's 180 +-0.5, half the frame 120
    # +-0.15: 1.95. By root sum square 0.25 + 0.25 + 0.09 + 0.0225 and, for the play, 3 x 0.25,
    # since it is uniform: three standard deviations are sqrt(3) x 0.5.
    figure = gap_between(beside_a_post(ROW_A), "A.2", "post")
    assert figure.nominal.nominal_mm == pytest.approx(50.0)
    assert figure.worst.worst_mm == pytest.approx(50 - 1.95)
    assert figure.nominal.spread_mm == pytest.approx(sqrt(0.25 + 0.25 + 0.09 + 0.0225 + 0.75))


def test_play_along_the_stack_there_is_none() -> None:
    of = beside_a_post(ROW_A, one("E1", CORE), ROW_B)
    assert plays(gap_between(of, "B.1", "roof")) == []


@pytest.mark.parametrize(
    ("by", "expected"),
    [
        ("holes", [("A", "screw_play[0]", 0.5)]),
        ("zone cells", [("A", "screw_play[0]", 0.5)]),
        ("clamp", []),
        ("adhesive", []),
    ],
)
def test_a_free_part_has_play_where_it_is_screwed_on(by: str, expected: list[object]) -> None:
    cube = brick("cube", (40, 40, 40))
    held = Held(by=by, on="floor")  # type: ignore[arg-type]
    frees = [free("A", cube, (100, 100, 0), held=held), free("B", cube, (150, 100, 0))]
    of = layout(room((300, 200, 200)), [cube], frees=frees)
    assert plays(gap_between(of, "A", "B")) == expected
    # Screws on the floor stand upright, so nothing is off that way.
    assert plays(gap_between(of, "A", "roof")) == []


def test_play_in_words() -> None:
    (play,) = (
        c for c in gap_between(beside_a_post(ROW_A), "A.2", "post").worst.contributors if c.uniform
    )
    assert contributor_words(play) == "Fan, play of its screws along x 0 ± 0.5"


def test_names_that_several_owners_share_are_told_with_the_ids_of_these() -> None:
    (play,) = (
        c for c in gap_between(beside_a_post(ROW_A), "A.2", "post").worst.contributors if c.uniform
    )
    other, post = replace(play, owner="B"), replace(play, owner="post", name="post")
    told = told_apart([play, other, play, post])
    assert [one.name for one in told] == [f"Fan ({play.owner})", "Fan (B)", told[0].name, "post"]
    # Two dimensions of one owner are told by what they are.
    assert told_apart([play, replace(play, path="thickness_mm")])[0].name == "Fan"
