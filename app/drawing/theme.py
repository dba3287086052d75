"""Inks as colours, light, dark and for print, from the palette of Okabe and Ito.

Okabe and Ito, Color Universal Design (2002, revised 2008): hues that people with any colour
vision tell apart. Most of them are too pale or too dark to read as text, so each is mixed with
black or white until the contrast of WCAG 2.2 is reached: 4.5:1 for text (1.4.3), 3:1 for
graphics (1.4.11). Verdicts are never told by colour alone (1.4.1): hatch, line type and a word
go with them.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

from app.drawing.primitives import Ink

BLACK = "#000000"
WHITE = "#ffffff"
ORANGE = "#e69f00"
SKY_BLUE = "#56b4e9"
BLUISH_GREEN = "#009e73"
YELLOW = "#f0e442"
BLUE = "#0072b2"
VERMILLION = "#d55e00"
REDDISH_PURPLE = "#cc79a7"

TEXT_CONTRAST = 4.5
GRAPHICS_CONTRAST = 3.0


def _channels(colour: str) -> tuple[float, float, float]:
    r, g, b = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return (r, g, b)


@lru_cache(maxsize=1024)
def luminance(colour: str) -> float:
    """Return the relative luminance of "#rrggbb" by WCAG 2.2."""
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in _channels(colour)
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _ratio(one: float, other: float) -> float:
    """Return the contrast ratio of two luminances."""
    return (max(one, other) + 0.05) / (min(one, other) + 0.05)


def mixed(colour: str, towards: str, share: float) -> str:
    """Return `colour` mixed with a share (0 to 1) of another."""
    pairs = zip(_channels(colour), _channels(towards), strict=True)
    return "#" + "".join(f"{round(255 * (a + (b - a) * share)):02x}" for a, b in pairs)


def readable(colour: str, ratios: Mapping[str, float]) -> str:
    """Return `colour` mixed with as little as gives it its ratio to each ground, in steps of 1 %.

    It is mixed with black where the first ground is light, with white where it is dark. Raises
    ValueError when no such mixture can be read.
    """
    grounds = [(luminance(ground), ratio) for ground, ratio in ratios.items()]
    towards = BLACK if grounds[0][0] > 0.18 else WHITE

    def unread(percent: int, among: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
        own = luminance(mixed(colour, towards, percent / 100))
        return [(ground, ratio) for ground, ratio in among if _ratio(own, ground) < ratio]

    def mixed_from(percent: int) -> str:
        if percent > 100:
            raise ValueError(f"{colour} cannot be read on {', '.join(ratios)}")
        near = unread(percent, grounds)
        if not near:
            return mixed(colour, towards, percent / 100)
        # Mixed further it passes those that it is too near to, and then only leaves them behind;
        # but it may come near to others.
        return mixed_from(
            bisect_left(range(101), True, percent, key=lambda further: not unread(further, near))
        )

    return mixed_from(0)


TINTS: Mapping[Ink, tuple[str, float]] = {
    Ink.EXCHANGER: (SKY_BLUE, 0.24),
    Ink.PORT_END: (SKY_BLUE, 0.36),
    Ink.FITTING: (BLUE, 0.26),
    Ink.FAN: (BLUISH_GREEN, 0.19),
    Ink.PUMP: (REDDISH_PURPLE, 0.24),
    Ink.OTHER_PART: (ORANGE, 0.14),
    Ink.SELECTION: (BLUE, 0.20),
    Ink.BLOCKED: (VERMILLION, 0.16),
    Ink.TIGHT: (YELLOW, 0.20),
    Ink.CLEAR: (BLUISH_GREEN, 0.18),
    Ink.ZONE: (BLUE, 0.10),
    Ink.KEEP_OUT: (REDDISH_PURPLE, 0.10),
}
"""Hue and share of it in the tint, over the paper."""

GREY_TINTS: Mapping[Ink, float] = {Ink.WALL: 0.20, Ink.FIXED: 0.09, Ink.GRID: 0.07}
"""Share of the theme's ink in the tints that have no hue."""

HUES: Mapping[Ink, str] = {
    Ink.BLOCKED: VERMILLION,
    Ink.TIGHT: ORANGE,
    Ink.CLEAR: BLUISH_GREEN,
    Ink.SELECTION: BLUE,
    Ink.ZONE: BLUE,
    Ink.KEEP_OUT: REDDISH_PURPLE,
    Ink.EXCHANGER: BLUE,
    Ink.PORT_END: BLUE,
    Ink.FITTING: BLUE,
    Ink.FAN: BLUISH_GREEN,
    Ink.PUMP: REDDISH_PURPLE,
    Ink.OTHER_PART: ORANGE,
}
"""The hue of lines and text in an ink that has one."""


GREYS: Mapping[Ink, float] = {
    Ink.TEXT: 1.0,
    Ink.OUTLINE: 1.0,
    Ink.DIMENSION: 0.88,
    Ink.HIDDEN: 0.74,
    Ink.CENTRE: 0.70,
    Ink.MUTED: 0.76,
    Ink.WALL: 0.70,
    Ink.FIXED: 0.80,
    Ink.GRID: 0.09,
}
"""Share of the theme's ink in the lines that have no hue."""


@dataclass(frozen=True)
class Theme:
    """One set of colours, each worked out when it is first asked for."""

    name: str
    paper: str
    ink: str

    def stroke(self, ink: Ink) -> str:
        """Return the colour of lines and text in an ink."""
        return self.strokes[ink]

    def fill(self, ink: Ink) -> str:
        """Return the tint of an ink."""
        return self.fills[ink]

    @cached_property
    def fills(self) -> Mapping[Ink, str]:
        """The tint of every ink."""
        hues = {i: mixed(self.paper, hue, share) for i, (hue, share) in TINTS.items()}
        greys = {i: mixed(self.paper, self.ink, share) for i, share in GREY_TINTS.items()}
        return dict.fromkeys(Ink, self.paper) | hues | greys

    @cached_property
    def strokes(self) -> Mapping[Ink, str]:
        """The colour of lines and text in every ink, to be read on paper and tints."""
        lines_on = dict.fromkeys((self.paper, *self.fills.values()), GRAPHICS_CONTRAST)
        hues = {}
        for i, hue in HUES.items():
            text_on = dict.fromkeys((self.paper, self.fills[i]), TEXT_CONTRAST)
            hues[i] = readable(hue, {**lines_on, **text_on})
        greys = {i: mixed(self.paper, self.ink, share) for i, share in GREYS.items()}
        return dict.fromkeys(Ink, self.ink) | hues | greys | {Ink.PAPER: self.paper}


LIGHT = Theme("light", "#fcfbf7", "#16191c")
DARK = Theme("dark", "#1b1e21", "#eceeed")
PRINT = Theme("print", WHITE, BLACK)
"""White paper for sheets."""

THEMES: Mapping[str, Theme] = {theme.name: theme for theme in (LIGHT, DARK, PRINT)}
