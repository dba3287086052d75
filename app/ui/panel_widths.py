"""How wide the panels beside the board begin: as they were left, and never at the board's cost."""

from __future__ import annotations

from dataclasses import dataclass

from app.ui.panels.parts_panel import LEAST_PARTS_PX
from app.ui.side_panels import LEAST_WIDTH_PX

ROOMY_PX = 1280
"""In a narrower window the usual panels would leave the board less than half."""


@dataclass(frozen=True)
class PanelWidths:
    """The widths of both panels in a window of a width (px); `parts` is 0 without room for it."""

    parts: int
    right: int
    window: int

    @classmethod
    def read(cls, text: str) -> PanelWidths | None:
        """Return widths from their text; None when it is none."""
        numbers = text.split()
        if len(numbers) != 3 or not all(one.isdecimal() and int(one) for one in numbers):
            return None
        return cls(*map(int, numbers))

    @property
    def text(self) -> str:
        """The widths as they are kept."""
        return f"{self.parts} {self.right} {self.window}"

    def fitted(self, window: int, handles: int) -> PanelWidths:
        """Return the widths in a window of another width, whose handles take so much together.

        In a window as wide as this one they stay as they are. In another one, as after a start at
        another scale, a panel keeps its share of it where that makes it wider, and the board
        keeps half of the window at least.
        """
        if window == self.window:
            return self
        room = window // 2 - handles
        grown = max(1.0, window / self.window)
        share = self.right / (self.parts + self.right)
        right = max(LEAST_WIDTH_PX, min(round(self.right * grown), round(room * share)))
        parts = min(round(self.parts * grown), room - right)
        if parts < LEAST_PARTS_PX:
            return PanelWidths(0, max(LEAST_WIDTH_PX, min(self.right, room)), window)
        return PanelWidths(parts, right, window)


def usual_widths(window: int) -> PanelWidths:
    """Return how wide panels that nobody has made otherwise begin in a window with room (px)."""
    return PanelWidths(270, 350, max(window, ROOMY_PX))
