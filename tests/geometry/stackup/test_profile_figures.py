"""The tolerances of the depth over a zone: by hand, against the check, and against rooms off."""

from __future__ import annotations

import random

import pytest
from off_layouts import off_enclosure
from small_rooms import block, brick, fan, fan_layer, free, layout, room, row, zone
from small_rooms import stack as stack_of

from catalog.enclosure import Obstacle, Opening, ZoneSide
from catalog.model import FrozenMap
from catalog.shapes import Box, Cylinder
from geometry.checks.finding_figures import depth_figure
from geometry.checks.runner import check_layout
from geometry.layout import Layout
from geometry.scene import build_scene
from geometry.stackup.profile_figures import ProfileFigures, profile_figures
from geometry.stackup.stack_ups import Figure, StackUp
from geometry.zone_profile import ZoneProfile, zone_profile

FLOOR = zone("floor-zone", "floor", (40, 40, 10), "+x", "+y", row(1), inner=ZoneSide(plate_mm=2))


def under(*things: Obstacle, openings: tuple[Opening, ...] = ()) -> Layout:
    """A zone from x = 40 to 160 and y = 40 to 160, its plate's face at 12, in a room 300 high."""
    return layout(room((400, 200, 300), [FLOOR], things, openings=openings), [])


def told_of(of: Layout) -> tuple[ZoneProfile, ProfileFigures]:
    scene = build_scene(of)
    found = zone_profile(scene, "floor-zone")
    return found, profile_figures(scene, found)


def least_of(of: Layout) -> Figure:
    figure = told_of(of)[1].least
    assert figure is not None
    return figure


def shares(of: StackUp) -> dict[tuple[str, str], float]:
    return {(c.owner, c.path): round(c.loss_mm, 6) for c in of.contributors}


def test_stretches_and_least_depth_with_their_contributors() -> None:
    # A bar over x = 90 to 100, underside at 100: 88 over the plate's face. Off may be its place by
    # 0.3, the zone's (10) by 0.2 and the plate's (2) by 0.1: 0.6; beside it the roof's 0.5, and the
    # same 0.2 and 0.1.
    found, figures = told_of(under(block("bar", (90, 0, 100), (100, 200, 120))))
    named = [found.names[str(piece.key)] for piece in found.profile.pieces]
    assert named == ["roof", "bar", "roof"]
    worst = [f.worst.worst_mm for f in figures.pieces if f is not None]
    assert worst == pytest.approx([288 - 0.8, 88 - 0.6, 288 - 0.8])
    assert figures.least is not None
    assert figures.least.worst.worst_mm == pytest.approx(88 - 0.6)
    assert shares(figures.least.worst) == {
        ("bar", "obstacles[0].shapes[0].at_mm[2]"): 0.3,
        ("floor-zone", "zones[0].origin_mm[2]"): 0.2,
        ("floor-zone", "zones[0].inner.plate_mm"): 0.1,
    }
    # By root sum square 0.09 + 0.04 + 0.01.
    assert figures.least.likely_least_mm == pytest.approx(88 - 0.14**0.5)


def test_what_stands_beside_the_footprint_may_limit_its_least_depth() -> None:
    # 1 mm beside in x. The footprint ends at 160, off with the zone's place 0.3, its length 0.3 and
    # the play of screws 0.5; the bar's place is off by 0.5.
    figure = least_of(under(block("bar", (161, 40, 100), (200, 160, 120))))
    assert (figure.worst_name, round(figure.worst.worst_mm, 6)) == ("bar", 88 - 0.6)
    assert figure.beside is not None
    assert shares(figure.beside) == {
        ("bar", "obstacles[0].shapes[0].at_mm[0]"): 0.5,
        ("floor-zone", "screw_play[0]"): 0.5,
        ("floor-zone", "zones[0].length_mm"): 0.3,
        ("floor-zone", "zones[0].origin_mm[0]"): 0.3,
    }
    assert least_of(under(block("bar", (161.7, 40, 100), (200, 160, 120)))).beside is None


