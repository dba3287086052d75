"""What holds for the tree as a whole: its shape, its layers, its documents."""

from __future__ import annotations

import doctest
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
from geometry.checks.runner import RULES, help_text

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
    tests = sorted((ROOT / "tests").rglob("*.py"))
    assert tests
    lengths = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines())
        for path in (*_modules(), *tests)
    }
    assert {name: n for name, n in lengths.items() if n > MOST_LINES} == {}


def test_each_sort_of_array_has_one_name_in_one_place() -> None:
    named = re.compile(r"^(\w+) = npt\.NDArray\[np\.(bool_|float64|intp)\]$", re.MULTILINE)
    found = [
        (sort, name, str(path.relative_to(ROOT)))
        for path in _modules()
        for name, sort in named.findall(path.read_text(encoding="utf-8"))
    ]
    home = "geometry/measures/broadphase.py"
    assert sorted(found) == [
        ("bool_", "Bools", home), ("float64", "Floats", home), ("intp", "Indices", home),
    ]  # fmt: skip


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
        ("catalog/planted.py", "import geometry.measures.pose", "app above geometry above catalog"),
        ("catalog/planted.py", "", "order inside catalog"),
        ("app/planted.py", "", "order inside app"),
        ("geometry/measures/overlap.py", "import geometry.layout", "the measures know no layouts"),
        (
            "geometry/edits/planted.py",
            "def late() -> None:\n    import geometry.checks.runner",
            "edits know no checks",
        ),
        (
            "geometry/checks/rules/planted.py",
            "from geometry.checks.rules import overlap",
            "check rules do not know each other",
        ),
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
    with (tmp_path / module).open("a", encoding="utf-8") as out:
        out.write(f"\n\n{line}\n")
    result = _lint_imports(tmp_path / "pyproject.toml", beside=tmp_path)
    assert result.returncode == 1, result.stdout + result.stderr
    assert re.search(rf"^{re.escape(contract)} BROKEN", result.stdout, re.MULTILINE)


def _without_qt(code: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", f"import no_qt\n{code}"],
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": os.pathsep.join((str(ROOT), str(ROOT / "tests/support")))},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
    )


def _plain_modules() -> list[str]:
    plain = ("catalog", "geometry", "app.document", "app.drawing", "app.sheet", "app.cli")
    return [
        info.name
        for top in plain
        for info in pkgutil.walk_packages([str(ROOT / top.replace(".", "/"))], prefix=f"{top}.")
    ]


def test_everything_below_the_window_is_imported_without_qt() -> None:
    names = _plain_modules()
    assert len(names) > 40
    done = _without_qt(f"import importlib\nfor name in {names!r}: importlib.import_module(name)")
    assert done.returncode == 0, done.stderr


def test_hiding_qt_hides_it() -> None:
    assert "PySide6 is hidden" in _without_qt("import PySide6.QtCore").stderr


def test_nothing_below_the_window_names_qt() -> None:
    """The import contracts see every import, however late; this sees those made from a name."""
    files = [path for path in _modules() if path.parts[len(ROOT.parts) :][:2] != ("app", "ui")]
    named = {
        str(path.relative_to(ROOT))
        for path in files
        if re.search("PySide6|shiboken6", path.read_text(encoding="utf-8"))
    }
    assert {name for name in named if not name.startswith("app/paint/")} == {"app/__main__.py"}
    assert any(name.startswith("app/paint/") for name in named)


DEMO = "demo.json"
JOBS: dict[str, tuple[int, tuple[str, ...]]] = {
    "demo": (0, (DEMO,)),
    "check": (1, (DEMO, "--json")),
    "checks": (0, ()),
    "depth": (0, (DEMO, "--zone", "front-zone")),
    "search": (
        0,
        (DEMO, "--parts", "exchanger-2x120-30", "fan-120-25", "-o", "row.json", "--allow-cutting"),
    ),
    "mend": (0, (DEMO, "--apply", "1", "-o", "mended.json")),
    "sheet": (0, (DEMO, "-o", "demo.png")),
    "parts": (0, ("--kind", "fan")),
    "enclosures": (0, ("--json",)),
    "schema": (0, ("layout",)),
}
"""What is asked of each command where there is no Qt, and the exit code."""

RUN_JOBS = """
from app.cli.main import run
class Desk:
    def write_sheets(self, sheets, out, dpi):
        assert len(sheets) > 0 and all(sheet.groups for sheet in sheets)
        return [out]
for name, (code, argv) in {jobs!r}.items():
    found = run([name, *argv], Desk())
    assert found == code, (name, found)
"""


def test_every_command_does_its_work_without_qt(tmp_path: Path) -> None:
    assert set(JOBS) == set(COMMANDS)
    done = _without_qt(f"import os\nos.chdir({str(tmp_path)!r})\n" + RUN_JOBS.format(jobs=JOBS))
    assert done.returncode == 0, done.stdout + done.stderr
    assert {path.name for path in tmp_path.iterdir()} == {DEMO, "row.json", "mended.json"}


# --- documents ------------------------------------------------------------------------------

VENV = "python3 -m venv .venv && .venv/bin/pip install -e "
START = VENV + ". && .venv/bin/gapwright --demo"
TEST = VENV + "'.[test]' && .venv/bin/python -m pytest -n auto"


@pytest.mark.parametrize("command", [START, TEST])
def test_readme_gives_each_set_up_as_one_command(command: str) -> None:
    assert command in README.splitlines()


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_stands_in_the_readme(name: str) -> None:
    assert f"`gapwright {name} " in README or f"`gapwright {name}`" in README


def test_examples_in_docstrings_hold() -> None:
    with_examples = [
        name
        for name in _plain_modules()
        if (path := ROOT / f"{name.replace('.', '/')}.py").is_file()
        and ">>> " in path.read_text("utf-8")
    ]
    results = [doctest.testmod(importlib.import_module(name)) for name in with_examples]
    assert sum(result.attempted for result in results) > 5
    assert sum(result.failed for result in results) == 0


def test_pictures_of_the_documents_are_there() -> None:
    for text in (README, DEVELOPERS):
        for target in re.findall(r"!?\[[^\]]*\]\((?!https?:)([^)#]+)\)", text):
            assert (ROOT / target).exists(), target


def test_every_package_is_on_the_developers_map() -> None:
    packages = {
        str(path.parent.relative_to(ROOT))
        for path in _modules()
        if path.name == "__init__.py" and path.parent.name != "app"
    }
    assert {name for name in packages if f"`{name}/" not in DEVELOPERS} == set()


def test_every_check_is_told_to_users() -> None:
    for kind, _ in RULES:
        fault, _, rest = help_text(kind).partition("\n")
        assert f"| `{kind}` | {fault} |" in README.splitlines()
        assert all(f"\n{part}: " in f"\n{rest}" for part in ("What", "Why", "Change")), kind


def test_every_file_of_a_check_is_in_the_list_of_checks() -> None:
    folder = ROOT / "geometry" / "checks" / "rules"
    files = {path.stem for path in folder.glob("*.py") if path.stem != "__init__"}
    assert {check.__module__.rpartition(".")[2] for _, check in RULES} == files


# --- package --------------------------------------------------------------------------------


def test_version_has_one_home() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert "version" in project["dynamic"]
    assert re.fullmatch(r"\d+\.\d+\.\d+", __version__)
