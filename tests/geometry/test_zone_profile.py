"""Depth over a zone: pieces counted from its corner, worked by hand."""

from __future__ import annotations

from math import inf

import pytest
from depth_profiles import breakpoints_mm, depth_at
from small_rooms import block, fan, fan_layer, layout, room, row, zone
from small_rooms import stack as stack_of

from catalog.enclosure import Obstacle, ZoneSide
from catalog.shapes import Cylinder
from geometry.layout import Layout
from geometry.scene import build_scene
from geometry.zone_profile import ZoneProfile, zone_profile

FAN = fan()


def pieces(found: ZoneProfile) -> list[tuple[float, float, float, str]]:
    return [
        (round(a, 6), round(b, 6), round(p.least(), 6), found.names.get(str(p.key), "-"))
        for a, b, p in found.pieces()
    ]


def floor_room(u: str = "+x", origin: tuple[float, float, float] = (40, 40, 0)) -> Layout:
    """A room 180 high with a bar over part of its floor zone, and a stack on the zone."""
    v = "+y" if u == "+x" else "-y"
    floor = zone("floor-zone", "floor", origin, u, v, row(2))
    enclosure = room((400, 200, 180), [floor], [block("bar", (100, 0, 120), (150, 200, 140))])
    return layout(enclosure, [FAN], [stack_of("S", "floor-zone", fan_layer("A", FAN, ["c1"]))])


def test_bar_over_a_floor_zone() -> None:
    # The zone runs from x = 40 to 280, so the bar at 100..150 stands at 60..110 along it. The
    # stack's own fan does not count; it reaches 25 mm over the first cell, x = 40..160.
    found = zone_profile(build_scene(floor_room()), "floor-zone")
    assert pieces(found) == [(0, 60, 180, "roof"), (60, 110, 120, "bar"), (110, 240, 180, "roof")]
    assert found.stack_mm == ((40.0, 160.0, 25.0),)
    assert found.profile.least_mm == 120.0


def test_places_are_counted_along_u_whichever_way_it_runs() -> None:
    # Now u runs to -x from x = 280: the bar's 100..150 is 130..180 along it.
    found = zone_profile(build_scene(floor_room("-x", (280, 160, 0))), "floor-zone")
    assert pieces(found) == [
        (0, 130, 180, "roof"),
        (130, 180, 120, "bar"),
        (180, 240, 180, "roof"),
    ]


def test_across_the_zone() -> None:
    # Along v the bar covers the whole width of 120, over the frames' band x = 40..280.
    found = zone_profile(build_scene(floor_room()), "floor-zone", across=True)
    assert pieces(found) == [(0, 120, 120, "bar")]


def test_a_round_bar_has_a_round_profile() -> None:
    # A bar of 40 mm along y, its middle at x = 120, z = 100: at its middle 80 deep, at its sides
    # 100; half a radius out 100 - 20 cos 30 = 82.679.
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(2))
    bar = Obstacle(
        id="bar",
        name="bar",
        shapes=(Cylinder(axis="y", at_mm=(120, 0, 100), diameter_mm=40, length_mm=200),),
    )
    scene = build_scene(layout(room((400, 200, 180), [floor], [bar]), []))
    found = zone_profile(scene, "floor-zone")
    assert [(a, b, p.key) for a, b, p in found.pieces()][1] == (60.0, 100.0, "bar")
    depths = [depth_at(found.profile, t) for t in (120, 130)]
    assert depths == [80.0, pytest.approx(82.679491924)]
    assert breakpoints_mm(found.profile) == (100.0, 140.0)


def test_the_outer_side_starts_behind_the_plate() -> None:
    # A front zone at x = 400 with 2 mm of wall: outside nothing is met before what lies beyond.
    front = zone(
        "front-zone",
        "front",
        (400, 40, 20),
        "+z",
        "+y",
        row(1),
        outer=ZoneSide(plate_mm=2.0, depth_mm=30.0),
    )
    scene = build_scene(layout(room((400, 200, 180), [front]), []))
    assert pieces(zone_profile(scene, "front-zone"))[0][2:] == (400, "rear wall")
    outside = zone_profile(scene, "front-zone", "outer")
    assert outside.way.name == "+x"


def test_a_side_without_layers_is_refused() -> None:
    scene = build_scene(floor_room())
    with pytest.raises(ValueError, match="takes no layers on its outer side"):
        zone_profile(scene, "floor-zone", "outer")
    with pytest.raises(KeyError):
        zone_profile(scene, "roof-zone")
    assert inf > zone_profile(scene, "floor-zone").profile.least_mm