def test_across_the_length_the_frames_count() -> None:
    # In y the footprint is the band of the frames: the cell's place 60 +-0.3, half the frame 0.15.
    figure = least_of(under(block("bar", (40, 161, 100), (160, 180, 120))))
    assert figure.beside is not None
    assert shares(figure.beside) == {
        ("bar", "obstacles[0].shapes[0].at_mm[1]"): 0.5,
        ("floor-zone", "screw_play[1]"): 0.5,
        ("floor-zone", "zones[0].cells[0].v_mm"): 0.3,
        ("floor-zone", "zones[0].origin_mm[1]"): 0.3,
        ("floor-zone", "zones[0].cells[0].accepts[0].frame_mm"): 0.15,
    }


def test_a_zone_on_a_bracket_is_off_with_its_state() -> None:
    # The bracket is moved up by 50 +-0.3.
    shelf = block("shelf", (30, 30, 5), (170, 170, 10))
    state = shelf.states[0].but(id="up", name="up", shift_mm=(0.0, 0.0, 50.0))
    shelf = shelf.but(states=(shelf.states[0], state))
    of = layout(room((400, 200, 300), [FLOOR.but(owner="shelf")], [shelf]), [])
    figure = least_of(of.but(states=FrozenMap({"shelf": "up"})))
    assert figure.nominal.nominal_mm == pytest.approx(238)
    assert shares(figure.worst)["shelf", "obstacles[0].states[1].shift_mm[2]"] == 0.3


# ---- against the check ----


@pytest.mark.parametrize("seed", range(8))
def test_a_stack_leaves_the_depth_less_what_it_takes_and_is_off(seed: int) -> None:
    # A fan covers the footprint just so, 25 +-0.2 thick, with the screw play of the footprint. Its
    # own frame stands for that of the zone, and its place for the zone's ends.
    rng = random.Random(seed)
    part = fan().but(id="fan")
    of = random_room(rng)
    stack = stack_of("S", "floor-zone", fan_layer("A", part, ["c1"]))
    held = of.but(parts=FrozenMap({**of.parts, "fan": part}), stacks=(stack,))
    report = check_layout(held, remedies=False).report
    left = depth_figure(report, report.depths[0].least)
    assert left is not None
    depth = least_of(held)
    assert depth.nominal.nominal_mm == pytest.approx(left.nominal.nominal_mm + 25)
    assert depth.nominal.worst_mm == pytest.approx(left.nominal.worst_mm + 25 + 0.2)
    own = {c for c in shares(left.nominal) if c[0] != "A.1"}
    assert own == set(shares(depth.nominal))


# ---- against rooms off within tolerance ----


def random_room(rng: random.Random) -> Layout:
    """Return a room with things over a zone and round its edges, and an opening over it."""
    things = []
    for k in range(rng.randint(1, 4)):
        x, y = rng.choice((20.0, 100.0, 160.5 + rng.uniform(0, 1.5))), rng.uniform(0, 160)
        z = rng.uniform(120, 124)
        things.append(block(f"bar-{k}", (x, y, z), (x + rng.uniform(8, 19), y + 30, z + 20)))
    post = Cylinder(axis="z", at_mm=(rng.uniform(150, 182), 100, 110), diameter_mm=30, length_mm=50)
    if rng.random() < 0.5:
        things.append(Obstacle(id="post", name="post", shapes=(post,)))
    hole = Box(
        at_mm=(40 - rng.uniform(0, 2), 40 - rng.uniform(0, 2), 295),
        size_mm=(124, 124, 12),
    )
    opening = Opening(id="hole", name="hole", wall="roof", shape=hole)
    cube = brick("cube", (30, 30, 30))
    of = under(*things, openings=(opening,))
    place = (rng.uniform(60, 140), rng.uniform(60, 140), rng.uniform(126, 200))
    return of.but(parts=FrozenMap({"cube": cube}), free=(free("P", cube, place),))


def test_no_room_has_less_depth_than_the_worst_case() -> None:
    reached = 0
    for seed in range(25):
        rng = random.Random(seed)
        of = random_room(rng).but(free=())
        figure = least_of(of)

        def at_a_limit(minus: float, plus: float, rng: random.Random = rng) -> float:
            return rng.choice((-minus, plus))

        for _ in range(20):
            off = of.but(enclosure=off_enclosure(of.enclosure, at_a_limit))
            mm = zone_profile(build_scene(off), "floor-zone").profile.least_mm
            assert mm >= figure.worst.worst_mm - 1e-6, (seed, figure.worst_name)
            reached += mm < figure.worst.worst_mm + 0.05
    assert reached > 10
