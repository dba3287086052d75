"""A window on a layout whose findings changes would mend."""

from __future__ import annotations

import pytest

from geometry.layout import Layout


@pytest.fixture
def mending(open_window, hand, qtbot):
    """A window on a layout, its remedies found; and a way to wait for a search to end."""

    def opened(shown: Layout):
        window = open_window(shown)
        hand(window).wait_for_remedies()

        def search(goal) -> None:
            window.mends.search(goal)
            qtbot.waitUntil(lambda: not window.mends.searching, timeout=60_000)

        return window, search

    return opened
