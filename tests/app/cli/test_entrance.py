"""The entrance of the command line: words, help, window, streams, and what it never loads."""

from __future__ import annotations

import builtins
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest
from one_fan_box import one_fan_box

from app import __version__
from app.__main__ import QtDesk
from app.cli.main import COMMANDS, command_named, run
from app.cli.schema import KINDS

ROOT = Path(__file__).parents[3]
GAPWRIGHT = [sys.executable, "-m", "app"]


class NotingDesk:
    """A desk that notes what it is asked for."""

    def __init__(self) -> None:
        self.opened: list[tuple[Path | None, bool]] = []

    def open_window(self, path: Path | None, *, demo: bool) -> int:
        self.opened.append((path, demo))
        return 0

    def write_sheets(self, sheets: object, out: Path, dpi: int) -> tuple[Path, ...]:
        raise AssertionError(f"{out} was painted")


@pytest.fixture
def desk() -> NotingDesk:
    return NotingDesk()


@pytest.fixture
def box(tmp_path: Path) -> Path:
    path = tmp_path / "box.json"
    path.write_text(json.dumps(one_fan_box()), encoding="utf-8")
    return path


# --- the first word ---------------------------------------------------------------------------


def test_no_argument_opens_the_window(desk: NotingDesk) -> None:
    assert run([], desk) == 0
    assert desk.opened == [(None, False)]


def test_a_file_opens_the_window_on_it(desk: NotingDesk, box: Path) -> None:
    assert run([str(box)], desk) == 0
    assert desk.opened == [(box, False)]


def test_demo_opens_the_window_on_the_demo(desk: NotingDesk) -> None:
    assert run(["--demo"], desk) == 0
    assert desk.opened == [(None, True)]


