"""Stack-ups of gaps and depths in random rooms, against thousands of rooms off within tolerance.

Each room is built again and again with every dimension off by a draw and every screwed part
somewhere in its play, and measured anew: nothing may come nearer than the worst case says, and as
many as the statistical limits cover must lie within them.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from math import inf, sqrt

import pytest
from hollow_rooms import hollow_room, stepped_walls
from off_layouts import Maker, in_their_play
from pierced_rooms import pierced_room
from slanted_rooms import slanted_room
from small_rooms import block, brick, exchanger, fan, fan_layer, free, layout, one, room, row, zone
from small_rooms import stack as stack_of

from catalog.enclosure import Obstacle
from catalog.shapes import Box, Cylinder, Extrusion
from geometry.checks.finding_figures import depth_figure
from geometry.checks.nearest import nearest_figure, nearest_of
from geometry.checks.runner import check_layout
from geometry.checks.survey import Survey, is_port_side, plate_between
from geometry.depths import measure_depths
from geometry.layout import Held, Layer, Layout, Settings
from geometry.margins import judged
from geometry.measures.clearance import bounds_gap, signed_gap_mm
from geometry.measures.solid import Solid
from geometry.scene import Scene, build_scene
from geometry.stackup.stack_ups import Figure

REACH_MM = 10.0
"""Solids whose bounds stand farther apart than a figure and this cannot come to decide it."""

FIRST_ORDER_MM = 5e-4
"""At round things the rate at which a gap begins to shrink is taken over a hundredth of each
tolerance, which tells a little less than the rate at its very beginning."""

Key = tuple[str, ...]


def random_room(rng: random.Random) -> Layout:
    """Return a room with a stack of an exchanger and fans, obstacles, and two free blocks.

    All may touch, so that the nearest thing is simply the nearest.
    """
    place = (rng.uniform(40, 80), rng.uniform(40, 70), 0.0)
    floor = zone("floor-zone", "floor", place, "+x", "+y", row(2))
    things = [random_block(rng, f"block-{k}") for k in range(6)]
    things.append(random_post(rng, "post"))
    core = exchanger(2, 30, port_facing=rng.choice(("+z", "-z"))).but(id="core")
    part = fan().but(id="fan")
    layers: list[Layer] = [one("E1", core, turn=rng.choice((0, 2)))]
    if rng.random() < 0.5:
        layers.insert(0, fan_layer("A", part, ["c1", "c2"]))
    if rng.random() < 0.7:
        layers.append(fan_layer("B", part, rng.choice((["c1", "c2"], ["c1"]))))
    cubes = [brick(f"brick-{k}", tuple(rng.uniform(20, 60) for _ in range(3))) for k in (1, 2)]  # type: ignore[arg-type]
    frees = [
        free(
            f"P{k}",
            cube,
            (rng.uniform(60, 360), rng.uniform(40, 220), rng.uniform(60, 180)),
            held=Held(by=rng.choice(("holes", "clamp")), on="roof"),
        )
        for k, cube in enumerate(cubes)
    ]
    return layout(
        room((420, 260, 260), [floor], things),
        [core, part, *cubes],
        [stack_of("S", "floor-zone", *layers)],
        frees,
        settings=Settings(margin_mm=0.0),
    )


def random_block(rng: random.Random, name: str) -> Obstacle:
    low = (rng.uniform(0, 360), rng.uniform(0, 200), rng.uniform(40, 220))
    return block(name, low, tuple(v + rng.uniform(5, 60) for v in low))  # type: ignore[arg-type]


def random_post(rng: random.Random, name: str) -> Obstacle:
    at = (rng.uniform(40, 360), rng.uniform(40, 220), rng.uniform(60, 200))
    post = Cylinder(
        axis=rng.choice(("x", "y", "z")), at_mm=at, diameter_mm=rng.uniform(10, 40), length_mm=40
    )
    return Obstacle(id=name, name=name, shapes=(post,))


@dataclass(frozen=True)
class Told:
    """Figures of a room by what they are of, and the pairs of solids that decide each gap.

    `standing` are the parts that stand in something as drawn.
    """

    figures: Mapping[Key, Figure]
    pairs: Mapping[Key, list[tuple[str, str]]]
    standing: frozenset[str]


def told_of(of: Layout) -> Told:
    """Return all figures that are clear as drawn."""
    report = check_layout(of, remedies=False).report
    survey = report.survey
    assert survey is not None
    figures: dict[Key, Figure] = {}
    pairs: dict[Key, list[tuple[str, str]]] = {}
    standing: set[str] = set()
    for depth in report.depths:
        for left in depth.cells:
            figure = depth_figure(report, left)
            # A sliver that shows beside what lies over an item counts as covered, as it is drawn.
            bare = not survey.depths.items[left.item].covers
            if figure is not None and left.mm >= 0 and bare:
                figures["depth", left.item, left.cell] = figure
    for owner in survey.scene.placed:
        for near in nearest_of(survey, owner):
            figure = nearest_figure(survey, near)
            if near.gap_mm <= 0:
                standing.add(owner)
            elif figure is not None:
                key = (near.kind, owner)
                figures[key] = figure
                pairs[key] = list(deciding(survey, near.a, figure))
    return Told(figures, pairs, frozenset(standing))


def deciding(survey: Survey, of: Solid, figure: Figure) -> Iterator[tuple[str, str]]:
    reach = figure.nominal.nominal_mm + REACH_MM
    for a in survey.scene.solids_of[of.owner]:
        if is_port_side(a) == is_port_side(of):
            for b in survey.scene.solids:
                apart = not (a.bolted_to(b) or plate_between(survey.scene, a, b))
                if judged(a, b) and apart and bounds_gap(a.bounds, b.bounds) < reach:
                    yield a.id, b.id


def measured(told: Told, scene: Scene) -> Iterator[tuple[Key, float]]:
    """Yield what every figure of a room is in another one like it."""
    for depth in measure_depths(scene).stacks:
        for left in depth.cells:
            key = ("depth", left.item, left.cell)
            if key in told.figures:
                yield key, left.mm
    solids = {s.id: s for s in scene.solids}
    for key, pairs in told.pairs.items():
        yield key, min(signed_gap_mm(solids[a].prisms, solids[b].prisms) for a, b in pairs)


def worst_gap(told: Told, key: Key) -> float:
    """Return the least gap to anything of the part that a figure is of, in the worst case."""
    gaps = [told.figures.get((kind, key[1])) for kind in ("port_end", "clearance")]
    if key[1] in told.standing:
        return -inf
    return min(figure.worst.worst_mm for figure in gaps if figure is not None)


def off_by(of: Layout, rng: random.Random, draw: Callable[[float, float], float]) -> Scene:
    """Return a scene of a layout of which everything is off; play is drawn alike everywhere."""
    scene = build_scene(Maker(of, draw).layout())
    return in_their_play(scene, lambda: rng.uniform(-0.5, 0.5))


def none_under_the_worst_case(
    seeds: range,
    rooms: int,
    draw_room: Callable[[random.Random], Layout] = random_room,
) -> int:
    """Return how many figures were compared, of gaps and of depths."""
    count = 0
    for seed in seeds:
        rng = random.Random(seed)
        of = draw_room(rng)
        told = told_of(of)

        def at_a_limit(minus: float, plus: float, rng: random.Random = rng) -> float:
            return rng.choice((-minus, plus))

        for _ in range(rooms):
            scene = build_scene(Maker(of, at_a_limit).layout())
            scene = in_their_play(scene, lambda rng=rng: rng.choice((-0.5, 0.5)))  # type: ignore[misc]
            for key, mm in measured(told, scene):
                worst = told.figures[key].worst.worst_mm
                # Where solids come to share room, the way out passes all that is in it.
                shares = mm < 0 and worst_gap(told, key) < 0
                assert mm >= worst - FIRST_ORDER_MM or shares, (seed, key, mm, worst)
                count += 1
    return count


def test_no_gap_or_depth_goes_below_its_worst_case() -> None:
    assert none_under_the_worst_case(range(12), 12) > 500


@pytest.mark.nightly
def test_no_gap_or_depth_goes_below_its_worst_case_in_many_rooms() -> None:
    assert none_under_the_worst_case(range(100, 250), 40) > 20_000


def stepped_room(rng: random.Random) -> Layout:
    """Return a room that narrows at half its height, with a block in the corner of the step."""
    level, low = rng.uniform(100, 140), (rng.uniform(20, 60), rng.uniform(20, 60))
    upper = (rng.uniform(150, 250), rng.uniform(120, 150), 320 - level)
    cavity = (
        Box(at_mm=(0, 0, 0), size_mm=(400, 260, level)),
        Box(at_mm=(*low, level - 60), size_mm=upper),
    )
    size = tuple(rng.uniform(20, 60) for _ in range(3))
    cube = brick("cube", size)  # type: ignore[arg-type]
    near = [at + half / 2 + rng.uniform(0.3, 4) for at, half in zip(low, size, strict=False)]
    at = (near[0], near[1], level - rng.uniform(-20, size[2] + 4))
    one = free("P", cube, at, held=Held(by="clamp", on="roof"))
    settings = Settings(margin_mm=0.0)
    enclosure = room((400, 260, 260), cavity=cavity)
    return layout(enclosure, [cube], frees=[one], settings=settings)


def bent_room(rng: random.Random) -> Layout:
    """Return a room of which the outline has a step, square or slanted, and a block under it."""
    level, x = rng.uniform(100, 140), rng.uniform(150, 250)
    slant = rng.choice((0, 0, rng.uniform(5, 30)))
    ring = ((0, 0), (400, 0), (400, level), (x + slant, level), (x, 260), (0, 260))
    cavity = (Extrusion(axis="y", outline_mm=ring, from_mm=0, to_mm=260),)
    outer = (Box(at_mm=(-2, -2, -2), size_mm=(404, 264, 264)),)
    size = tuple(rng.uniform(20, 60) for _ in range(3))
    cube = brick("cube", size)  # type: ignore[arg-type]
    at = (
        x - size[0] / 2 - rng.uniform(0.3, 5) + rng.choice((0.0, 0.3 * size[0])),
        130.0,
        level - size[2] + rng.choice((-rng.uniform(0.3, 5), rng.uniform(0, 30))),
    )
    one = free("P", cube, at, held=Held(by="clamp", on="roof"))
    settings = Settings(margin_mm=0.0)
    enclosure = room((400, 260, 260), cavity=cavity, outer=outer)
    return layout(enclosure, [cube], frees=[one], settings=settings)


@pytest.mark.parametrize("draw_room", [stepped_room, bent_room])
def test_two_edges_of_one_wall_that_are_about_as_near(
    draw_room: Callable[[random.Random], Layout],
) -> None:
    # In a few of these rooms an edge that is farther as drawn comes nearer than the nearest.
    assert none_under_the_worst_case(range(20, 60), 25, draw_room) > 500


def test_no_depth_under_a_thing_with_hollows_goes_below_its_worst_case() -> None:
    assert none_under_the_worst_case(range(40), 25, hollow_room) > 1000


@pytest.mark.nightly
def test_no_depth_under_a_thing_with_hollows_goes_below_its_worst_case_in_many_rooms() -> None:
    assert none_under_the_worst_case(range(100, 600), 60, hollow_room) > 30_000


def test_no_depth_under_a_roof_with_leaning_steps_goes_below_its_worst_case() -> None:
    # Where two corners of a slope are off at once, what each does hangs on the other: by 0.5 of
    # 19 mm in the fourth of these rooms.
    assert none_under_the_worst_case(range(3, 4), 60, stepped_walls) == 120
    assert none_under_the_worst_case(range(20), 20, stepped_walls) > 400


@pytest.mark.nightly
def test_no_depth_under_a_roof_with_leaning_steps_goes_below_in_many_rooms() -> None:
    assert none_under_the_worst_case(range(100, 300), 60, stepped_walls) > 12_000


def test_no_gap_or_depth_in_an_opening_goes_below_its_worst_case() -> None:
    assert none_under_the_worst_case(range(30), 12, pierced_room) > 500


@pytest.mark.nightly
def test_no_gap_or_depth_in_an_opening_goes_below_its_worst_case_in_many_rooms() -> None:
    assert none_under_the_worst_case(range(100, 400), 40, pierced_room) > 20_000


def test_no_gap_in_an_opening_across_a_slanted_wall_goes_below_its_worst_case() -> None:
    assert none_under_the_worst_case(range(6), 12, slanted_room) == 72


@pytest.mark.nightly
def test_no_gap_in_many_openings_across_slanted_walls_goes_below_its_worst_case() -> None:
    assert none_under_the_worst_case(range(100, 140), 30, slanted_room) > 1_000


def test_points_of_an_outline_that_share_a_coordinate_are_one_dimension() -> None:
    # Both points of the step's underside at z = 120: off by 0.3 together, and counted once.
    ring = ((0, 0), (400, 0), (400, 120), (200, 120), (200, 260), (0, 260))
    cavity = (Extrusion(axis="y", outline_mm=ring, from_mm=0, to_mm=260),)
    outer = (Box(at_mm=(-2, -2, -2), size_mm=(404, 264, 264)),)
    cube = brick("cube", (40, 40, 40))
    one = free("P", cube, (300, 130, 77), held=Held(by="clamp", on="roof"))
    told = told_of(layout(room((400, 260, 260), cavity=cavity, outer=outer), [cube], frees=[one]))
    (figure,) = told.figures.values()
    shares = {(c.owner, c.path): c.loss_mm for c in figure.worst.contributors}
    assert shares["enclosure", "cavity[0].outline_mm[2][1]"] == pytest.approx(0.3)
    assert figure.worst.worst_mm == pytest.approx(3 - 0.3 - 0.3 - 0.3)


def test_as_many_lie_within_the_statistical_limits_as_they_cover() -> None:
    # Of n figures 0.27 % are expected outside; where several things stand alike near, the nearest
    # of them is nearer than each by itself, and where play is most of it there are none.
    outside = count = 0
    scaled: list[float] = []
    for seed in range(12):
        rng = random.Random(seed)
        of = random_room(rng)
        told = told_of(of)

        def normal(minus: float, plus: float, rng: random.Random = rng) -> float:
            return rng.gauss((plus - minus) / 2, (plus + minus) / 6)

        for _ in range(25):
            for key, mm in measured(told, off_by(of, rng, normal)):
                figure = told.figures[key]
                count += 1
                outside += not figure.likely_least_mm <= mm <= figure.likely_most_mm
                if figure.nominal.spread_mm > 0.1:
                    drawn = figure.nominal
                    scaled.append(3 * (mm - drawn.mean_mm) / drawn.spread_mm)
    assert count > 1000
    expected = 0.0027 * count
    assert outside <= expected + 5 * sqrt(expected), (outside, count)
    # And they are no wider than need be: what is told as three standard deviations is that.
    mean = sum(scaled) / len(scaled)
    sigma = sqrt(sum((z - mean) ** 2 for z in scaled) / (len(scaled) - 1))
    assert abs(mean) < 0.15
    assert 0.85 < sigma < 1.1
