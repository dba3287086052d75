"""What `gapwright search` may be asked for: zones, pumps, fans, tight, judging; and stopping it."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from no_desk import ran
from small_rooms import IN_OR_OUT, block, exchanger, fan, layout, room, row, zone

from app.cli.outcome import Exit
from catalog.enclosure import ZoneSide
from catalog.store import Library
from geometry.layout import Settings
from geometry.layout_file import write_layout

CORE, BLOWER = exchanger(2, 30), fan(25)


@pytest.fixture
def two_zones(tmp_path: Path) -> Path:
    """A front zone whose stack has 55.4 mm to a wall, and one in the roof with room enough.

    A core of 30 mm with fittings of 24 leaves 1.4 mm at the front: tight by a margin of 2 mm.
    """
    wall = block("wall", (200, 0, 0), (244.6, 200, 340))
    zones = [
        zone("front-zone", "front", (300, 40, 60), "+z", "+y", row(2)),
        zone("roof-zone", "roof", (10, 160, 460), "+x", "-y", row(1), outer=ZoneSide(plate_mm=2)),
    ]
    path = tmp_path / "two-zones.json"
    write_layout(path, layout(room((300, 200, 460), zones, [wall]), [CORE, BLOWER]))
    return path


def asked(capsys: pytest.CaptureFixture[str], *argv: object) -> dict[str, Any]:
    code, out, err = ran(capsys, "search", *argv, "--json")
    found: dict[str, Any] = json.loads(out)
    nothing = found["count"]["exact"] == found["count"]["empty"]
    assert code == (Exit.NOTHING_FOUND if nothing else Exit.OK), err
    return found


def zone_of(row: dict[str, Any]) -> list[str]:
    return [one["zone"] for one in row["layout"]["stacks"]]


def test_zones_that_are_named_are_filled_and_no_others(
    capsys: pytest.CaptureFixture[str], two_zones: Path
) -> None:
    parts = ("--parts", BLOWER.id, "--want", "fans")
    both = asked(capsys, two_zones, *parts)
    assert [one["zone"] for one in both["zones"]] == ["front-zone", "roof-zone"]
    assert zone_of(both["rows"][0]) == ["front-zone", "roof-zone"]
    roof = asked(capsys, two_zones, *parts, "--zones", "roof-zone")
    assert [one["zone"] for one in roof["zones"]] == ["roof-zone"]
    assert zone_of(roof["rows"][0]) == ["roof-zone"]
    code, _, err = ran(capsys, "search", two_zones, *parts, "--zones", "roof-zone", "cellar")
    assert code == 2
    assert 'there is no zone "cellar" (there are front-zone, roof-zone)' in err


def test_tight_rows_are_given_only_where_tight_is_allowed(
    capsys: pytest.CaptureFixture[str], two_zones: Path
) -> None:
    ask = (two_zones, "--parts", CORE.id, "--want", "area", "--zones", "front-zone")
    clear = asked(capsys, *ask)
    assert clear["judged"] == "clear"
    assert [row["figures"]["area"] for row in clear["rows"]] == [0.0]
    (miss,) = clear["near_misses"]
    assert [one["name"] for one in miss["relaxations"]] == [
        "Ask for a margin of 1.4 mm instead of 2.0 mm"
    ]
    tight = asked(capsys, *ask, "--tight")
    assert tight["judged"] == "clear or tight"
    assert [row["figures"]["area"] for row in tight["rows"]] == [288.0]
    assert tight["near_misses"] == []


def test_a_pump_is_put_in_where_one_is_allowed_or_required(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    pump = Library().part("pump-compact-plate-120")
    path = tmp_path / "front.json"
    own = zone("front-zone", "front", (300, 40, 60), "+z", "+y", row(2))
    write_layout(path, layout(room((300, 200, 400), [own]), [CORE, BLOWER]))
    ask = (path, "--parts", CORE.id, BLOWER.id, pump.id, "--want", "area,parts")
    kinds: dict[str, set[str]] = {}
    for wish in ("none", "allowed", "required"):
        found = asked(capsys, *ask, "--pump", wish)
        kinds[wish] = {row["pattern"].partition(": ")[2] for row in found["rows"]}
    # Fewest parts and most area: nothing, or the core alone; a pump that must be there stands on
    # the plate alone, or on the fans of a core.
    assert kinds["none"] == kinds["allowed"] == {"", "exchanger 2 fans long"}
    assert kinds["required"] == {"pump alone", "exchanger 2 fans long + pump"}
    large = asked(capsys, *ask, "--pump", "required", "--fans", "none")
    assert {row["pattern"].partition(": ")[2] for row in large["rows"]} == {"pump alone"}


def test_fans_stand_only_where_they_are_asked_for(
    capsys: pytest.CaptureFixture[str], two_zones: Path
) -> None:
    ask = (two_zones, "--parts", "exchanger-1x120-30", "fan-120-25", "--zones", "roof-zone")
    want = ("--want", "fans,area", "--judge", "nominal")
    for places, fans in ((("none",), 0), (("far",), 1), (("both",), 2)):
        found = asked(capsys, *ask, *want, "--fans", *places)
        with_core = [row for row in found["rows"] if row["figures"]["area"] > 0]
        assert [row["figures"]["fans"] for row in with_core] == [fans]
    code, _, err = ran(capsys, "search", *ask, "--fans", "everywhere")
    assert code == 2
    assert "invalid choice: 'everywhere'" in err


def test_worst_case_asks_for_more_room_than_dimensions_as_drawn(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    # 30 + 24 mm leave exactly the margin of 2 mm in 56 mm as drawn, and less once they are off.
    path = tmp_path / "exact.json"
    own = zone("front-zone", "front", (56, 40, 60), "+z", "+y", row(2))
    write_layout(
        path, layout(room((56, 200, 400), [own]), [CORE], settings=Settings(judge="worst case"))
    )
    ask = (path, "--parts", CORE.id, "--want", "area")
    assert asked(capsys, *ask, "--judge", "nominal")["rows"][0]["figures"]["area"] == 288.0
    assert asked(capsys, *ask)["rows"][0]["figures"]["area"] == 0.0


def test_states_and_pumps_on_their_own_feet_are_choices_beside_the_zones(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    # The fan of 25 mm on the front has 20 mm to a rail that may be taken out.
    rail = block("rail", (200, 40, 60), (280, 160, 200), states=IN_OR_OUT)
    own = zone("front-zone", "front", (300, 40, 60), "+z", "+y", row(1))
    path = tmp_path / "rail.json"
    write_layout(path, layout(room((300, 200, 400), [own], [rail]), [BLOWER]))
    ask = (path, "--parts", BLOWER.id, "pump-compact", "--want", "fans,parts")
    plain = asked(capsys, *ask)
    assert [row["figures"]["fans"] for row in plain["rows"]] == [0.0]
    (miss,) = plain["near_misses"]
    assert [one["name"] for one in miss["relaxations"]] == ["Take out rail"]
    with_states = asked(capsys, *ask, "--states")
    assert max(row["figures"]["fans"] for row in with_states["rows"]) == 1.0
    code, text, _ = ran(capsys, "search", *ask, "--states", "--pump", "required", "--free-pumps")
    assert code == 0
    assert "pump on its own feet" in text
    assert "rail taken out" in text


@pytest.mark.parametrize(
    ("argv", "message"),
    [
        (("--pump", "perhaps"), "invalid choice: 'perhaps'"),
        (("--judge", "fair"), "invalid choice: 'fair'"),
        (("--slides", "many"), "--slides: 'many' is no whole number"),
        (("--seconds", "soon"), "--seconds: 'soon' is no number"),
        (("--row", "7", "-o", "never.json"), "there is no row 7 (there are 1)"),
        (("--want", "area,,fans"), "'' is no measure (there are area,"),
        (("--enclosure", "small-cube"), "give a layout FILE or --enclosure NAME"),
    ],
)
def test_what_cannot_be_done_ends_with_2_and_one_line(
    capsys: pytest.CaptureFixture[str],
    two_zones: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    argv: tuple[str, ...],
    message: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    ask = ("search", two_zones, "--parts", BLOWER.id, "--want", "fans")
    code, _, err = ran(capsys, *ask, *argv)
    assert code == 2
    assert message in err
    assert len(err.strip().splitlines()) == 1
    assert not (tmp_path / "never.json").exists()


def test_that_nothing_fits_is_told_plainly_although_all_zones_empty_counts(
    capsys: pytest.CaptureFixture[str], two_zones: Path
) -> None:
    # 30 + 24 mm leave 1.4 mm of the front's 55.4 mm, less than the margin; the roof takes one fan.
    ask = (two_zones, "--parts", CORE.id, "--want", "area", "--zones", "front-zone")
    code, text, _ = ran(capsys, "search", *ask)
    assert code == Exit.NOTHING_FOUND
    assert (
        "nothing of what was asked for fits as drawn: "
        "only all zones empty (1 of 1 combinations, exact count)" in " ".join(text.split())
    )
    assert "of this pattern fit" not in text
    assert "  none but all zones empty\n" in text
    assert asked(capsys, *ask)["count"] == {
        "kind": "exact", "combinations": 1, "empty": 1, "exact": 1, "at_least": 1, "at_most": 1,
        "estimate": None, "low_95": None, "high_95": None,
    }  # fmt: skip
    # A fan on either cell of the front, on both, or none; with one on the roof or without.
    both = (two_zones, "--parts", BLOWER.id, "--want", "fans")
    code, text, _ = ran(capsys, "search", *both)
    assert code == Exit.OK
    assert "(exact count); one of them leaves all zones empty" in " ".join(text.split())
    assert asked(capsys, *both)["count"]["empty"] == 1


# ---- stopping ----


@pytest.fixture
def heeded() -> Iterator[None]:
    """Let a process that is started hear Ctrl-C: a job in the background would be deaf to it."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.skipif(os.name == "nt", reason="there are no pseudo-terminals")