def test_a_file_called_like_a_command_opens_by_its_path(
    desk: NotingDesk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("check").write_text(json.dumps(one_fan_box()), encoding="utf-8")
    assert run(["./check"], desk) == 0
    assert desk.opened == [(Path("check"), False)]


@pytest.mark.parametrize(
    ("argv", "told"),
    [
        (["none.json"], "there is no such file"),
        (["chekc"], "did you mean 'check'?"),
        (["--demo", "x.json"], "not both"),
        (["."], "."),
        (["help", "nope"], "'nope' is no command (there are check, "),
        (["help", "check", "sheet"], "'check sheet' is no command"),
        (["--colour"], "--colour"),
        (["check"], "FILE"),
        (["check", "a", "b"], "b"),
        (["schema", "fan"], "'fan' is no kind of file (there are layout, part"),
        (["sheet", "a.json"], "--out"),
        (["sheet", "a.json", "-o", "a.gif"], ".png"),
        (["sheet", "a.json", "-o", "a.png", "--date", "31.1."], "2026-01-31"),
        (["sheet", "a.json", "-o", "a.png", "--dpi", "9"], "50 to 1200"),
        (["sheet", "a.json", "-o", "a.png", "--paper", "A5"], "A5"),
    ],
)
def test_what_cannot_be_done_is_one_message_and_exit_two(
    argv: list[str],
    told: str,
    desk: NotingDesk,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(argv, desk) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("gapwright: ")
    assert err.count("\n") == 1
    assert told in err
    assert desk.opened == []


def test_a_file_that_holds_no_layout_opens_no_window(
    desk: NotingDesk, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    bad = tmp_path / "bad.json"
    bad.write_text('{"format": "note", "version": 1}', encoding="utf-8")
    assert run([str(bad)], desk) == 2
    assert capsys.readouterr().err.startswith(f"gapwright: {bad}: format: ")
    assert desk.opened == []


@pytest.mark.parametrize(
    "argv", [["parts", "zzz"], ["parts", "--frame", "50"], ["enclosures", "zz"]]
)
def test_a_list_without_an_answer_is_told_and_ends_with_four(
    argv: list[str], desk: NotingDesk, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(argv, desk) == 4
    out, err = capsys.readouterr()
    assert out == ""
    thing = argv[0].removesuffix("s")
    told = f"no {thing} of the library matches (see `gapwright {argv[0]}`)"
    assert err == f"gapwright: {told}\n"
    assert run([*argv, "--json"], desk) == 4
    assert json.loads(capsys.readouterr().out)[argv[0]] == []


def test_thin_is_another_word_for_slim(
    desk: NotingDesk, capsys: pytest.CaptureFixture[str]
) -> None:
    printed = []
    for word in ("thin", "slim"):
        assert run(["parts", word, "240"], desk) == 0
        printed.append(capsys.readouterr().out.splitlines())
    assert sorted(printed[0]) == sorted(printed[1])


# --- help -------------------------------------------------------------------------------------


@pytest.mark.parametrize("words", [[], ["check"]])
def test_help_is_a_word_too(
    words: list[str], desk: NotingDesk, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["help", *words], desk) == 0
    asked = capsys.readouterr().out
    assert run([*words, "--help"], desk) == 0
    assert asked == capsys.readouterr().out
    assert desk.opened == []


def test_version(desk: NotingDesk, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"], desk) == 0
    assert capsys.readouterr().out == f"gapwright {__version__}\n"


def test_overview_lists_every_command(desk: NotingDesk, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--help"], desk) == 0
    out = capsys.readouterr().out
    for name in COMMANDS:
        assert f"  {name:<12}{command_named(name).summary}" in out.splitlines()
    assert desk.opened == []


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_has_help_with_examples_that_parse(
    name: str, desk: NotingDesk, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([name, "--help"], desk) == 0
    out = capsys.readouterr().out
    assert out.startswith(f"usage: gapwright {name}")
    assert max(map(len, command_named(name).about.splitlines())) <= 100
    examples = [line.split() for line in command_named(name).examples.splitlines()]
    own = [words for words in examples if words[:2] == ["gapwright", name]]
    assert own
    for words in own:
        argv = words[2 : words.index(">")] if ">" in words else words[2:]
        assert command_named(name).parser().parsed(argv) is not None


def test_an_exchanger_with_thicker_tanks_is_told_with_both(
    desk: NotingDesk, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["parts", "2x120", "--kind", "exchanger"], desk) == 0
    lines = capsys.readouterr().out.splitlines()
    slim = next(line for line in lines if line.startswith("exchanger-2x120-20 "))
    assert "280 x 120 x 20 core, 27 at the tanks" in slim
    assert sum("at the tanks" in line for line in lines) == 1


# --- schemas ----------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_schemas_are_sound(kind: str, desk: NotingDesk, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["schema", kind], desk) == 0
    schema = json.loads(capsys.readouterr().out)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(schema)


# --- as a process -----------------------------------------------------------------------------


def process(*argv: str, **kwargs: object) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([*GAPWRIGHT, *argv], cwd=ROOT, capture_output=True, timeout=60, **kwargs)  # type: ignore[call-overload]


def test_check_loads_no_qt(box: Path) -> None:
    code = (
        "import sys\n"
        "from app.__main__ import main\n"
        f"sys.argv = ['gapwright', 'check', {str(box)!r}]\n"
        "code = main()\n"
        "loaded = sorted(n for n in sys.modules if n.split('.')[0] in ('PySide6', 'shiboken6'))\n"
        "sys.exit(f'{code} {loaded}' if code or loaded else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "0 blocked" in done.stdout


def test_output_is_utf8_where_the_system_is_not(tmp_path: Path) -> None:
    layout = one_fan_box()
    layout["name"] = "Prüfstand 箱"
    path = tmp_path / "箱.json"
    path.write_text(json.dumps(layout), encoding="utf-8")
    env = os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = process("check", str(path), env=env)
    assert done.returncode == 0, done.stderr
    assert "Prüfstand 箱" in done.stdout.decode("utf-8")


@pytest.mark.skipif(os.name == "nt", reason="pipes end in another way there")
def test_a_reader_that_stops_reading_is_no_fault() -> None:
    line = "{ " + " ".join(GAPWRIGHT) + " schema layout; echo code $? >&2; } | head -n 1"
    done = subprocess.run(["bash", "-c", line], cwd=ROOT, capture_output=True, text=True)
    assert done.stdout == "{\n"
    assert done.stderr == "code 0\n"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the system has no full device")
def test_output_to_a_full_disk_is_told_and_ends_with_two() -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [*GAPWRIGHT, "parts"], cwd=ROOT, stdout=full, stderr=subprocess.PIPE, text=True
        )
    assert done.returncode == 2
    assert done.stderr.startswith("gapwright: standard output: cannot be written: no space left")
    assert done.stderr.count("\n") == 1


@pytest.mark.skipif(os.name == "nt", reason="no signals of this kind there")
def test_interrupt_ends_it_with_a_word() -> None:
    code = (
        "import signal, sys, time\n"
        # What a shell runs in the background begins deaf to interrupts, and so do its children.
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "import app.cli.check as check\n"
        "def slow(path):\n"
        "    print('ready', flush=True)\n"
        "    time.sleep(30)\n"
        "check.read_layout = slow\n"
        "from app.__main__ import main\n"
        "sys.argv = ['gapwright', 'check', 'x.json']\n"
        "sys.exit(main())\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        text=True,
    ) as going:  # fmt: skip
        assert going.stdout is not None
        assert going.stdout.readline() == "ready\n"
        time.sleep(0.05)
        going.send_signal(signal.SIGINT)
        _, err = going.communicate(timeout=20)
    assert (going.returncode, err) == (130, "gapwright: stopped\n")


def test_a_folder_with_letters_of_any_script(tmp_path: Path) -> None:
    folder = tmp_path / "Prüfstände 箱"
    folder.mkdir()
    (folder / "box.json").write_text(json.dumps(one_fan_box()), encoding="utf-8")
    done = subprocess.run(
        [*GAPWRIGHT, "check", "box.json", "--json"],
        cwd=folder,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["layout"] == "One-fan box"


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere there is always a screen")
def test_no_screen_is_told_and_what_to_do_without_one(box: Path) -> None:
    screens = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    env = {name: value for name, value in os.environ.items() if name not in screens}
    done = process(str(box), env=env)
    assert done.returncode == 2
    assert done.stderr.startswith(b"gapwright: there is no screen")
    assert b"gapwright check" in done.stderr


def test_a_missing_system_library_is_told_with_its_mend(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def missing(*_: object) -> None:
        raise ImportError("libEGL.so.1: cannot open shared object file")

    desk = QtDesk()
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    monkeypatch.setattr("builtins.__import__", _refusing("app.ui.start", missing))
    assert run(["--demo"], desk) == 2
    err = capsys.readouterr().err
    assert "libEGL.so.1" in err
    assert "README" in err


def _refusing(refused: str, refuse: Callable[[], None]) -> Callable[..., object]:
    usual = builtins.__import__

    def imported(name: str, *args: object, **kwargs: object) -> object:
        if name == refused:
            refuse()
        return usual(name, *args, **kwargs)  # type: ignore[arg-type]

    return imported


# --- the end of the process -------------------------------------------------------------------


@pytest.mark.parametrize(("words", "ended"), [([], True), (["checks"], False)])
def test_only_a_window_ends_in_order(words: list[str], ended: bool) -> None:
    # What is copied is handed on to the system's clipboard as the program ends in order.
    done = _ended("'ended in order'", words)
    assert (done.returncode, done.stderr) == (0, "")
    assert ("ended in order" in done.stdout) is ended


def test_a_window_ends_without_a_search_for_cycles_in_all_that_was_loaded() -> None:
    done = _ended("len(gc.get_objects())", [])
    assert (done.returncode, done.stderr) == (0, "")
    assert int(done.stdout) < 1000


def _ended(told: str, words: list[str]) -> subprocess.CompletedProcess[str]:
    """Run a process whose window closes at once, and which tells something as it ends in order."""
    code = (
        "import atexit, gc, sys\n"
        "import app.ui.start\n"
        "from app.__main__ import run_process\n"
        "app.ui.start.run_window = lambda document, path, demo: 0\n"
        f"atexit.register(lambda: print({told}))\n"
        f"sys.argv = ['gapwright', *{words}]\n"
        "run_process()\n"
    )
    return subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env=os.environ | {"QT_QPA_PLATFORM": "offscreen"},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
