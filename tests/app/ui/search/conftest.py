"""The panel of what fits on a small room, before a search and after one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import pytest
from facing_fans import IDS, PARTS, WANTED, two_zones
from search_hand import choose_parts

from app.ui.search.worker import SearchOrder, Told, tellings
from geometry.search.wishes import Wishes, wishes_from

if TYPE_CHECKING:
    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow


@pytest.fixture(scope="session")
def told() -> list[Told]:
    """What the search of the panel below tells, worked out once."""
    wishes = wishes_from(PARTS, Wishes(slide_steps=1, zones=("front-zone", "rear-zone")))
    return list(tellings(SearchOrder(two_zones(), wishes, WANTED, 20.0, near=True)))


@pytest.fixture
def opened(open_window: Callable[..., MainWindow]) -> Iterator[tuple[MainWindow, SearchPanel]]:
    """A window with the panel open, set up to search both zones with three parts."""
    window = open_window(two_zones())
    window.fits.open()
    assert window.fits.dock is not None
    panel = window.fits.dock.panel
    choose_parts(panel.setup.parts, "chosen", IDS)
    panel.setup.slides.setCurrentIndex(panel.setup.slides.findData(1))
    for key, box in panel.setup.wanted.items():
        box.setChecked(key in WANTED)
    yield window, panel
    panel.close_job()


@pytest.fixture
def searched(
    opened: tuple[MainWindow, SearchPanel], told: list[Told], monkeypatch: pytest.MonkeyPatch
) -> tuple[MainWindow, SearchPanel]:
    """The same after a search, whose words were worked out in this process."""
    window, panel = opened
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    panel.search()
    for one in told:
        panel.job.told.emit(one)
    panel.job.finished.emit()
    return window, panel
