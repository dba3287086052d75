"""Colours keep the contrast of WCAG 2.2 and come from the palette of Okabe and Ito (2008)."""

from __future__ import annotations

import random

import pytest
from colour_contrast import contrast

from app.drawing.primitives import Ink
from app.drawing.theme import (
    BLACK,
    HUES,
    THEMES,
    WHITE,
    Theme,
    luminance,
    mixed,
    readable,
)

every_theme = pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)

TEXT_INKS = (Ink.TEXT, Ink.MUTED, Ink.DIMENSION, Ink.ZONE)
LINE_INKS = (Ink.OUTLINE, Ink.HIDDEN, Ink.CENTRE, Ink.FIXED, Ink.WALL, Ink.DIMENSION)
PART_TINTS = (
    Ink.EXCHANGER, Ink.PORT_END, Ink.FITTING, Ink.FAN, Ink.PUMP, Ink.OTHER_PART, Ink.FIXED,
)  # fmt: skip
VERDICTS = (Ink.BLOCKED, Ink.TIGHT, Ink.CLEAR)


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        # WCAG 2.2, definition of contrast ratio: 21:1 for black on white.
        (BLACK, WHITE, 21.0),
        # The greys on either side of the threshold for text, computed by the same formula.
        ("#767676", WHITE, 4.54),
        ("#777777", WHITE, 4.48),
        ("#d55e00", WHITE, 3.87),
        ("#0072b2", BLACK, 4.05),
    ],
)
def test_contrast_follows_the_published_formula(one: str, other: str, ratio: float) -> None:
    assert round(contrast(one, other), 2) == ratio
    assert contrast(one, other) == contrast(other, one)


def test_luminance_runs_from_black_to_white() -> None:
    assert (luminance(BLACK), luminance(WHITE)) == (0.0, pytest.approx(1.0))


def test_a_colour_is_darkened_no_more_than_its_grounds_ask_for() -> None:
    found = readable("#e69f00", {WHITE: 4.5})
    assert contrast(found, WHITE) >= 4.5
    assert contrast(mixed(found, "#e69f00", 0.05), WHITE) < 4.5


def test_a_colour_that_can_be_read_as_it_is_stays_though_it_would_pass_its_grounds() -> None:
    assert readable(WHITE, {"#777777": 4.4, "#666666": 5.0}) == WHITE


def test_the_least_mixture_is_found_wherever_the_grounds_lie() -> None:
    chance = random.Random(11)
    refused = 0
    for _ in range(400):
        colour, *grounds = (f"#{chance.randrange(1 << 24):06x}" for _ in range(4))
        ratios = {ground: chance.uniform(1.1, 6.0) for ground in grounds}
        towards = BLACK if luminance(grounds[0]) > 0.18 else WHITE
        mixtures = [mixed(colour, towards, percent / 100) for percent in range(101)]
        read = [m for m in mixtures if all(contrast(m, g) >= r for g, r in ratios.items())]
        if read:
            assert readable(colour, ratios) == read[0], (colour, ratios)
        else:
            refused += 1
            with pytest.raises(ValueError, match="cannot be read"):
                readable(colour, ratios)
    assert 20 < refused < 380


def test_a_contrast_that_nothing_reaches_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be read"):
        readable("#808080", {"#808080": 4.5, WHITE: 20.0, BLACK: 20.0})


@every_theme
@pytest.mark.parametrize("ink", TEXT_INKS + VERDICTS)
def test_text_has_four_and_a_half_to_one_on_paper(theme: Theme, ink: Ink) -> None:
    assert contrast(theme.stroke(ink), theme.paper) >= 4.5


@every_theme
@pytest.mark.parametrize("ground", PART_TINTS)
def test_labels_can_be_read_on_the_tint_of_every_part(theme: Theme, ground: Ink) -> None:
    assert contrast(theme.stroke(Ink.TEXT), theme.fill(ground)) >= 4.5


@every_theme
@pytest.mark.parametrize("ink", VERDICTS)
def test_a_balloons_number_can_be_read_on_its_own_tint(theme: Theme, ink: Ink) -> None:
    assert contrast(theme.stroke(ink), theme.fill(ink)) >= 4.5


@every_theme
@pytest.mark.parametrize("ink", LINE_INKS + VERDICTS + (Ink.SELECTION, Ink.KEEP_OUT, Ink.ZONE))
def test_lines_have_three_to_one_on_paper_and_on_parts(theme: Theme, ink: Ink) -> None:
    grounds = [theme.paper, *(theme.fill(tint) for tint in PART_TINTS)]
    assert min(contrast(theme.stroke(ink), ground) for ground in grounds) >= 3.0


@every_theme
@pytest.mark.parametrize("ink", HUES)
def test_every_hue_is_one_of_the_palette_mixed_with_black_or_white(theme: Theme, ink: Ink) -> None:
    towards = WHITE if luminance(theme.paper) < 0.18 else BLACK
    shades = {mixed(HUES[ink], towards, percent / 100) for percent in range(101)}
    assert theme.stroke(ink) in shades


@every_theme
def test_every_ink_has_a_line_and_a_tint(theme: Theme) -> None:
    assert set(theme.strokes) == set(theme.fills) == set(Ink)


def test_verdicts_are_told_apart_by_luminance_or_hue_in_every_theme() -> None:
    for theme in THEMES.values():
        assert len({theme.stroke(ink) for ink in VERDICTS}) == 3
