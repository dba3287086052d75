"""How long do a check and the window take to start, against the least that their libraries cost?

The floor of a check is a bare interpreter that imports numpy, shapely and pydantic and builds forty
flat models, each with its validator, as a program with forty kinds of value in its files must; both
are counted from the start of the process to its end. The floor of the window is the same with a
bare graphics view shown after it; both are counted from the start of the process until the view and
what lies round it have been painted for the first time. What their ends cost is told beside it, and
how the window stands to a view that only imports: `import pydantic` alone loads little of it, so
this counts what any model needs, and all of ours, as the window's own.

The target is 1.5 times the floor. Seconds are those of the processor, the least of some runs by
turns; they go to the report, and the tests assert ratios with room to spare, since a machine that
does other work has its caches full.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

import pytest

from app.demo import demo_layout
from catalog.store import Library
from geometry.layout_file import write_layout

ROOT = Path(__file__).parents[2]
ROUNDS = 5
TARGET = 1.5
MOST = 1.8
MOST_WINDOW = 2.2
MOST_TO_IMPORTS = 2.5

IMPORTS = """
import numpy, shapely, pydantic
"""

FLOOR = (
    IMPORTS
    + """
for number in range(40):
    pydantic.create_model(
        f"Flat{number}",
        __config__=pydantic.ConfigDict(frozen=True, extra="forbid", strict=True),
        **{f"side_{k}_mm": (float, pydantic.Field(gt=0, le=10_000)) for k in range(6)},
        name=(str, "flat"),
    )
"""
)

TELL_FIRST_PAINT = """
import time
def tell_first_paint(view):
    from PySide6.QtCore import QTimer
    paint = view.paintEvent
    def paint_and_tell(self, event):
        view.paintEvent = paint
        paint(self, event)
        QTimer.singleShot(0, tell)
    view.paintEvent = paint_and_tell
def tell():
    print(time.process_time(), flush=True)
    from PySide6.QtCore import QCoreApplication
    QCoreApplication.quit()
"""
"""Tells the processor's seconds of the process so far once a view and all round it are painted.

The painting of the view itself is watched: for an event filter Qt would make Python objects of all
that gets events, which costs as much as a tenth of the bare view's start.
"""

VIEW = (
    """
from PySide6.QtWidgets import QApplication, QGraphicsScene, QGraphicsView
class View(QGraphicsView):
    pass
"""
    + TELL_FIRST_PAINT
    + """
tell_first_paint(View)
app = QApplication([])
view = View(QGraphicsScene())
view.resize(1280, 800)
view.show()
app.exec()
"""
)

BARE_WINDOW = FLOOR + VIEW

WINDOW = (
    TELL_FIRST_PAINT
    + """
import sys
sys.argv = ["gapwright", "--demo"]
from app.__main__ import run_process, start_quickly
start_quickly(algebra=False)
from app.document.document import Document
new = Document.new
def new_and_watch(layout):
    document = new(layout)
    from app.ui.board.view import BoardView
    tell_first_paint(BoardView)
    return document
