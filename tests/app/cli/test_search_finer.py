"""What excludes what of two zones more finely, as a table: no choice is told in two ways."""

from __future__ import annotations

import numpy as np
import pytest
from no_desk import ran

from app.cli.search_finer import finer_table
from geometry.search.finer_exclusions import Choice, FinerExclusions

CORE = "exchanger 2 fans long"
NAMES = ("front wall", "floor")


def test_a_choice_that_a_rule_excludes_is_not_with_everything() -> None:
    with_pump = Choice(CORE, (27.0,), ("push",), pump=True)
    pump, thicker = Choice("pump", pump=True), Choice(CORE, (30.0,), ("push",))
    # 10 x 4 = 40 pairs hold two pumps; of 5,000 x 5,000 pairs all but a thousand do not fit.
    finer = FinerExclusions(
        ("front", "floor"),
        ((with_pump, thicker), (pump, thicker)),
        (np.array([10, 5000]), np.array([4, 5000])),
        np.array([[40, 0], [0, 24_999_000]]),
    )
    assert finer_table(finer, NAMES, 100) == [
        "what excludes what of front wall and floor, by thickness and fans:",
        'a figure: so many % of their ways do not go together; ".": all of their ways do; '
        "rule: never, as",
        "each holds a pump",
        "   floor",
        "A  pump",
        f"B  {CORE}, 30 mm, push",
        "",
        "   A     B  front wall",
        f"rule     .  {CORE}, 27 mm, push",
        f"   .  99.9  {CORE}, 30 mm, push",
    ]


def test_alike_choices_share_a_line_and_what_excludes_nothing_stands_below() -> None:
    fans = ("no fans", "push", "pull")
    thick = tuple(Choice(CORE, (45.0,), (way,)) for way in fans)
    finer = FinerExclusions(
        ("front", "floor"),
        ((Choice("empty"), *thick), (Choice("1 fan alone"), Choice("2 fans alone"))),
        (np.array([1, 4, 4, 4]), np.array([3, 5])),
        np.array([[0, 0], [0, 20], [0, 1], [0, 20]]),
    )
    assert finer_table(finer, NAMES, 72)[3:] == [
        "   floor",
        "A  2 fans alone",
        "",
        "    A  front wall",
        f"never  {CORE}, 45 mm, no fans / pull",
        f"  5.0  {CORE}, 45 mm, push",
        "",
        "front wall, with everything on floor:",
        "  empty",
        "",
        "floor, with everything on front wall:",
        "  1 fan alone",
    ]


def test_many_columns_are_set_in_several_tables_none_wider_than_the_terminal() -> None:
    columns = tuple(Choice(CORE, (10.0 + k,), ("push",)) for k in range(30))
    finer = FinerExclusions(
        ("front", "floor"),
        ((Choice("1 fan alone"),), columns),
        (np.array([1000]), np.full(30, 1)),
        np.arange(1, 31).reshape(1, 30) * 10,
    )
    told = finer_table(finer, NAMES, 100)
    assert max(map(len, told)) <= 100
    tops = [line.split() for line in told if line.endswith("front wall")]
    assert [letter for top in tops for letter in top[:-2]] == [
        *"ABCDEFGHIJKLMNOPQRSTUVWXYZ",
        "AA", "AB", "AC", "AD",
    ]  # fmt: skip
    rows = [line.split()[:-3] for line in told if line.endswith("1 fan alone")]
    assert [float(cell) for row in rows for cell in row] == [float(k) for k in range(1, 31)]


@pytest.mark.parametrize("zones", [("side-zone", "roof-zone"), ("roof-zone", "side-zone")])
def test_a_zone_that_is_not_searched_is_refused_by_its_name(
    capsys: pytest.CaptureFixture[str], zones: tuple[str, str]
) -> None:
    small = ("search", "--enclosure", "small-cube", "--slides", 1, "--parts", "fan-120-25")
    code, out, err = ran(capsys, *small, "--zones", "side-zone", "--finer", *zones)
    assert (code, out) == (2, "")
    assert "roof is not searched (--zones asks for " in err
