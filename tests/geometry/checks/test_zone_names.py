"""Findings name a zone so that it can be told from another of the same name."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from small_rooms import fan, fan_layer, grille, layout, room, row, stack, zone

from catalog.enclosure import ZoneSide
from geometry.checks.runner import check_layout
from geometry.edits import EditError, insert_item, insert_row, nudge
from geometry.layout import Layout
from geometry.scene import build_scene
from geometry.search.mending.mend import mends
from geometry.zone_profile import zone_profile

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


def two_roofs(slide_u_mm: float = 0.0) -> Layout:
    """Two zones of one name, one with a fan on it; the first has no outer side."""
    zones = [
        zone(f"{letter}-zone", "roof", (x, 160, 200), "+x", "-y", row(1)).but(name="roof")
        for letter, x in (("a", 20), ("b", 160))
    ]
    on = stack("S", "a-zone", fan_layer("A", BLOWER, ["c1"]), slide_u_mm=slide_u_mm)
    return layout(room((300, 200, 200), zones), [BLOWER], [on])


@pytest.mark.parametrize(
    "edit",
    [
        lambda layout: insert_item(layout, "a-zone", "outer", 0, BLOWER, "c1"),
        lambda layout: insert_item(layout, "a-zone", "inner", 0, BLOWER, "c9"),
        lambda layout: insert_row(layout, "a-zone", "inner", 0, fan(25, 80)),
        lambda layout: nudge(layout, "A.1", (0.0, 0.0, 1.0)),
    ],
)
def test_what_an_edit_refuses_names_the_zone_so_that_it_is_the_only_one(
    edit: Callable[[Layout], object],
) -> None:
    with pytest.raises(EditError, match=r"zone roof \(a-zone\)"):
        edit(two_roofs())


def test_a_change_that_slides_a_stack_names_its_zone_so_that_it_is_the_only_one() -> None:
    checked = check_layout(two_roofs(slide_u_mm=7.0), remedies=False)
    *_, found = mends(checked, (BLOWER,))
    slides = [step for mend in found.found for step in mend.steps if step.startswith("Slide")]
    assert slides
    assert all("on roof (a-zone) " in step for step in slides), slides


def test_a_depth_names_its_zone_so_that_it_is_the_only_one() -> None:
    scene = build_scene(two_roofs())
    assert zone_profile(scene, "a-zone", "inner").names["a-zone"] == "roof (a-zone)"
