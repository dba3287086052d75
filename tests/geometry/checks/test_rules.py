"""All rules together: each listed once, one fault told once, what is counted."""

from __future__ import annotations

import inspect
from pathlib import Path

from small_rooms import (
    brick,
    exchanger,
    free,
    layout,
    one,
    room,
    row,
    said,
    stack,
    zone,
)

import geometry.checks.rules as rules_package
from catalog.enclosure import Opening
from catalog.shapes import Cylinder
from geometry.checks.runner import RULES, check_layout, help_text
from geometry.finding import Report
from geometry.layout import Held, Layout

BOX = room((300, 200, 200))
CUBE = brick("cube", (40, 40, 40))


def report(of: Layout) -> Report:
    return check_layout(of).report


# ---- all rules ----


def test_every_rule_file_is_listed_once_and_explains_itself() -> None:
    folder = Path(inspect.getfile(rules_package)).parent
    files = sorted(p.stem for p in folder.glob("*.py") if p.stem != "__init__")
    assert sorted(kind for kind, _ in RULES) == files
    for kind, check in RULES:
        assert check.__module__ == f"geometry.checks.rules.{kind}"
        assert all(word in help_text(kind) for word in ("What:", "Why:", "Change:"))


def test_an_empty_room_has_nothing_to_say() -> None:
    said_of_nothing = report(layout(BOX, []))
    assert (said_of_nothing.findings, said_of_nothing.not_run, said_of_nothing.clear) == ((), (), 0)


# ---- one fault is told once ----


def test_an_exchanger_deep_in_a_side_wall_is_told_once_port_end_and_all() -> None:
    # Core and port end both run 10 mm into the access wall.
    core = exchanger(2, 30)
    roof = zone("roof-zone", "roof", (60, 110, 200), "+x", "-y", row(2))
    of = layout(room((500, 200, 200), [roof]), [core], [stack("S", "roof-zone", one("E", core))])
    assert said(report(of)) == [("outside_cavity", "blocked", ("E", "access"), -10.0)]


def test_counts_of_the_report() -> None:
    frees = [
        free("A", CUBE, (50, 100, 0)),
        free("B", CUBE, (87, 100, 0)),
        free("C", CUBE, (200, 50, 0)),
        free("D", CUBE, (200, 91, 0)),
        free("E", CUBE, (260, 150, 0)),
    ]
    of = report(layout(BOX, [CUBE], frees=frees))
    assert (of.blocked, of.tight, of.clear) == (1, 1, 1)
    assert [f.verdict.value for f in of.findings] == ["blocked", "tight"]


def test_a_round_grille_lets_a_part_of_its_size_through_and_no_larger_one() -> None:
    # A tube plug 40 mm across would stand in a round hole of 60; a block of 40 x 40, 56.6 across
    # its corners, does too; one of 44 x 44 (62.2) touches the wall.
    grille = Opening(
        id="grille", name="grille", wall="floor",
        shape=Cylinder(axis="z", at_mm=(100, 100, -2), diameter_mm=60, length_mm=2),
    )  # fmt: skip
    for side, kinds in ((40.0, []), (44.0, ["outside_cavity"])):
        part = brick("post", (side, side, 42))
        held = Held(by="clamp", on="floor")
        box = room((300, 200, 200), openings=(grille,))
        of = report(layout(box, [part], frees=[free("A", part, (100, 100, -2), held=held)]))
        assert [s[0] for s in said(of)] == kinds
