"""Findings name a zone so that it can be told from another of the same name."""

from __future__ import annotations

import re

import pytest
from small_rooms import fan, fan_layer, grille, layout, room, row, stack, zone

from catalog.enclosure import ZoneSide
from geometry.checks.runner import check_layout

BLOWER = fan(25)


def titles(first: str, second: str) -> list[str]:
    """Return what is found of two stacks alike: slid off, too deep, over the edge."""
    zones = [
        zone(
            f"{letter}-zone", "roof", (x, 160, 200), "+x", "-y", row(1),
            length_mm=110.0, inner=ZoneSide(depth_mm=20.0),
        ).but(name=name)
        for letter, x, name in (("a", 20, first), ("b", 160, second))
    ]  # fmt: skip
    stacks = [
        stack(f"S{letter}", f"{letter}-zone", fan_layer(letter, BLOWER, ["c1"]), slide_u_mm=5.0)
        for letter in ("a", "b")
    ]
    box = room((300, 200, 200), zones, openings=(grille(0.0, 1.0),))
    report = check_layout(layout(box, [BLOWER], stacks)).report
    found = [one.title for one in report.findings if {"a-zone", "b-zone"} & {*one.ids}]
    assert {one.kind for one in report.findings} >= {
        "slide", "leftover_depth", "zone_size", "air_sense",
    }  # fmt: skip
    return [*found, *(change.name for one in report.findings for change in one.remedies)]


@pytest.mark.parametrize(
    ("first", "second", "named"),
    [("roof", "roof", r"roof \((a|b)-zone\)"), ("left", "right", r"(left|right)(?! \()")],
)
def test_zones_of_one_name_are_named_with_their_ids(first: str, second: str, named: str) -> None:
    said = titles(first, second)
    assert len(said) >= 6
    for title in said:
        assert re.search(named, title), title
