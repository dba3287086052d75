"""What holds for the tree as a whole: its shape, its layers, its documents."""

from __future__ import annotations

import importlib
import os
import pkgutil
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from app import __version__
from app.cli.main import COMMANDS

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

MOST_LINES = 500
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml",
    "app", "geometry", "catalog", "tests", "assets",
}  # fmt: skip

TRACKED_TEXT = (".py", ".md", ".toml", ".json", ".txt", ".svg", "")


@pytest.fixture(scope="module")
def tracked() -> list[Path]:
    """Every file of the tree that git keeps, or would keep."""
    listing = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        check=True,
        text=True,
        encoding="utf-8",
    )
    files = [Path(name) for name in listing.stdout.split("\0") if name]
    return [name for name in files if (ROOT / name).is_file()]


def _modules() -> list[Path]:
    return [p for top in ("app", "geometry", "catalog") for p in sorted((ROOT / top).rglob("*.py"))]


def test_no_module_is_too_long_to_read() -> None:
    lengths = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines())
        for path in _modules()
    }
    assert {name: n for name, n in lengths.items() if n > MOST_LINES} == {}


def test_nothing_else_lies_at_the_top(tracked: list[Path]) -> None:
    tops = {path.parts[0] for path in tracked}
    assert {top for top in tops if not top.startswith(".")} == TOP_LEVEL


def test_no_file_names_a_place_on_somebodys_machine(tracked: list[Path]) -> None:
    # Spelt in two pieces so that this line is not its own finding.
    machine = re.compile("|".join("/" + top + "/" for top in ("work", "root", "home", "Users")))
    found = []
    for path in tracked:
        if path.suffix in TRACKED_TEXT and path.name != "LICENSE":
            text = (ROOT / path).read_text(encoding="utf-8", errors="ignore")
            found += [f"{path}: {hit.group()}" for hit in machine.finditer(text)]
    assert found == []


# --- layers ---------------------------------------------------------------------------------


def _lint_imports(config: Path, *, beside: Path) -> subprocess.CompletedProcess[str]:
    code = (
        "import sys; from importlinter.cli import lint_imports; "
        "sys.exit(lint_imports(config_filename=sys.argv[1], no_cache=True))"
    )
    return subprocess.run(
        [sys.executable, "-c", code, str(config)],
        cwd=beside,
        env=os.environ | {"PYTHONPATH": str(beside)},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
    )


def test_import_contracts_are_kept() -> None:
    result = _lint_imports(ROOT / "pyproject.toml", beside=ROOT)
    assert result.returncode == 0, result.stdout + result.stderr
    assert "0 broken" in result.stdout


@pytest.mark.parametrize(
    ("module", "line", "contract"),
    [
        ("geometry/planted.py", "import PySide6.QtCore", "no Qt below the window"),
        ("app/drawing/planted.py", "from PySide6 import QtGui", "no Qt below the window"),
        (
            "app/cli/planted.py",
            "def late() -> None:\n    from app.ui import style",
            "no Qt below the window",
        ),
        ("catalog/planted.py", "import geometry.pose", "app above geometry above catalog"),
    ],
)
def test_a_planted_violation_breaks_its_contract(
    tmp_path: Path, module: str, line: str, contract: str
) -> None:
    for top in ("app", "geometry", "catalog"):
        for path in (ROOT / top).rglob("*.py"):
            copy = tmp_path / path.relative_to(ROOT)
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(path.read_bytes())
    (tmp_path / "pyproject.toml").write_bytes((ROOT / "pyproject.toml").read_bytes())
    (tmp_path / module).write_text(f'"""Planted."""\n\n{line}\n', encoding="utf-8")
    result = _lint_imports(tmp_path / "pyproject.toml", beside=tmp_path)
    assert result.returncode == 1, result.stdout + result.stderr
    assert re.search(rf"^{re.escape(contract)} BROKEN", result.stdout, re.MULTILINE)


BLOCK_QT = """
import sys

class Block:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in ("PySide6", "shiboken6"):
            raise ModuleNotFoundError(f"{name} is blocked", name=name)

sys.meta_path.insert(0, Block())
"""


def test_everything_below_the_window_works_without_qt() -> None:
    names = [
        info.name
        for top in ("catalog", "geometry", "app.document", "app.drawing", "app.sheet", "app.cli")
        for info in pkgutil.walk_packages([str(ROOT / top.replace(".", "/"))], prefix=f"{top}.")
    ]
    assert len(names) > 40
    code = BLOCK_QT + f"import importlib\nfor name in {names!r}: importlib.import_module(name)"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.slow
@pytest.mark.parametrize("folder", ["catalog", "geometry"])
def test_core_tests_pass_without_qt(folder: str) -> None:
    code = BLOCK_QT + (
        "import pytest\n"
        "args = ['-q', '-x', '-p', 'no:pytest-qt', '-p', 'no:cacheprovider', '-m', "
        f"'not nightly', '-o', 'qt_api=', 'tests/{folder}']\n"
        "sys.exit(pytest.main(args))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=600
    )
    assert done.returncode == 0, done.stdout + done.stderr


# --- documents ------------------------------------------------------------------------------

START = "python3 -m venv .venv && .venv/bin/pip install -e . && .venv/bin/gapwright --demo"
TEST = "python3 -m venv .venv && .venv/bin/pip install -e '.[test]' && .venv/bin/python -m pytest"


@pytest.mark.parametrize("command", [START, TEST])
def test_readme_gives_each_set_up_as_one_command(command: str) -> None:
    assert command in README.splitlines()


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_stands_in_the_readme(name: str) -> None:
    assert f"`gapwright {name} " in README or f"`gapwright {name}`" in README


def test_pictures_of_the_documents_are_there() -> None:
    for text in (README, DEVELOPERS):
        for target in re.findall(r"!?\[[^\]]*\]\((?!https?:)([^)#]+)\)", text):
            assert (ROOT / target).exists(), target


def test_every_package_is_on_the_developers_map() -> None:
    packages = {
        str(path.parent.relative_to(ROOT))
        for path in _modules()
        if path.name == "__init__.py" and len(path.relative_to(ROOT).parts) <= 3
    }
    assert {name for name in packages if f"`{name}/" not in DEVELOPERS} == set()


def test_every_check_is_told_to_developers_and_users() -> None:
    runner = importlib.import_module("geometry.checks.runner")
    untold = [rule for rule in runner.RULES if len((_help_of(rule) or "").split()) < 8]
    assert untold == []


def _help_of(rule: object) -> str | None:
    return sys.modules[rule.__module__].__doc__ if callable(rule) else rule.__doc__


# --- package --------------------------------------------------------------------------------


def test_version_has_one_home() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert "version" in project["dynamic"]
    assert re.fullmatch(r"\d+\.\d+\.\d+", __version__)
