"""What does a move of the pointer cost while something is dragged, from the event to the paint?

The real window, offscreen, 1280 x 800, on the demo and on a hall of 200 parts: a free part, an item
of a stack and a stack in its slots are dragged with mouse events, 60 a second. A move is done when
the board is painted; it is stale when the verdict or any annotation painted is of an earlier layout
than the part's. Times are those of the window's thread, since others share the machine, of each
move the least of three drags, and by the clock beside them.
`pytest -s tests/benchmarks/test_drag_speed.py --benchmark-enable` prints the figures; the ordinary
run makes fewer moves and asserts counters, not times.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import reduce

import pytest
from drag_bench import Drag, along, dragged, walk
from large_rooms import hall

from app.demo import demo_layout
from app.ui.preferences import Preferences
from catalog.store import Library
from geometry.layout import Layout

SIZE = (1280, 800)
FEW, MANY = 24, 120
LAPS = 3
"""How often the same drag is made where it is timed."""
PATIENT = 12
"""Moves where each is given the time that it wants."""

CASES = {
    "demo, free part": ("demo", "R1", walk),
    "demo, item of a stack": ("demo", "F1", walk),
    "demo, stack in its slots": ("demo", "F1", along),
    "200 parts, free block": ("200", "b3", walk),
    "200 parts, item of a stack": ("200", "s0.A.1", walk),
    "200 parts, stack in its slots": ("200", "s0.A.1", along),
}


@pytest.fixture
def drag_case(qtbot, tmp_path, monkeypatch, request: pytest.FixtureRequest) -> Callable[..., Drag]:
    from PySide6.QtCore import QSettings
    from ui_hand import Hand

    from app.document.document import Document
    from app.ui.start import make_app
    from app.ui.window import MainWindow

    def run(name: str, *, patiently: bool = False) -> Drag:
        which, owner, step = CASES[name]
        library = Library()
        layout: Layout = demo_layout(library) if which == "demo" else hall(int(which))
        app = make_app()
        settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
        window = MainWindow(Document.new(layout), library, Preferences(settings))
        window.skin.dress(app)
        window.files.ask_about_changes = lambda: "discard"  # type: ignore[method-assign]
        qtbot.addWidget(window)
        window.resize(*SIZE)
        window.show()
        qtbot.waitUntil(lambda: window.settled_in, timeout=20_000)
        many = request.config.getoption("--benchmark-enable")
        timed = many and not patiently
        if patiently:
            monkeypatch.setattr("app.ui.board.pointer_work.FRAME_MS", 60_000.0)
            monkeypatch.setattr("app.ui.live_check.BUDGET_MS", 60_000.0)
            window.session._live._budget_ms = 60_000.0
        moves = PATIENT if patiently else MANY if many else FEW
        laps = [
            dragged(window, Hand(window, qtbot), owner, step, moves, patiently=patiently)
            for _ in range(LAPS if timed else 1)
        ]
        drag = reduce(Drag.least, laps)
        print(f"\n{drag.told(name)}")
        return drag

    return run


@pytest.mark.parametrize("name", CASES)
def test_a_move_lays_out_and_paints_only_what_it_touches(
    drag_case: Callable[..., Drag], name: str
) -> None:
    drag = drag_case(name, patiently=True)
    # Given the time, every move is painted with all of its own annotations.
    assert not any(move.stale for move in drag.moves)
    # Moves are seen, though many lead to the same place as the one before where slots end soon.
    # They paint little of the board.
    assert sum(move.paints > 0 for move in drag.moves) >= len(drag.moves) / 8
    assert drag.at("share_painted", 0.5) < 0.35
    # A hall of 200 parts has about 850 groups; a tenth of them is ample.
    assert drag.at("rebuilt", 0.5) <= 85
    # A move lays out what it touches: of 400 owners in two views, and of all their annotations.
    assert drag.at("remade", 0.5) <= 160
    # What is measured: the pairs of what moves.
    assert drag.at("pairs", 0.5) <= 120


@pytest.mark.parametrize("name", CASES)
def test_moves_at_full_speed_say_so_where_anything_painted_is_older(
    drag_case: Callable[..., Drag], name: str
) -> None:
    """How many are current hangs on the machine; that what is not says so does not."""
    drag = drag_case(name)
    assert drag.unmarked == 0
    assert sum(move.stale for move in drag.moves) < len(drag.moves)


def test_a_move_among_200_parts_rebuilds_about_as_much_as_among_a_dozen(
    drag_case: Callable[..., Drag],
) -> None:
    few, many = (
        sum(drag_case(name, patiently=True).of("rebuilt")) / PATIENT
        for name in ("demo, free part", "200 parts, free block")
    )
    print(f"{few:.1f} groups a move in the demo, {many:.1f} among 200 parts")
    assert few > 0
    assert many <= 4 * few
