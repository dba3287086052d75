"""What the commands print with --json: one convention, and a published schema of each."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from no_desk import ran
from small_rooms import block, fan, fan_layer, layout, room, row, stack, zone

from app.cli.main import COMMANDS, command_named
from app.cli.outcome import Exit
from app.cli.schema import PRINTED, schema_of
from app.shipped_demo import shipped_demo
from geometry.edits import set_locked
from geometry.layout_file import write_layout

SEARCH = ("--enclosure", "small-cube", "--parts", "fan-120-25", "--slides", "1")
ASKED: dict[str, tuple[str, ...]] = {
    "report": ("check", "BENCH"),
    "depth": ("depth", "BENCH", "--zone", "front-zone"),
    "search": ("search", *SEARCH),
    "mend": ("mend", "BENCH", "--finding", "1"),
    "parts": ("parts", "pump"),
    "enclosures": ("enclosures", "cube"),
}


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("bench") / "bench.json"
    write_layout(path, shipped_demo())
    return path


def test_every_command_that_prints_json_has_a_schema() -> None:
    printing = {
        name for name in COMMANDS if "--json" in command_named(name).parser()._option_string_actions
    }
    assert {words[0] for words in ASKED.values()} == printing
    assert set(ASKED) == set(PRINTED)


@pytest.mark.parametrize("kind", sorted(ASKED))
def test_what_is_printed_names_its_format_and_follows_its_schema(
    kind: str, bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = [str(bench) if word == "BENCH" else word for word in ASKED[kind]]
    _, out, err = ran(capsys, *words, "--json")
    assert out, err
    told = json.loads(out)
    assert (told["format"], told["version"]) == (f"gapwright-{kind}", 1)
    jsonschema.Draft202012Validator(schema_of(kind)).validate(told)


def test_every_way_to_end_has_a_code_of_its_own() -> None:
    codes = [int(code) for code in Exit.__members__.values()]
    assert len(set(codes)) == len(codes)
    assert (Exit.OK, Exit.BLOCKED, Exit.UNUSABLE) == (0, 1, 2)


def test_mending_ends_with_nothing_found_where_nothing_helps(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # The fan of 25 mm stands 5 mm in a block that cannot go, and is locked.
    blower = fan(25)
    front = zone("front-zone", "front", (300, 40, 60), "+z", "+y", row(1))
    fans = stack("S", "front-zone", fan_layer("A", blower, ["c1"]))
    box = room((300, 200, 400), [front], [block("post", (100, 40, 60), (280, 160, 180))])
    path = tmp_path / "stuck.json"
    stuck = layout(box, [blower], [fans])
    write_layout(path, set_locked(stuck, "A.1", locked=True))
    code, out, _ = ran(capsys, "mend", path)
    assert "no single change and no pair that was tried clears any of these" in out
    assert code == Exit.NOTHING_FOUND
    write_layout(path, stuck.but(stacks=()))
    code, out, _ = ran(capsys, "mend", path)
    assert "nothing is blocked or tight" in out
    assert code == Exit.OK