@pytest.mark.parametrize("wanted", ["json", "table"])
def test_ctrl_c_keeps_what_was_found(heeded: None, wanted: str) -> None:
    """A real process on a pseudo-terminal, interrupted once it tells of trade-offs."""
    import pty

    ours, theirs = pty.openpty()
    argv = [
        sys.executable, "-m", "app", "search", "--enclosure", "bench-box", "--want",
        "area,volume,leftover", "--parts", "exchanger-2x120-30", "fan-120-25", "--seconds", "600",
    ]  # fmt: skip
    if wanted == "json":
        argv.append("--json")
    with subprocess.Popen(argv, stdout=subprocess.PIPE, stderr=theirs) as process:
        os.close(theirs)
        seen = b""
        try:
            while b"Looking for the best rows; " not in seen:
                seen += os.read(ours, 4096)
            process.send_signal(signal.SIGINT)
            out, _ = process.communicate(timeout=120)
        finally:
            process.kill()
            os.close(ours)
    assert process.returncode == 130
    text = out.decode()
    if wanted == "json":
        found = json.loads(text)
        assert found["stopped"]
        assert not found["done"]
        assert not found["near_misses_done"]
        assert (found["exclusions"], found["exclusions_done"]) == ([], False)
        assert found["exclusions_looked_at"] == 0.0
        assert found["near_misses_looked_at"] == 0
        assert found["count"]["at_most"] >= found["count"]["at_least"]
    else:
        assert "stopped before it was done; what was found so far is kept" in text
        assert "what excludes what was cut short: 0% looked at, nothing so far" in text