Document.new = new_and_watch
run_process()
"""
)
"""The watch is put on once the layout has been read, which is when the program loads Qt."""


def _spent() -> float:
    """Return the processor's seconds of all processes ended so far; the clock's on Windows."""
    if sys.platform == "win32":
        return time.perf_counter()
    import resource

    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


class Run(NamedTuple):
    """What one process spent from its start to its end, in seconds, and what it said."""

    seconds: float
    said: bytes


def runs(
    commands: Mapping[str, Sequence[str]], codes: Mapping[str, int], bytecode: Path
) -> dict[str, list[Run]]:
    """Run each command some times, by turns so that all meet the same load.

    Seconds are those that the processor spent on it, where the system counts them, so that what
    else the machine does is left out. Byte code is kept in a folder of their own, and a first round
    that fills it is not counted.
    """
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    env["PYTHONPYCACHEPREFIX"] = str(bytecode)
    done: dict[str, list[Run]] = {name: [] for name in commands}
    for _ in range(ROUNDS + 1):
        for name, command in commands.items():
            start = _spent()
            ran = subprocess.run(command, cwd=ROOT, env=env, capture_output=True)
            done[name].append(Run(_spent() - start, ran.stdout))
            assert ran.returncode == codes[name], ran.stderr
    return {name: counted[1:] for name, counted in done.items()}


@pytest.fixture
def demo_file(tmp_path: Path) -> Path:
    path = tmp_path / "demo.json"
    write_layout(path, demo_layout(Library()))
    return path


def test_check_starts_in_little_more_than_its_libraries(
    demo_file: Path, tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    done = runs(
        {
            "floor": [sys.executable, "-c", FLOOR],
            "check": [sys.executable, "-m", "app", "check", str(demo_file)],
        },
        {"floor": 0, "check": 1},
        tmp_path / "bytecode",
    )
    taken = {name: min(run.seconds for run in counted) for name, counted in done.items()}
    ratio = taken["check"] / taken["floor"]
    told = _in_ms(taken)
    print(f"\nstart-up: {told}, ratio {ratio:.2f} (target {TARGET})")
    record_property("start-up", {**told, "ratio": round(ratio, 2)})
    assert ratio < MOST


def test_window_is_painted_in_little_more_than_a_bare_view(
    tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    done = runs(
        {
            "view that only imports": [sys.executable, "-c", IMPORTS + VIEW],
            "bare view": [sys.executable, "-c", BARE_WINDOW],
            "window": [sys.executable, "-c", WINDOW],
        },
        {"view that only imports": 0, "bare view": 0, "window": 0},
        tmp_path / "bytecode",
    )
    taken = {name: min(float(run.said) for run in counted) for name, counted in done.items()}
    ended = {name: min(run.seconds for run in counted) for name, counted in done.items()}
    ratio = taken["window"] / taken["bare view"]
    to_imports = taken["window"] / taken["view that only imports"]
    with_end = ended["window"] / ended["bare view"]
    told = _in_ms(taken)
    print(f"\nfirst paint: {told}, ratio {ratio:.2f} (target {TARGET})")
    print(f"to the view that only imports: {to_imports:.2f}")
    print(f"with the end of the process: {_in_ms(ended)}, ratio {with_end:.2f}")
    rounded = {"ratio": round(ratio, 2), "ratio to imports": round(to_imports, 2)}
    record_property("first paint", {**told, **rounded})
    assert ratio < MOST_WINDOW
    assert to_imports < MOST_TO_IMPORTS


def _in_ms(taken: Mapping[str, float]) -> dict[str, str]:
    return {name: f"{seconds * 1000:.0f} ms" for name, seconds in taken.items()}


TELL_WHAT_IS_THERE = """
    import enum, sys
    print(*sys.modules, *(one.__qualname__ for one in enum.Enum.__subclasses__()), flush=True)
"""
"""Tells the modules that are loaded, and the kinds of Qt's enums that have been made."""


def test_window_is_painted_before_what_only_later_work_needs_is_loaded() -> None:
    told = "print(time.process_time(), flush=True)"
    code = WINDOW.replace(told, TELL_WHAT_IS_THERE)
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    loaded = set(done.stdout.split())
    assert {"geometry.checks.runner", "QPalette.ColorRole"} <= loaded
    later = {
        # Loaded with the first schema of a model.
        "pydantic.plugin._loader",
        "importlib.resources",
        "platformdirs",
        "socket",
        "app.document.unsaved",
        "geometry.drop",
        "geometry.layout_file",
        "geometry.snap",
        "geometry.remedies",
        "geometry.checks.finding_figures",
        "geometry.stackup.figures",
        "geometry.stackup.stack_ups",
        "geometry.search",
        "app.ui.panels.stack_panel",
        "app.ui.cut_entry",
        "app.ui.recovery",
        "app.ui.zone_menu",
        "app.ui.window_keys",
        "QGradient.Preset",
    }
    assert loaded & later == set()


def test_check_loads_nothing_that_it_does_not_need(demo_file: Path) -> None:
    code = (
        "import sys\n"
        "from app.__main__ import main\n"
        f"sys.argv = ['gapwright', 'check', {str(demo_file)!r}]\n"
        "assert main() == 1\n"
        "print('\\n'.join(sys.modules), file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    loaded = set(done.stderr.split())
    heavy = {
        "PySide6",
        "app.ui",
        "app.paint",
        "app.sheet",
        "app.drawing",
        "catalog.store",
        "asyncio",
    }
    assert loaded & heavy == set()
