"""What excludes what of two zones more finely, as a table: no choice is told in two ways."""

from __future__ import annotations

import re
from itertools import product

import numpy as np
import pytest
from no_desk import ran

from app.cli.search_finer import _lines, _told, finer_table
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
        f"front wall, with everything on floor but a pump: {CORE}, 27 mm, push",
        "floor, with everything on front wall but a pump: pump",
        "a figure: so many % of their ways do not go together",
        "floor:",
        f"  {CORE}: A 30 mm, push",
        "",
        "front wall                             A",
        f"{CORE}, 30 mm, push  99.9",
    ]


def test_what_holds_a_pump_and_does_not_fit_with_all_else_stands_in_the_table() -> None:
    pump, core = Choice("pump", pump=True), Choice(CORE, (30.0,), ("push",))
    finer = FinerExclusions(
        ("front", "floor"),
        ((pump, core), (pump, core)),
        (np.array([10, 10]), np.array([4, 5])),
        np.array([[40, 50], [20, 0]]),
    )
    assert finer_table(finer, NAMES, 100) == [
        "what excludes what of front wall and floor, by thickness and fans:",
        "rule: never, as each holds a pump; never: none of their ways go together; a figure: so "
        "many % of",
        'their ways do not go together; ".": all of their ways do',
        "floor:",
        "  A pump",
        f"  {CORE}: B 30 mm, push",
        "",
        "front wall                             A      B",
        "pump                                rule  never",
        f"{CORE}, 30 mm, push  50.0      .",
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
        "floor:",
        "  A 2 fans alone",
        "",
        "front wall                   A",
        CORE,
        "  45 mm, no fans / pull  never",
        "  45 mm, push              5.0",
        "",
        "front wall, with everything on floor: empty",
        "floor, with everything on front wall: 1 fan alone",
    ]


def _expanded(pattern: str, words: str) -> list[str]:
    """Name each of some choices that are named together."""
    if not pattern:
        return words.split(" or ")
    made = []
    for part in words.split(" or "):
        if " and " in part:
            made.append(f"{pattern}, {part}")
            continue
        mm, _, fans = part.partition(" mm, ")
        every = product(mm.split(" / "), fans.split(" / "))
        made += [f"{pattern}, {one} mm, {fan}" for one, fan in every]
    return made


@pytest.mark.parametrize("seed", range(8))
def test_each_choice_stands_in_one_line_with_those_that_are_alike(seed: int) -> None:
    random = np.random.default_rng(seed)
    plain = (Choice("empty"), Choice("1 fan alone"), Choice("pump alone", pump=True))
    thick = tuple(
        Choice(pattern, (mm,), (way,), pump)
        for pattern, pump in (("exchanger 1 fan long", False), (f"{CORE} + pump", True))
        for mm in (20.0, 27.5, 45.0)
        for way in ("no fans", "push", "push-pull, across the plate")
    )
    beside = tuple(
        Choice("two exchangers", (20.0, mm), ("push", way))
        for mm in (30.0, 45.0)
        for way in ("pull", "push")
    )
    choices = (*plain, *thick, *beside)
    many = len(choices)
    signs = np.array([".", "37.0", "never"])
    cells = signs[random.choice(3, (many, 4), p=(0.7, 0.2, 0.1))]
    cells[[choice.pump for choice in choices], 0] = "rule"
    cells[random.integers(0, many, 9)] = cells[random.integers(0, many, 9)]
    rows = cells.tolist()
    lines = _lines(choices, rows)
    for line in lines:
        assert len({tuple(rows[k]) for k in line.numbers}) == 1
        words = [choices[k].words for k in line.numbers]
        assert sorted(_expanded(line.pattern, line.words)) == sorted(words)
    # What is left out of the lines is told apart: a rule alone excludes some of it, or nothing.
    listed = [k for line in lines for k in line.numbers]
    left = [k for k in range(many) if {*rows[k]} <= {"rule", "."}]
    assert sorted([*listed, *left]) == list(range(many))
    told = [
        words
        for entry in _told([choices[k] for k in left])
        for words in _expanded(
            next((c.pattern for c in choices if entry.startswith(f"{c.pattern}, ")), ""),
            re.sub(r"^.*?, (?=\d)", "", entry),
        )
    ]
    assert sorted(told) == sorted(choices[k].words for k in left)


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
    tops = [line.split()[2:] for line in told if line.startswith("front wall ")]
    assert [letter for top in tops for letter in top] == [
        *"ABCDEFGHIJKLMNOPQRSTUVWXYZ",
        "AA", "AB", "AC", "AD",
    ]  # fmt: skip
    rows = [line.split()[3:] for line in told if line.startswith("1 fan alone ")]
    assert [float(cell) for row in rows for cell in row] == [float(k) for k in range(1, 31)]


@pytest.mark.parametrize("zones", [("side-zone", "roof-zone"), ("roof-zone", "side-zone")])
def test_a_zone_that_is_not_searched_is_refused_by_its_name(
    capsys: pytest.CaptureFixture[str], zones: tuple[str, str]
) -> None:
    small = ("search", "--enclosure", "small-cube", "--slides", 1, "--parts", "fan-120-25")
    code, out, err = ran(capsys, *small, "--zones", "side-zone", "--finer", *zones)
    assert (code, out) == (2, "")
    assert "roof is not searched (--zones asks for " in err