@pytest.mark.skipif(os.name == "nt", reason="there are no pseudo-terminals")
@pytest.mark.parametrize("wanted", ["json", "table"])
def test_ctrl_c_before_anything_was_found_says_so(heeded: None, wanted: str) -> None:
    """JSON is whole all the same, with what was listed by then."""
    import pty

    ours, theirs = pty.openpty()
    argv = [sys.executable, "-m", "app", "search", "--enclosure", "tall-tower"]
    if wanted == "json":
        argv.append("--json")
    with subprocess.Popen(argv, stdout=subprocess.PIPE, stderr=theirs) as process:
        os.close(theirs)
        seen = b""
        try:
            while b"Checking stacks on" not in seen:
                seen += os.read(ours, 4096)
            process.send_signal(signal.SIGINT)
            out, _ = process.communicate(timeout=120)
            seen += os.read(ours, 65536)
        finally:
            process.kill()
            os.close(ours)
    assert process.returncode == 130
    assert b"stopped before anything was found" in seen
    if wanted == "table":
        assert out == b""
        return
    said = json.loads(out)
    assert (said["stopped"], said["done"]) == (True, False)
    assert said["enclosure"] == "tall-tower"
    assert (said["rows"], said["exclusions"], said["near_misses"]) == ([], [], [])
    assert (said["count"]["at_least"], said["count"]["at_most"]) == (0, None)


def test_the_help_says_what_is_not_listed(capsys: pytest.CaptureFixture[str]) -> None:
    told = " ".join(ran(capsys, "search", "--help")[1].split())
    assert "Not listed: two exchangers one over the other, or one on each side of a plate;" in told
    assert "rows come once all options of all zones are listed and judged" in told


def test_several_side_by_side_and_rows_with_gaps_are_listed_when_asked_for(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    slim = exchanger(1, 30)
    apart = zone("front-zone", "front", (300, 40, 60), "+z", "+y", row(2, apart_mm=200))
    path = tmp_path / "one-zone.json"
    write_layout(path, layout(room((300, 200, 460), [apart]), [slim, BLOWER]))
    parts = ("--parts", slim.id, "--want", "area")
    (alone,) = asked(capsys, path, *parts)["rows"]
    (both,) = asked(capsys, path, *parts, "--side-by-side")["rows"]
    assert both["figures"]["area"] == 2 * alone["figures"]["area"] == 288.0
    (stack,) = both["layout"]["stacks"]
    assert [item["cell"] for la in stack["inner"] for item in la["items"]] == ["c1", "c2"]
    assert both["pattern"] == "front zone: 2 exchangers 1 fan long"

    long = tmp_path / "one-core.json"
    near = zone("front-zone", "front", (300, 40, 60), "+z", "+y", row(2))
    write_layout(long, layout(room((300, 200, 460), [near]), [CORE, BLOWER]))
    parts = ("--parts", CORE.id, BLOWER.id, "--want", "area", "--fans", "far")
    whole, gaps = (
        asked(capsys, long, *parts, *more)["zones"][0]["listed"] for more in ((), ("--part-rows",))
    )
    without_core, rows_with_gaps = 1 + 3, 2
    assert gaps - without_core == (1 + rows_with_gaps) * (whole - without_core)
